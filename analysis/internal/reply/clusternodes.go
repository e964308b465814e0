package reply

import "math"

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
