package reply

import "math"

// ages prepares the normal law about mu with spread s at every age of g.
func (w *space) ages(g *group, mu, s float64) {
	for _, x := range []*[]float64{&w.beta, &w.lower, &w.upper, &w.dens} {
		if cap(*x) < len(g.age) {
			*x = make([]float64, len(g.age))
		}
		*x = (*x)[:len(g.age)]
	}
	if len(w.rows) < len(g.age) {
		w.rows = append(w.rows, make([]row, len(g.age)-len(w.rows))...)
	}
	for i, at := range g.age {
		b := (at - mu) / s
		w.beta[i] = b
		w.lower[i], w.upper[i], w.dens[i] = both(b)
	}
}

// closed adds sum over cells c of cell[c] (Phi(end) - Phi(start)), ends at distance S in the place of tau = 0: exact at tau = 0,
// and where tau > 0 the integral of the soft steps.
func (w *space) closed(l *limit, p *plan, r *raw) {
	var v, m, s, mm, ms, ss float64
	low, up, start := 0.0, 1.0, math.Inf(-1)
	for c, cell := range l.cell {
		nextLow, nextUp, b := 1.0, 0.0, math.Inf(1)
		if c < len(l.at) {
			s := l.slot[c]
			nextLow, nextUp, b = w.lower[s], w.upper[s], w.beta[s]
		}
		if start > 0 {
			v += cell * (up - nextUp)
		} else {
			v += cell * (nextLow - low)
		}
		low, up, start = nextLow, nextUp, b
	}
	if p.deriv {
		for j, i := range l.slot {
			b, d := w.beta[i], (l.cell[j]-l.cell[j+1])*w.dens[i]
			bd := b * d
			m -= d
			s -= bd
			mm -= bd
			ms += d - b*bd
			ss += bd * (1 - b*b)
		}
	}
	r.addClosed(p.spread, v, m/p.s, s, mm/(p.s*p.s), ms/p.s, ss)
}

// slope is the derivative in theta at tau = 0 that several replies of one age make: what nodes give is proportional to tau
// there.
func (w *space) slope(g *group, l *limit, p *plan) float64 {
	const small = 1e-7
	q := *p
	q.spread = newSpread(math.Log(p.s), small)
	q.soft, q.deriv, q.h, q.reach = true, false, pace*q.tau/math.Sqrt(float64(l.crowd(0))), g.reach(true)
	var r raw
	for j, at := range l.at {
		if l.yes[j]+l.no[j] < 2 {
			continue
		}
		z := zone{max(at-q.reach*q.tau, q.mu-q.span*q.sigma), min(at+q.reach*q.tau, q.mu+q.span*q.sigma)}
		if z.lo < z.hi {
			w.lay(g, &q, z)
			w.sum(g, l, &q, 0, q.n, &r)
		}
	}
	return r.l / small
}

// point sets r where sigma is next to nothing: the probability at mu and half the variance times its second derivative.
func (law Law) point(l *limit, p *plan, r *raw) {
	logP, d1, d2, zd1, zd2, e2 := l.start-l.scale, 0.0, 0.0, 0.0, 0.0, 0.0
	c := law.Ceiling - law.Floor
	add := func(n int, q, d, z float64) {
		if n == 0 {
			return
		}
		k := float64(n)
		d /= q
		dd := -z*d - d*d
		logP += k * math.Log(q)
		d1 += k * d
		d2 += k * dd
		zd1 += k * z * d
		zd2 += k * z * dd
		e2 += k * (2*z*d + z*z*dd)
	}
	for j, at := range l.at {
		z := (at - p.mu) / p.tau
		lower, upper, d := both(z)
		add(l.yes[j], law.Floor+c*lower, c*d, z)
		add(l.no[j], 1-law.Ceiling+c*upper, -c*d, z)
	}
	q := math.Exp(logP)
	if !(q > 0) {
		*r = raw{}
		return
	}
	t, v := p.tau, p.sigma*p.sigma
	mm := q * (d1*d1 + d2) / (t * t)
	*r = raw{l: q + v/2*mm, m: -q * d1 / t, s: v * mm, t: -q * zd1, mm: mm, mt: q * (d1 + zd2 + d1*zd1) / t, ss: v * mm,
		tt: q * (zd1*zd1 + e2)}
}
