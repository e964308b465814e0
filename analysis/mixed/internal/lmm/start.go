package lmm

import "math"

// moments sets theta to a diagonal Lambda from the squares of the least-squares residuals' sums over levels: with residual
// variance v, E (z'e)^2 = v (z'z) + tau (z'z)^2 for one effect with column z, were the terms alone and nothing fitted.
func (m *minimiser) moments() {
	s, p := m.s, m.s.p
	total := s.yy / math.Max(float64(p.n-p.p), 1)
	clear(m.theta)
	share, k := 0.0, 0
	for i := range p.terms {
		t := &p.terms[i]
		t.each(func(r, c int) {
			if r == c {
				m.theta[k] = s.moment(t, c, total)
				share += m.theta[k] * t.weight * float64(t.Levels) / float64(p.n)
			}
			k++
		})
	}
	rest := math.Max(1-share, 0.1)
	k = 0
	for i := range p.terms {
		t := &p.terms[i]
		t.each(func(r, c int) {
			if r == c {
				m.theta[k] = math.Sqrt(m.theta[k] / rest)
			}
			k++
		})
	}
}

// moment is tau / v of column c of a term, at least a tenth of what one level can tell from 0.
func (s *Space) moment(t *term, c int, v float64) float64 {
	num, den := 0.0, 0.0
	for l, at := range t.at {
		zz, zy := s.p.square(t, l, c), s.zy[at+c]
		num += zy*zy/v - zz
		den += zz * zz
	}
	tau := num / den
	if low := 0.1 / t.weight; !(tau > low) {
		return low
	}
	return tau
}

// delicate says whether one search may not do: a failed one, or a variance of 0 where rows are few.
func (m *minimiser) delicate() bool {
	if len(m.theta) < 2 || math.IsInf(m.f, 0) {
		return false
	}
	singular := false
	for i := range m.s.p.terms {
		singular = singular || m.s.singular(i)
	}
	return !m.settled || singular && m.s.p.n < 1000
}

// elsewhere searches from all standard deviations small, all large, and each column of Lambda large while the others are
// small, correlated either way.
func (m *minimiser) elsewhere() {
	for large := -2; large < len(m.theta); large++ {
		for _, sign := range []float64{1, -1} {
			if off := m.begin(large, sign); off || sign > 0 {
				m.run()
			}
		}
	}
}

// begin fills theta with small standard deviations, but large ones at theta `large` (all: -1, none: -2). Where that is off
// the diagonal, it and the diagonals of its row and column are large, with this sign, and begin says so.
func (m *minimiser) begin(large int, sign float64) (off bool) {
	k := 0
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		small, big := 0.3/math.Sqrt(t.weight), math.Max(2, 3/math.Sqrt(t.weight))
		row, col, at := -1, -1, k
		t.each(func(r, c int) {
			if k == large {
				row, col, off = r, c, r != c
			}
			k++
		})
		t.each(func(r, c int) {
			switch {
			case r == c && (large == -1 || r == row || r == col):
				m.theta[at] = big
			case r == c:
				m.theta[at] = small
			case r == row && c == col:
				m.theta[at] = sign * big
			default:
				m.theta[at] = 0
			}
			at++
		})
	}
	return off
}

// far says whether a scaled theta is beyond limit, so that the search runs to where the residual variance is 0.
func (m *minimiser) far(limit float64) bool {
	return len(m.theta) > 0 && math.Abs(m.theta[m.largest()]) > limit
}

// largest is the theta of largest size.
func (m *minimiser) largest() int {
	at := 0
	for k, v := range m.theta {
		if math.Abs(v) > math.Abs(m.theta[at]) {
			at = k
		}
	}
	return at
}
