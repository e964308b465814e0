package lmm

import (
	"fmt"
	"math"
)

// Optimum is where a search ended.
type Optimum struct {
	Theta       []float64
	Deviance    float64   // the criterion asked for; -Inf where the model passes through every value
	Gradient    []float64 // its derivatives with respect to Theta
	Evaluations int       // of the criterion, with or without derivatives
	Converged   bool
	Why         string // what stood in the way when Converged is false, in plain English
}

const (
	enough    = 1e-11 // a Newton step that promises less than this (in units of the criterion) is not taken
	maxSteps  = 60    // Newton steps between two looks at the boundary
	maxEscape = 20    // times a variance may be lifted off 0
	farOut    = 1e6   // a scaled theta at which the search stops: the residual variance counts as 0
	remote    = 1e3   // a scaled theta beyond which a failed search is put down to that
)

// Fit minimises the criterion from start (as long as theta), or from moments of the least-squares residuals when start is
// nil. The state of the Space is that of the optimum afterwards.
//
// A variance on its boundary is a zero column of Lambda, where the derivative with respect to Lambda is 0 by symmetry. Such
// a column stays out of the Newton steps; once these have ended, the derivative with respect to the variance says whether
// it has to leave 0 again. The criterion may have several minima where rows are few: then, and when a search from start
// fails, the search begins from several places and the lowest end counts.
func (s *Space) Fit(reml bool, start []float64) Optimum {
	m := &s.min
	m.reml, m.evaluations = reml, 0
	m.lowest, m.settled = math.Inf(1), false
	if start != nil {
		copy(m.theta, start)
		s.eachTheta(func(k int, scale float64) { m.theta[k] *= scale })
		m.run()
	}
	if !m.settled {
		m.moments()
		m.run()
		if m.delicate() {
			m.elsewhere()
		}
	}
	copy(m.theta, m.best)
	m.f = m.lowest
	if !m.settled && !math.IsInf(m.f, 0) && !m.far(remote) && len(m.theta) > 0 {
		m.simplex()
		m.settled = m.search()
	}
	return m.optimum(m.settled)
}

// run searches from theta and keeps the end when it is the lowest so far.
func (m *minimiser) run() {
	m.canonical(m.theta)
	m.f = m.value(m.theta)
	if ok := m.search(); m.f < m.lowest-1e-9 || ok && !m.settled && m.f <= m.lowest || math.IsInf(m.lowest, 1) {
		m.lowest, m.settled = m.f, ok
		copy(m.best, m.theta)
	}
}

// optimum evaluates once more where the state is not that of theta, and reports.
func (m *minimiser) optimum(converged bool) Optimum {
	s := m.s
	o := Optimum{Theta: make([]float64, len(m.theta)), Gradient: make([]float64, len(m.theta)), Converged: converged}
	copy(o.Theta, m.theta)
	s.restore(o.Theta)
	if o.Deviance = m.f; !math.IsInf(m.f, 0) {
		m.derive()
		copy(o.Gradient, m.g)
		s.rescale(o.Gradient)
		if k := m.flat(); converged && k >= 0 {
			o.Converged, o.Evaluations = false, m.evaluations
			o.Why = fmt.Sprintf("the criterion hardly changes along a direction that moves theta[%d]: the data do not tell it", k)
			return o
		}
	} else if !m.here(m.theta) {
		m.value(m.theta)
	}
	o.Evaluations = m.evaluations
	if !converged {
		o.Why = m.reason(o.Gradient)
	}
	return o
}

func (m *minimiser) reason(gradient []float64) string {
	p := m.s.p
	switch {
	case math.IsInf(m.f, -1):
		return "the model passes through every value: the residual variance is 0"
	case m.reml && p.n <= p.p:
		return fmt.Sprintf("REML needs more rows than fixed columns; there are %d rows and %d columns", p.n, p.p)
	case math.IsInf(m.f, 1):
		return "the fixed columns depend on each other linearly"
	case m.far(remote):
		return fmt.Sprintf("the criterion keeps falling as theta[%d] grows without end: the residual variance goes to 0", m.largest())
	}
	worst := 0
	for k, g := range gradient {
		if math.Abs(g) > math.Abs(gradient[worst]) {
			worst = k
		}
	}
	return fmt.Sprintf("the gradient at theta[%d] is %.2g after %d evaluations", worst, gradient[worst], m.evaluations)
}
