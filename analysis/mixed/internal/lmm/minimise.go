package lmm

import "math"

// minimiser is the state of one search, in scaled thetas.
type minimiser struct {
	s           *Space
	reml        bool
	evaluations int

	f           float64   // criterion at theta
	theta, g    []float64 // g belongs to theta after derive
	trial, step []float64
	hess, chol  matrix
	free        []int
	unit        []float64 // per theta: the information that its rows hold at most
	last        []float64 // where the Space was evaluated last
	best        []float64 // where the lowest of several searches ended
	lowest      float64   // criterion there
	settled     bool      // that search converged
	bend        []float64 // W of one term
	eigen       eigen
	sim         simplex
}

func (m *minimiser) init(s *Space) {
	k := s.p.thetas
	work := make([]float64, 7*k)
	cut := func() []float64 { c := work[:k:k]; work = work[k:]; return c }
	*m = minimiser{s: s, theta: cut(), g: cut(), trial: cut(), step: cut(), last: cut(), best: cut(), unit: cut(), hess: square(k), chol: square(k), free: make([]int, 0, k)}
	q := 0
	for i := range s.p.terms {
		t := &s.p.terms[i]
		q = max(q, t.q)
		for j := range t.thetas() {
			m.unit[t.theta+j] = t.weight * float64(t.Levels)
		}
	}
	m.bend = make([]float64, q*q)
	m.eigen.init(max(q, k))
}

// value evaluates the criterion at scaled thetas.
func (m *minimiser) value(theta []float64) float64 {
	k := 0
	for i := range m.s.p.terms {
		t, l := &m.s.p.terms[i], m.s.lambda[i]
		t.each(func(r, c int) { l[r*t.q+c] = theta[k]; k++ })
	}
	copy(m.last, theta)
	m.evaluations++
	return m.s.evaluate(m.reml)
}

// here says whether the Space holds the evaluation at theta.
func (m *minimiser) here(theta []float64) bool {
	if m.s.ready == none {
		return false
	}
	for k, v := range theta {
		if m.last[k] != v {
			return false
		}
	}
	return true
}

// derive fills g at theta.
func (m *minimiser) derive() {
	if !m.here(m.theta) {
		m.f = m.value(m.theta)
	}
	m.s.differentiate(m.reml)
	m.s.slope(m.g)
}

// search takes Newton steps until none promises anything and no variance wants to leave 0.
func (m *minimiser) search() bool {
	for range maxEscape {
		if !m.descend() {
			return false
		}
		if !m.escape() {
			return true
		}
	}
	return false
}

// descend takes Newton steps within the columns of Lambda that are not 0.
func (m *minimiser) descend() bool {
	for range maxSteps {
		if math.IsInf(m.f, 0) || m.far(farOut) {
			return false
		}
		m.derive()
		gain := m.newton()
		if gain < enough {
			return true
		}
		if !m.along(gain) {
			return gain < enough*1e4+m.noise()
		}
	}
	return false
}

// newton fills step and returns the decrease it promises to first order: -g'step.
func (m *minimiser) newton() float64 {
	m.s.inform(m.reml)
	m.curvature()
	k := len(m.free)
	for ridge := 1e-10; ; ridge *= 100 {
		for a, i := range m.free {
			for b, j := range m.free[:a+1] {
				m.chol.x[a*m.chol.n+b] = m.hess.at(i, j)
			}
			m.chol.x[a*m.chol.n+a] += ridge * (m.hess.at(i, i) + 1e-8*m.unit[i]) // a flat direction has no Hessian at all
			m.trial[a] = -m.g[i]
		}
		if m.chol.cholesky(k, 0, dependent) < 0 || ridge > 1e6 {
			break
		}
	}
	m.chol.forward(k, m.trial)
	m.chol.backward(k, m.trial)
	clear(m.step)
	gain := 0.0
	for a, i := range m.free {
		m.step[i] = m.trial[a]
		gain -= m.trial[a] * m.g[i]
	}
	return gain
}

// noise is what rounding may add to the criterion.
func (m *minimiser) noise() float64 { return 1e-14 * (math.Abs(m.f) + float64(m.s.p.n)) }

// along goes down the step, shortening it until the criterion falls.
func (m *minimiser) along(gain float64) bool {
	size := 1.0
	for range 40 {
		for k := range m.trial {
			m.trial[k] = m.theta[k] + size*m.step[k]
		}
		m.canonical(m.trial)
		f := m.value(m.trial)
		if f <= m.f-1e-4*size*gain+m.noise() {
			m.theta, m.trial, m.f = m.trial, m.theta, f
			return true
		}
		if size*gain < 1e-12 {
			return false
		}
		next := 0.1 * size
		if !math.IsInf(f, 0) { // minimum of the parabola through both values and the slope
			next = gain * size * size / (2 * (f - m.f + gain*size))
		}
		size = min(max(next, 0.1*size), 0.5*size)
	}
	return false
}
