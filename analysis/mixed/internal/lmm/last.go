package lmm

import "math"

// LastRatio is the last coefficient over its standard error given theta, with residual variance r^2/(n-p) whatever the
// criterion was: Wald's t, in least squares the usual one. It reads the state of the last evaluation and allocates nothing.
// NaN where the columns of X depend on each other, there are none, or n <= p.
func (s *Space) LastRatio() float64 {
	p := s.p
	if s.ready == none || p.p == 0 || p.n <= p.p || math.IsInf(s.logX, 1) {
		return math.NaN()
	}
	e := p.rest + p.p
	pivot := s.factor.at(e-1, e-1) // 1/pivot^2 is the last element of (X'H^-1 X)^-1
	return (s.ols[p.p-1]*pivot + s.factor.at(e, e-1)) / math.Sqrt(s.r2/float64(p.n-p.p))
}
