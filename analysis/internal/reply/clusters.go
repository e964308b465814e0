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

// corner sets the derivatives in theta and alpha where both are 0, which transitions that coincide make: what nodes give is
// proportional to the inner spread there.
func (w *nestSpace) corner(n *nested, i int, b []float64, t three) {
	const small = 1e-7
	own := w.joint[i].overlaps(nil, small*t.s)
	if len(own) == 0 {
		return
	}
	one := nested{n.law, n.groups, n.clusters[i : i+1]}
	var sub nestSpace
	for _, way := range [][2]float64{{small, 0}, {0, small}} {
		q := newThree(math.Log(t.s), way[0], way[1])
		sub.evaluate(&one, b, q, false, false)
		slope := (sub.jets[0].l - w.jets[i].l) / small
		if way[0] > 0 {
			w.jets[i].edgeT = slope
		} else {
			w.jets[i].edgeA = slope
		}
	}
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

// fill computes the parts of all limits on the nodes of u.
func (w *nestSpace) fill(n *nested, b []float64, t three, p *plan, deriv bool) {
	for k, g := range n.groups {
		w.in[k].fill(g, dot(g.row, b)+p.m0, p.h, p.n, t, p.span+1, deriv, p.rough)
	}
}

// narrow finds from the values on all nodes those at which derivatives are wanted: a cluster's overlaps within the zone, or
// where its integrand is not thin beside its largest value.
func (w *nestSpace) narrow(n *nested, p *plan, z zone) {
	for k, g := range n.groups {
		w.in[k].parts = append(w.in[k].store[:0], make([]part, len(g.limits))...)
		w.in[k].store = w.in[k].parts
	}
	for _, i := range w.todo {
		need := w.within(i, p, z)
		if !p.soft {
			need = w.thick(n, &n.clusters[i], p)
		}
		w.need[i] = need
		for _, m := range n.clusters[i].members {
			w.in[m.group].parts[m.number] = need
		}
	}
}

// thick are the nodes at which a cluster's integrand is not thin.
func (w *nestSpace) thick(n *nested, c *cluster, p *plan) part {
	top := 0.0
	for k := range p.n {
		v := w.outer.w[k]
		for _, m := range c.members {
			v *= w.in[m.group].raw[m.number*p.n+k].l
		}
		w.outer.p[k] = v
		top = max(top, v)
	}
	a, b := 0, p.n
	for a < b && !(w.outer.p[a] >= thin*top) {
		a++
	}
	for b > a && !(w.outer.p[b-1] >= thin*top) {
		b--
	}
	return part{a, b}
}

// within are the nodes of zone z in the overlaps of a cluster.
func (w *nestSpace) within(i int, p *plan, z zone) part {
	if !p.soft {
		return part{0, p.n}
	}
	lo, hi := z.hi, z.lo
	w.own = w.joint[i].overlaps(w.own[:0], p.reach*p.tau)
	for _, own := range w.own {
		if own.hi > z.lo && own.lo < z.hi {
			lo, hi = min(lo, own.lo), max(hi, own.hi)
		}
	}
	if lo >= hi {
		return part{}
	}
	return part{clamp(math.Floor((lo-p.m0)/p.h), p.n), clamp(math.Ceil((hi-p.m0)/p.h)+1, p.n)}
}

// sum adds a cluster's integral over the nodes of zone z.
func (w *nestSpace) sum(n *nested, i int, t three, p *plan, z zone) {
	need := w.within(i, p, z)
	if p.deriv {
		need = w.need[i]
	}
	sign := 1.0
	for k := need.a; k < need.b; k++ {
		w.product(n, &n.clusters[i], k, p.n, t, p.deriv)
		if p.soft {
			w.joint[i].soft(p.m0+float64(k)*p.h, t, p.reach, &w.node, p.deriv)
		}
		w.jets[i].addNode(&w.node, w.outer.w[k], w.outer.node[k], p.deriv)
		w.half[i] += sign * w.outer.w[k] * w.node.l
		sign = -sign
	}
}

// product puts F at node k, the product of the likelihoods of a cluster's limits there, with its derivatives into w.node.
func (w *nestSpace) product(n *nested, c *cluster, k, nodes int, t three, deriv bool) {
	j := &w.node
	size := len(j.d)
	j.clear(size)
	p := size - 3
	f := 1.0
	for _, m := range c.members {
		r := &w.in[m.group].raw[m.number*nodes+k]
		if !(r.l > 0) {
			j.clear(size)
			return
		}
		f *= r.l
		if !deriv {
			continue
		}
		v := 1 / r.l
		a, s, q := r.m*v, r.s*v, r.t*v
		aa, as, aq := r.mm*v-a*a, r.ms*v-a*s, r.mt*v-a*q
		x := n.groups[m.group].row
		for i, y := range x {
			j.d[i] += y * a
			for h, z := range x {
				j.dd[i*size+h] += y * z * aa
			}
			j.dd[i*size+p+1] += y * as
			j.dd[i*size+p+2] += y * aq
		}
		j.d[p+1] += s
		j.d[p+2] += q
		j.dd[(p+1)*size+p+1] += (r.ss+r.s)*v - s*s
		j.dd[(p+1)*size+p+2] += r.st*v - s*q
		j.dd[(p+2)*size+p+2] += (r.tt+r.t)*v - q*q
		j.edgeT += r.edge * v * t.s / t.inner
	}
	j.l = f
	if deriv {
		j.fromLogs()
	}
}

// fromLogs turns derivatives of log L (of the second, those above the diagonal) into those of L.
func (j *jet) fromLogs() {
	n := len(j.d)
	for i := range n {
		for k := i; k < n; k++ {
			v := j.l * (j.dd[i*n+k] + j.d[i]*j.d[k])
			j.dd[i*n+k], j.dd[k*n+i] = v, v
		}
	}
	for i := range n {
		j.d[i] *= j.l
	}
	j.edgeT *= j.l
}

// addNode adds weight v of a node at t omega with function q there. Derivatives in log omega are those of the normal weight:
// t^2 - 1 times, and (t^2 - 1)^2 - 2 t^2 times for the second.
func (j *jet) addNode(q *jet, v, t float64, deriv bool) {
	j.l += v * q.l
	if !deriv {
		return
	}
	n := len(j.d)
	p := n - 3
	o := t*t - 1
	for i, x := range q.d {
		x *= v
		j.d[i] += x
		j.dd[i*n+p] += o * x
		j.dd[p*n+i] += o * x
	}
	for i, x := range q.dd {
		j.dd[i] += v * x
	}
	j.d[p] += v * o * q.l
	j.dd[p*n+p] += v * (o*o - 2*t*t) * q.l
	j.edgeT += v * q.edgeT
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
