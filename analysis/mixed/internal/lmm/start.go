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

// delicate says whether one search may not do: few rows for the thetas, a variance of 0 with few rows, or a failed search.
func (m *minimiser) delicate(converged bool) bool {
	n, k, singular := m.s.p.n, len(m.theta), false
	for i := range m.s.p.terms {
		singular = singular || m.s.singular(i)
	}
	if k < 2 || math.IsInf(m.f, 0) {
		return false
	}
	return !converged || n < 25*k || n < 1000 && singular
}

// elsewhere searches from all standard deviations small, all large, and each of them large while the others are small. It
// keeps the lowest end, and says whether that search converged.
func (m *minimiser) elsewhere(converged bool) bool {
	lowest := m.f
	copy(m.best, m.theta)
	for large := -2; large < len(m.theta); large++ {
		if !m.begin(large) {
			continue
		}
		if ok := m.run(); m.f < lowest-1e-9 || ok && !converged && m.f <= lowest {
			lowest, converged = m.f, ok
			copy(m.best, m.theta)
		}
	}
	copy(m.theta, m.best)
	m.f = lowest
	return converged
}

// begin fills theta with small standard deviations, but large ones at theta `large` (all: -1, none: -2). It is false where
// that theta is not on the diagonal.
func (m *minimiser) begin(large int) bool {
	k, found := 0, large < 0
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		t.each(func(r, c int) {
			m.theta[k] = 0
			if r == c {
				m.theta[k] = 0.3 / math.Sqrt(t.weight)
				if large == k || large == -1 {
					m.theta[k] = math.Max(2, 3/math.Sqrt(t.weight))
				}
				found = found || large == k
			}
			k++
		})
	}
	return found
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
