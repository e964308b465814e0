package lmm

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// What follows reads the state of the last evaluation, in the caller's units. Every slice is a copy.

// Beta is the p generalised least-squares coefficients.
func (s *Space) Beta() []float64 {
	s.solve()
	b := make([]float64, s.p.p)
	for k := range b {
		b[k] = (s.ols[k] + s.beta[k]) / s.p.xscale[k]
	}
	return b
}

// Sigma is the residual standard deviation: sqrt(r^2 / n), or n-p for REML.
func (s *Space) Sigma(reml bool) float64 { return math.Sqrt(1 / s.weight(reml)) }

// Unscaled is (X' H^-1 X)^-1, p*p by rows; times sigma^2 it is the covariance of beta.
func (s *Space) Unscaled() []float64 {
	p, r := s.p, s.p.effects
	out := make([]float64, p.p*p.p)
	v := make([]float64, r+p.p)
	for k := range p.p { // unit right-hand sides reach the last p rows only
		clear(v)
		v[r+k] = 1
		s.factor.forward(r+p.p, v)
		s.factor.backward(r+p.p, v)
		for j := range p.p {
			out[k*p.p+j] = v[r+j] / (p.xscale[k] * p.xscale[j])
		}
	}
	return out
}

// Modes is b = Lambda u of one term, Levels*q, by levels: the conditional means of its random effects.
func (s *Space) Modes(term int) []float64 {
	s.solve()
	t := &s.p.terms[term]
	b := make([]float64, t.Levels*t.q)
	copy(b, s.b[t.offset:])
	for i := range b {
		b[i] /= t.scale[i%t.q]
	}
	return b
}

// ModeCovariance is, per level of a term, the q*q block of Lambda M^-1 Lambda', M = Lambda'Z'Z Lambda + I: the covariance
// of b given beta, over sigma^2. Levels*q*q values.
func (s *Space) ModeCovariance(term int) []float64 {
	t, l := &s.p.terms[term], s.lambda[term]
	q := t.q
	s.inv.inverse(s.factor, s.p.effects, s.low)
	s.ready = min(s.ready, solved)
	out := make([]float64, 0, t.Levels*q*q)
	for j := t.offset; j < t.offset+t.Levels*q; j += q {
		for a := range q {
			for b := range q {
				sum := 0.0
				for c := range a + 1 {
					for d := range b + 1 {
						sum += l[a*q+c] * s.inv.at(j+c, j+d) * l[b*q+d]
					}
				}
				out = append(out, sum/(t.scale[a]*t.scale[b]))
			}
		}
	}
	return out
}

// ZtHr is Z' H^-1 (y - X beta) = Z'(y - X beta - Z b), of r values.
func (s *Space) ZtHr() []float64 {
	s.solve()
	out := make([]float64, len(s.g))
	s.eachEffect(func(i int, scale float64) { out[i] = s.g[i] * scale })
	return out
}

// ZtHX is Z' H^-1 X, r*p by rows.
func (s *Space) ZtHX() []float64 {
	p, r := s.p, s.p.effects
	out := make([]float64, r*p.p)
	v := make([]float64, r)
	for k := range p.p {
		copy(v, p.cross.row(r+k))
		s.whiten(v)
		s.eachEffect(func(i int, scale float64) { out[i*p.p+k] = v[i] * scale * p.xscale[k] })
	}
	return out
}

// ZtHZ is Z' H^-1 Z, r*r. It is dense: r^2 values.
func (s *Space) ZtHZ() *mat.SymDense {
	p, r := s.p, s.p.effects
	out := mat.NewSymDense(r, nil)
	scale := make([]float64, r)
	s.eachEffect(func(i int, f float64) { scale[i] = f })
	v := make([]float64, r)
	for k := range r {
		copy(v, p.cross.row(k))
		s.whiten(v)
		for i := range k + 1 {
			out.SetSym(i, k, v[i]*scale[i]*scale[k])
		}
	}
	return out
}

// whiten turns v = Z'w into Z'H^-1 w = v - Z'Z Lambda M^-1 Lambda' v.
func (s *Space) whiten(v []float64) {
	r := s.p.effects
	m := make([]float64, r)
	copy(m, v)
	s.right(m)
	s.factor.forward(r, m)
	s.factor.backward(r, m)
	for i := range r {
		v[i] -= dot(m, s.half.row(i))
	}
}

// eachEffect visits the random effects with the scale of their column.
func (s *Space) eachEffect(visit func(i int, scale float64)) {
	for k := range s.p.terms {
		t := &s.p.terms[k]
		for i := range t.Levels * t.q {
			visit(t.offset+i, t.scale[i%t.q])
		}
	}
}
