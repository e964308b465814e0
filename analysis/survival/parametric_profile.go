package survival

import (
	"math"

	"lastsip/analysis/internal/likelihood"
)

// beyond is how far past the rows' log times, in log units, a limit of a profile is looked for before it is called open.
const beyond = 30

// shortfall is what a maximum that was not reached (the shape runs to its end, where the likelihood levels off) may lack:
// a place that lies outside the limits by more is outside.
const shortfall = 0.5

// profiled traces the profile of a log quantile psi: the intercept is psi less the rest, all other parameters are free.
func (f *ParametricFit) profiled(q quantile, cut float64) (ParametricEstimate, error) {
	if err := f.unfinished(false); err != nil {
		return ParametricEstimate{}, err
	}
	e := f.delta(q, f.cov)
	e.Level = 0
	psi := f.design.logQuantile(q, f.theta, nil)
	held := newHeld(f.design, q)
	held.newton.Tol = f.tol * 1e6 // 1e-10 of log-likelihood, as the value is all that counts
	best := append([]float64(nil), f.theta[1:]...)
	start, failed := append([]float64(nil), best...), false
	value := func(at float64) float64 {
		v, ok := held.maximum(at, start)
		if !ok { // the last place may lead astray
			copy(start, best)
			if v, ok = held.maximum(at, start); !ok {
				copy(start, best)
				failed = failed || v > f.LogLik-cut/2-shortfall
			}
		}
		return v
	}
	lo, hi := f.design.extremes()
	step := e.SELog
	if !(step > 0 && step < 10) {
		step = 0.5
	}
	lower, upper := likelihood.Ends(value, psi, f.LogLik, cut, step, min(psi, lo)-beyond, max(psi, hi)+beyond)
	if failed {
		return ParametricEstimate{}, &UnfinishedError{Family: f.Family, Iterations: f.Iterations}
	}
	e.Lower, e.Upper = math.Exp(lower), math.Exp(upper)
	return e, nil
}

// extremes gives the smallest and largest finite log time.
func (d *design) extremes() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, o := range d.rows {
		if d.weight[i] > 0 {
			for _, v := range [2]float64{o.Lo, o.Hi} {
				if !math.IsInf(v, 0) {
					lo, hi = min(lo, v), max(hi, v)
				}
			}
		}
	}
	return lo, hi
}

// held maximises the likelihood with a log quantile held at psi. Its parameters are theta less the intercept.
type held struct {
	*objective
	q                 quantile
	psi               float64
	newton            likelihood.Newton
	theta, grad, hess []float64
	bend              []float64 // gradient of the intercept in the parameters
}

func newHeld(d *design, q quantile) *held {
	m := d.m
	h := &held{objective: newObjective(d, d.sample, 0), q: q, theta: make([]float64, m), grad: make([]float64, m), hess: make([]float64, m*m), bend: make([]float64, m-1)}
	h.newton.MaxMove = make([]float64, m-1)
	for j := range m - 1 {
		h.newton.MaxMove[j] = math.Inf(1)
		if j+1 >= d.p {
			h.newton.MaxMove[j] = 1
		}
	}
	if d.family.law().HasShape() {
		h.newton.Stop = func(rest []float64) bool { return math.Abs(rest[m-2]) > farthestShape }
	}
	return h
}

// maximum improves rest in place.
func (h *held) maximum(psi float64, rest []float64) (float64, bool) {
	h.psi = psi
	if len(rest) == 0 {
		return h.at(rest, nil, nil), true
	}
	r := h.newton.Maximize(h.at, rest)
	return r.Value, r.Converged || r.Decrement < 1e-7
}

// at is a likelihood.Objective in the parameters less the intercept b0 = psi - c'b - offset(a, q), by the chain rule.
func (h *held) at(rest, grad, hess []float64) float64 {
	copy(h.theta[1:], rest)
	h.theta[0] = 0
	s := h.shapeOf(h.theta, h.q.g)
	off := s.Quantile(h.q.p)
	h.theta[0] = h.psi - inner(h.q.contrast[1:], rest[:h.p-1]) - off.V
	v := h.objective.at(h.theta, h.grad, h.hess)
	if len(rest) == 0 {
		return v
	}
	m, k := h.m, h.m-1
	bend := h.bend
	clear(bend)
	for j := 1; j < h.p; j++ {
		bend[j-1] = -h.q.contrast[j]
	}
	a := h.p + h.q.g - 1 // place of this stratum's parameter in rest
	if h.family.law().HasScale() {
		bend[a] = -off.A
	}
	if h.family.law().HasShape() {
		bend[k-1] = -off.Q
	}
	for i := range k {
		grad[i] = h.grad[i+1] + h.grad[0]*bend[i]
		for j := range i + 1 {
			hess[i*k+j] = h.hess[(i+1)*m+j+1] + h.hess[(i+1)*m]*bend[j] + bend[i]*h.hess[(j+1)*m] + bend[i]*h.hess[0]*bend[j]
		}
	}
	if h.family.law().HasScale() {
		hess[a*k+a] -= h.grad[0] * off.AA
	}
	if h.family.law().HasShape() {
		hess[(k-1)*k+a] -= h.grad[0] * off.AQ
		hess[(k-1)*k+k-1] -= h.grad[0] * off.QQ
	}
	return v
}
