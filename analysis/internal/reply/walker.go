package reply

import "math"

// walker evaluates a line at one psi; not for concurrent use.
type walker struct {
	*Line
	w       *Space
	c       *climber
	v, g, h []float64
	jac     []float64
	b       box
	y, keep []float64
	wary    bool      // points outside are tried from other places
	shun    []float64 // an ascent that comes near ends: that hump is known
	need    float64   // so does one that cannot reach this
	cross   []float64 // derivatives of the gradient in y by psi
	tangent []float64 // of y along the profile
}

func newWalker(l *Line) *walker {
	n := l.p.Dim()
	f := func(k int) []float64 { return make([]float64, k) }
	w := &walker{Line: l, w: l.p.borrow(), need: math.Inf(-1), c: newClimber(n-1, l.p.P), v: f(n), g: f(n), h: f(n * n), jac: f(n - 1), y: f(n - 1), keep: f(n - 1), cross: f(n - 1), tangent: f(n - 1)}
	w.c.flat = profileTol
	return w
}

// eval is the log-likelihood in y at psi, with gradient and Hessian.
func (w *walker) eval(psi float64, y, g, h []float64) float64 {
	curve := w.full(y, psi, w.v, w.jac)
	if g == nil {
		return w.p.Eval(w.w, w.v, nil, nil)
	}
	value := w.p.Eval(w.w, w.v, w.g, w.h)
	n, q := len(w.v), w.index
	for a, i := 0, 0; i < n; i++ {
		if i == q {
			continue
		}
		g[a] = w.g[i] + w.g[q]*w.jac[a]
		for b, j := 0, 0; j < n; j++ {
			if j == q {
				continue
			}
			h[a*(n-1)+b] = w.h[i*n+j] + w.h[i*n+q]*w.jac[b] + w.h[q*n+j]*w.jac[a] + w.h[q*n+q]*w.jac[a]*w.jac[b]
			b++
		}
		a++
	}
	if w.kind != coefficient {
		a, b, m := w.p.P-1, w.p.P, n-1 // lambda and theta in y
		h[a*m+a] += w.g[q] * curve[0]
		h[a*m+b] += w.g[q] * curve[1]
		h[b*m+a] += w.g[q] * curve[1]
		h[b*m+b] += w.g[q] * curve[2]
	}
	if math.IsNaN(value) {
		return math.Inf(-1)
	}
	return value
}

// Ascents along a profile end when a step promises less than profileTol, which is then added to the value.
const (
	profileTol   = 1e-6
	profileSteps = 60
)

// profile climbs from y (changed) at psi and returns the maximum over all but psi, and its slope in psi.
func (w *walker) profile(psi float64, y []float64) (value, slope float64) {
	w.c.shun, w.c.need = w.shun, w.need
	t := w.c.ascend(func(y, g, h []float64) float64 { return w.eval(psi, y, g, h) }, y, w.b, profileTol, profileSteps)
	w.c.shun, w.c.need = nil, math.Inf(-1)
	if math.IsInf(t.value, -1) || t.shunned {
		return t.value, 0
	}
	if !t.converged {
		w.eval(psi, y, w.c.g2, w.c.h2)
		return t.value, w.slope(w.v, w.g)
	}
	return t.value + max(t.gain, 0), w.slope(w.v, w.g)
}

// glanceGain is what a Newton step may promise for glance to trust it.
const glanceGain = 0.3

// glance is profile with one evaluation and one Newton step of y, where that is a small step, and sets the tangent; else it is
// profile. rest is what the step promised: the value is right to about its power 3/2.
func (w *walker) glance(psi float64, y []float64) (value, slope, rest float64) {
	value = w.eval(psi, y, w.c.g, w.c.h)
	clear(w.tangent)
	if math.IsInf(value, -1) {
		return value, 0, 0
	}
	w.c.release(y, w.b)
	good := w.c.solve(len(y), 0)
	if good {
		for i, d := range w.c.d {
			rest += d * w.c.g[i] / 2
			good = good && y[i]+d >= w.b.lo[i] && y[i]+d <= w.b.hi[i]
		}
	}
	if !good || rest > glanceGain {
		value, slope = w.profile(psi, y)
		return value, slope, 0
	}
	slope = w.slope(w.v, w.g)
	w.across()
	for i, d := range w.c.d {
		slope += d * w.cross[i]
		y[i] += d
	}
	w.c.back(w.cross, w.tangent)
	return value + rest, slope, rest
}

// across sets cross from the derivatives of the last evaluation.
func (w *walker) across() {
	n, q := len(w.v), w.index
	p := w.p.P
	sp := newSpread(w.v[p], w.v[p+1])
	a := 0
	for i := range n {
		if i == q {
			continue
		}
		c := w.h[i*n+q]
		if w.kind != coefficient {
			c += w.h[q*n+q] * w.jac[a]
		}
		if w.kind == share {
			c *= -w.k * sp.sigma
			switch i {
			case p:
				c -= w.g[q] * w.k * sp.sigma
			case p + 1:
				c += w.g[q] * w.k * sp.tau
			}
		}
		w.cross[a] = c
		a++
	}
}
