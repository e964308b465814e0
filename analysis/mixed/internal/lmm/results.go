package lmm

import "math"

// What follows reads the state of the last evaluation, in the caller's units and order. Every slice is a copy. Where the
// criterion was +Inf or -Inf only Beta, Sigma, Unscaled and Modes mean anything.

// Beta is the p generalised least-squares coefficients.
func (s *Space) Beta() []float64 {
	s.solve()
	b := make([]float64, s.p.p)
	for k := range b {
		b[k] = (s.ols[k] + s.beta[s.p.rest+k]) / s.p.xscale[k]
	}
	return b
}

// Sigma is the residual standard deviation: sqrt(r^2 / n), or n-p for REML. It is 0 where n <= p (REML).
func (s *Space) Sigma(reml bool) float64 {
	nu := s.p.n
	if reml {
		nu -= s.p.p
	}
	if nu <= 0 {
		return 0
	}
	return math.Sqrt(s.r2 / float64(nu))
}

// Unscaled is (X' H^-1 X)^-1, p*p by rows; times sigma^2 it is the covariance of beta. It is +Inf throughout where X has
// dependent columns.
func (s *Space) Unscaled() []float64 {
	p, d := s.p, s.p.rest
	out := make([]float64, p.p*p.p)
	v := make([]float64, d+p.p)
	if math.IsInf(s.logX, 1) {
		for i := range out {
			out[i] = math.Inf(1)
		}
		return out
	}
	for k := range p.p {
		clear(v)
		v[d+k] = 1
		s.factor.forward(d+p.p, v)
		s.factor.backward(d+p.p, v)
		for j := range p.p {
			out[k*p.p+j] = v[d+j] / (p.xscale[k] * p.xscale[j])
		}
	}
	return out
}

// Modes is b = Lambda u of one term, Levels*q, by levels: the conditional means of its random effects.
func (s *Space) Modes(term int) []float64 {
	s.solve()
	t := &s.p.terms[term]
	out := make([]float64, 0, t.Levels*t.q)
	for _, at := range t.at {
		for c := range t.q {
			out = append(out, s.b[at+c]/t.scale[c])
		}
	}
	return out
}

// ZtHr is Z' H^-1 (y - X beta) = Z'(y - X beta - Z b), of r values.
func (s *Space) ZtHr() []float64 {
	s.solve()
	out := make([]float64, len(s.g))
	s.eachEffect(func(i, at int, scale float64) { out[i] = s.g[at] * scale })
	return out
}

// eachEffect visits the random effects: place in the caller's order, in the kernel's, scale of the column.
func (s *Space) eachEffect(visit func(i, at int, scale float64)) {
	for k := range s.p.terms {
		t := &s.p.terms[k]
		for l, at := range t.at {
			for c := range t.q {
				visit(t.offset+l*t.q+c, at+c, t.scale[c])
			}
		}
	}
}
