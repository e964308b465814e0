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
func (w *space) closed(l *limit, p *plan, o *derivatives) {
	low, up, start := 0.0, 1.0, math.Inf(-1)
	for c, v := range l.cell {
		nextLow, nextUp, b := 1.0, 0.0, math.Inf(1)
		if c < len(l.at) {
			s := l.slot[c]
			nextLow, nextUp, b = w.lower[s], w.upper[s], w.beta[s]
		}
		if start > 0 {
			o[iL] += v * (up - nextUp)
		} else {
			o[iL] += v * (nextLow - low)
		}
		low, up, start = nextLow, nextUp, b
	}
	if !p.deriv {
		return
	}
	for j, s := range l.slot {
		jump := l.cell[j] - l.cell[j+1]
		b, d := w.beta[s], jump*w.dens[s]
		bd := b * d
		o[iM] -= d / p.s
		o[iS] -= bd
		o[iMM] -= bd / (p.s * p.s)
		o[iMS] += (d - b*bd) / p.s
		o[iSS] += bd * (1 - b*b)
	}
}

// slope sets the derivative in theta at tau = 0, which several replies of one age make positive or negative: the parts that
// nodes give are proportional to tau there.
func (w *space) slope(g *group, l *limit, p *plan, o *derivatives) {
	const small = 1e-7
	q := *p
	q.spread = newSpread(math.Log(p.s), small)
	q.soft, q.deriv, q.h, q.reach = true, false, pace*q.tau/math.Sqrt(float64(l.crowd(0))), g.reach(true)
	var more derivatives
	for j, at := range l.at {
		if l.yes[j]+l.no[j] < 2 {
			continue
		}
		z := zone{max(at-q.reach*q.tau, q.mu-q.span*q.sigma), min(at+q.reach*q.tau, q.mu+q.span*q.sigma)}
		if z.lo < z.hi {
			w.lay(g, &q, z)
			w.sum(g, l, &q, 0, q.n, &more)
		}
	}
	o[iT] += more[iL] / small
}

// point sets o where sigma is next to nothing: the probability at mu and half the variance times its second derivative.
func (w *space) point(g *group, l *limit, p *plan, o *derivatives) {
	logP, d1, d2, zd1, zd2, e2 := -l.scale+l.start, 0.0, 0.0, 0.0, 0.0, 0.0
	c := g.law.Ceiling - g.law.Floor
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
		add(l.yes[j], g.law.Floor+c*lower, c*d, z)
		add(l.no[j], 1-g.law.Ceiling+c*upper, -c*d, z)
	}
	q := math.Exp(logP)
	if q == 0 || math.IsNaN(q) {
		return
	}
	t, s := p.tau, p.sigma
	pmm := q * (d1*d1 + d2) / (t * t)
	o[iL] = q + s*s/2*pmm
	if !p.deriv {
		return
	}
	b, bb, mb := -q*zd1, q*(zd1*zd1+e2), q*(d1+zd2+d1*zd1)/t
	cot := s / t
	o[iM], o[iMM] = -q*d1/t, pmm
	o[iS] = s*s*pmm + b
	o[iMS] = mb
	o[iSS] = 2*s*s*pmm + bb + b
	angle := cot*b - t*s*pmm
	o[iT] = angle
	o[iMT] = cot * mb
	o[iST] = cot*bb - t*s*pmm + angle
	o[iTT] = t*t*pmm + cot*cot*bb - s*s*pmm - b
}
