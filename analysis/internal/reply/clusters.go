package reply

import "math"

// nestSpace is the memory of evaluations of clusters.
type nestSpace struct {
	outer space   // nodes of u
	in    []inner // per group
	joint []joint // per cluster
	jets  []jet
	half  []float64
	need  []part
	node  jet // log F at one node: first and second derivatives
	todo  []int
	zones []zone
	own   []zone
}

// evaluate puts the likelihood of every cluster, divided by the exponentials of its limits' scales, into w.jets, with
// derivatives where deriv. Rough ones are right to about 1e-3.
func (w *nestSpace) evaluate(n *nested, b []float64, t three, deriv, rough bool) {
	w.begin(n, b)
	if t.inner == 0 {
		for i := range n.clusters {
			w.joint[i].closed(t, &w.jets[i], deriv)
			if deriv {
				w.corner(n, i, b, t)
			}
		}
		return
	}
	noise := w.noise(n, t)
	if t.omega <= pointlike*noise {
		w.points(n, b, t, deriv)
		return
	}
	p := plan{spread: spread{t.s, t.omega, t.inner}, deriv: deriv, rough: rough, span: firstSpan}
	p.h = p.pace() / math.Hypot(1/t.omega, 1/noise)
	p.soft = t.omega > direct*t.inner
	p.reach = n.reach(p.soft)
	for len(w.todo) > 0 {
		w.integrate(n, b, t, &p)
		w.enough(n, &p)
	}
}

func (w *nestSpace) begin(n *nested, b []float64) {
	k := len(n.clusters)
	if len(w.joint) < k {
		w.joint, w.jets, w.half, w.need = make([]joint, k), make([]jet, k), make([]float64, k), make([]part, k)
	}
	if len(w.in) < len(n.groups) {
		w.in = make([]inner, len(n.groups))
	}
	for k := range w.in {
		w.in[k].parts = nil
	}
	w.todo = w.todo[:0]
	for i := range n.clusters {
		w.joint[i].set(n, &n.clusters[i], b)
		w.jets[i].clear(len(b) + 3)
		w.half[i] = 0
		w.todo = append(w.todo, i)
	}
	w.node.clear(len(b) + 3)
}

// noise is the width of what one cluster's limits say of u: theirs is kappa and tau over the root of the crowd of replies.
func (w *nestSpace) noise(n *nested, t three) float64 {
	most := 0
	for _, c := range n.clusters {
		most = max(most, len(c.members))
	}
	crowd := 1
	for _, g := range n.groups {
		crowd = max(crowd, g.crowd(2*t.tau))
	}
	return math.Hypot(t.kappa, t.tau/math.Sqrt(float64(crowd))) / math.Sqrt(float64(most))
}

func (n *nested) reach(soft bool) float64 {
	r := 0.0
	for _, g := range n.groups {
		r = max(r, g.reach(soft))
	}
	return r
}

// integrate takes the integrals of the clusters to do with one plan.
func (w *nestSpace) integrate(n *nested, b []float64, t three, p *plan) {
	for _, i := range w.todo {
		w.jets[i].clear(len(b) + 3)
		w.half[i] = 0
		if p.soft {
			w.joint[i].closed(t, &w.jets[i], p.deriv)
		}
	}
	lo, hi := -p.span*p.sigma, p.span*p.sigma
	w.zones = append(w.zones[:0], zone{lo, hi})
	if p.soft {
		w.zones = w.zones[:0]
		for _, i := range w.todo {
			w.zones = w.joint[i].overlaps(w.zones, p.reach*p.tau)
		}
		w.zones = merge(w.zones, lo, hi, p.tau)
	}
	for _, z := range w.zones {
		p.first = int(math.Floor(z.lo / p.h))
		p.n = int(math.Ceil(z.hi/p.h)) - p.first + 1
		p.m0 = float64(p.first) * p.h
		w.outer.nodes(p)
		for k := range w.in {
			w.in[k].parts = nil
		}
		if p.deriv {
			w.fill(n, b, t, p, false)
			w.narrow(n, p, z)
		}
		w.fill(n, b, t, p, p.deriv)
		for _, i := range w.todo {
			w.sum(n, i, t, p, z)
		}
	}
}

// enough leaves to do what integrate made too coarsely or too narrowly, and changes the plan for it.
func (w *nestSpace) enough(n *nested, p *plan) {
	coarse, narrow, short := false, false, false
	left := w.todo[:0]
	for _, i := range w.todo {
		v, top := w.jets[i].l, w.joint[i].limit.top
		c := !p.rough && v > 0 && !(math.Abs(w.half[i]) < halfBound*v) && p.refined < refinings
		s := density(p.span)*top > tailBound*v && p.span < hardReach
		r := p.soft && density(p.reach)*top > reachBound*v && p.reach < hardReach
		if c || s || r {
			left = append(left, i)
		}
		coarse, narrow, short = coarse || c, narrow || s, short || r
	}
	w.todo = left
	if short && p.sigma < far*p.tau {
		p.soft, p.reach = false, n.reach(false)
		return
	}
	if short {
		p.reach = min(hardReach, p.reach+3)
	}
	if coarse {
		p.h /= 1.5
		p.refined++
	}
	if narrow {
		p.span = min(hardReach, p.span+3)
	}
}

// points is evaluate where omega is next to nothing: F at u = 0 and half the variance times its second derivative.
func (w *nestSpace) points(n *nested, b []float64, t three, deriv bool) {
	for k, g := range n.groups {
		w.in[k].fill(g, dot(g.row, b), 1, 1, t, firstSpan+1, true, false)
	}
	p := len(b)
	for i := range n.clusters {
		w.product(n, &n.clusters[i], 0, 1, t, true)
		f := w.node.l
		if f == 0 {
			continue
		}
		slope, bend := 0.0, 0.0
		for _, m := range n.clusters[i].members {
			r := w.in[m.group].raw[m.number]
			a := r.m / r.l
			slope += a
			bend += r.mm/r.l - a*a
		}
		j := &w.jets[i]
		j.addNode(&w.node, 1, 0, deriv)
		v := t.omega * t.omega * f * (slope*slope + bend)
		j.l += v / 2
		size := len(j.d)
		j.d[p] = v
		for k := range size {
			j.dd[p*size+k], j.dd[k*size+p] = 0, 0
		}
		j.dd[p*size+p] = 2 * v
	}
}
