package reply

import "math"

// evaluate puts the likelihood of every limit of g with mean mu, divided by exp(scale), into w.raw; derivatives are zero
// without deriv. Rough ones are right to about 1e-3.
func (w *space) evaluate(g *group, mu float64, sp spread, deriv, rough bool) {
	w.ages(g, mu, sp.s)
	w.begin(g)
	p := plan{spread: sp, mu: mu, deriv: deriv, rough: rough, span: firstSpan}
	noise := sp.tau / math.Sqrt(float64(g.crowd(2*sp.tau))) // the width of what replies say of m
	switch {
	case sp.tau == 0:
		for i, l := range g.limits {
			w.closed(l, &p, &w.raw[i])
			if deriv && l.repeated {
				w.raw[i].edge = w.slope(g, l, &p)
			}
		}
	case sp.sigma <= pointlike*noise:
		for i, l := range g.limits {
			g.law.point(l, &p, &w.raw[i])
		}
	default:
		p.soft, p.h = sp.sigma > direct*sp.tau, p.pace()/math.Hypot(1/sp.sigma, 1/noise)
		p.reach = g.reach(p.soft)
		for len(w.todo) > 0 {
			w.integrate(g, &p)
			w.enough(g, &p)
		}
	}
}

// integrate takes the integrals of the limits to do with one plan.
func (w *space) integrate(g *group, p *plan) {
	for _, i := range w.todo {
		w.raw[i], w.half[i] = raw{}, 0
		if l := g.limits[i]; len(l.at) == 0 {
			w.raw[i].l = l.cell[0]
		} else if p.soft {
			w.closed(l, p, &w.raw[i])
		}
	}
	w.zones = g.zones(w.zones[:0], p, w.todo)
	for _, z := range w.zones {
		w.lay(g, p, z)
		for _, i := range w.todo {
			l := g.limits[i]
			if a, b := w.part(g, l, p, z); a < b && len(l.at) > 0 {
				w.half[i] += w.sum(g, l, p, a, b, &w.raw[i])
			}
		}
	}
}

// enough leaves to do what integrate made too coarsely or too narrowly, and changes the plan for it.
func (w *space) enough(g *group, p *plan) {
	coarse, narrow, short := false, false, false
	left := w.todo[:0]
	for _, i := range w.todo {
		l, v := g.limits[i], w.raw[i].l
		c := !p.rough && v > 0 && !(math.Abs(w.half[i]) < halfBound*v) && p.refined < refinings
		n := density(p.span)*l.top > tailBound*v && p.span < hardReach
		s := p.soft && density(p.reach)*l.top > reachBound*v && p.reach < hardReach
		if (c || n || s) && len(l.at) > 0 {
			left = append(left, i)
		}
		coarse, narrow, short = coarse || c, narrow || n, short || s
	}
	w.todo = left
	if short && p.sigma < far*p.tau { // likelihoods that rest on the tails of replies: soft steps would cancel out
		p.soft, p.reach = false, g.reach(false)
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

// sum adds the integral over nodes [a, b) to r and tells by how much even and odd nodes disagree.
func (w *space) sum(g *group, l *limit, p *plan, a, b int, r *raw) (half float64) {
	w.product(g, l, p, a, b)
	var m0, m1, m2, m3, m4, n0, n1, n2, o0 float64
	sign := 1.0
	for k := a; k < b; k++ {
		q := w.p[k]
		v := w.w[k] * q
		if p.soft {
			v -= w.w[k] * w.soft[k]
		}
		half += sign * v
		sign = -sign
		m0 += v
		if !p.deriv {
			continue
		}
		t := w.node[k]
		vt := v * t
		vtt := vt * t
		m1 += vt
		m2 += vtt
		m3 += vtt * t
		m4 += vtt * t * t
		e, f := -q*w.e[k], q*(w.e[k]*w.e[k]+w.f[k])
		if p.soft {
			e -= w.soft1[k]
			f -= w.soft2[k]
		}
		e *= w.w[k]
		n0 += e
		n1 += e * t
		n2 += e * t * t
		o0 += f * w.w[k]
	}
	r.l += m0
	if p.deriv {
		s := p.sigma
		r.m += m1 / s
		r.s += m2 - m0
		r.t += n0
		r.mm += (m2 - m0) / (s * s)
		r.ms += (m3 - 3*m1) / s
		r.mt += n1 / s
		r.ss += m4 - 5*m2 + 2*m0
		r.st += n2 - n0
		r.tt += o0
	}
	return half
}
