package mixed

import "math"

// quasi minimises smooth functions without bounds by BFGS [17]. It keeps the curvature it has learnt for the next
// function, which is nearly the same one.
type quasi struct {
	inverse      []float64 // of the Hessian, as known
	g, next, at  []float64
	step, change []float64
}

// A search ends when a step promises less than this, on the scale of a deviance; failing that, when no step lowers the
// value and this is all that was promised.
const (
	promised = 1e-10
	rounding = 1e-6
)

// minimise moves x to a minimum of f, which fills the gradient.
func (q *quasi) minimise(f func(x, g []float64) float64, x []float64) (value float64, ok bool) {
	m := len(x)
	if len(q.g) != m {
		all := make([]float64, 5*m)
		q.g, q.next, q.at, q.step, q.change = all[:m], all[m:2*m], all[2*m:3*m], all[3*m:4*m], all[4*m:]
		q.inverse = nil
	}
	value = f(x, q.g)
	if math.IsInf(value, 0) || math.IsNaN(value) {
		return value, false
	}
	if q.inverse == nil {
		q.learn(f, x)
	}
	for range 200 {
		slope := q.direction()
		if slope >= 0 {
			q.learn(f, x)
			slope = q.direction()
		}
		if -slope < promised {
			return f(x, q.g), true
		}
		v, found := q.search(f, x, value, slope)
		if !found {
			return f(x, q.g), -slope < rounding
		}
		value = v
		q.update(x)
	}
	return value, false
}

// learn starts the inverse Hessian from the curvature along each coordinate.
func (q *quasi) learn(f func(x, g []float64) float64, x []float64) {
	m := len(x)
	q.inverse = make([]float64, m*m)
	for i := range m {
		h := 1e-3 * (1 + math.Abs(x[i]))
		was := x[i]
		x[i] = was + h
		v := f(x, q.next)
		x[i] = was
		curve := math.Abs(q.next[i]-q.g[i]) / h
		if !(curve > 1e-6) || math.IsInf(v, 0) {
			curve = 1
		}
		q.inverse[i*m+i] = 1 / curve
	}
}

// direction sets step to -H^-1 g and returns its slope.
func (q *quasi) direction() float64 {
	m, slope := len(q.g), 0.0
	for i := range m {
		q.step[i] = -inner(q.inverse[i*m:][:m], q.g)
		slope += q.step[i] * q.g[i]
	}
	return slope
}

// search finds a share of the step that lowers the value enough and leaves the slope flatter; at and next hold where.
func (q *quasi) search(f func(x, g []float64) float64, x []float64, value, slope float64) (float64, bool) {
	low, high, share := 0.0, math.Inf(1), 1.0
	slack := 1e-14 * (1 + math.Abs(value))
	for range 50 {
		for i, s := range q.step {
			q.at[i] = x[i] + share*s
		}
		v := f(q.at, q.next)
		switch {
		case !(v <= value+1e-4*share*slope+slack):
			high = share
		case inner(q.next, q.step) < 0.9*slope:
			low = share
		default:
			return v, true
		}
		if math.IsInf(high, 1) {
			share = 2 * low
		} else {
			share = (low + high) / 2
		}
		if share < 1e-9 {
			break
		}
	}
	return value, false
}

// update moves x to at and the curvature with it.
func (q *quasi) update(x []float64) {
	m, sy := len(x), 0.0
	for i := range m {
		q.step[i] = q.at[i] - x[i]
		q.change[i] = q.next[i] - q.g[i]
		sy += q.step[i] * q.change[i]
	}
	copy(x, q.at)
	q.g, q.next = q.next, q.g
	if !(sy > 1e-14*math.Sqrt(inner(q.step, q.step)*inner(q.change, q.change))) {
		return
	}
	hy, yhy := q.at, 0.0 // at is free now
	for i := range m {
		hy[i] = inner(q.inverse[i*m:][:m], q.change)
		yhy += hy[i] * q.change[i]
	}
	for i := range m {
		for j := range m {
			q.inverse[i*m+j] += (1+yhy/sy)*q.step[i]*q.step[j]/sy - (hy[i]*q.step[j]+q.step[i]*hy[j])/sy
		}
	}
}
