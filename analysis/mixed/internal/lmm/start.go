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
