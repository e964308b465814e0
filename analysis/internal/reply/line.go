package reply

import "math"

// What a line holds.
type held int

const (
	quantile    held = iota // x'b + zeta K sigma = psi, at given zeta
	share                   // the same with zeta = psi, at a given log age
	coefficient             // b[Index] = psi
)

// Line is a profile: one function psi of the parameters is held, all others are free. A quantile at z holds
// x'b + z K sigma; a share at a log age holds z in x'b + z K sigma = log age; a coefficient holds itself.
type Line struct {
	p     *Problem
	kind  held
	x     []float64 // with the leading 1
	k     float64
	zeta  float64   // of a quantile
	at    float64   // log age of a share
	index int       // coordinate worked out from psi: 0, or that of the coefficient
	pin   []float64 // parameters whose spreads are held too
}

// Pinned is the line with all spreads held as they are at v.
func (l *Line) Pinned(v []float64) *Line {
	q := *l
	q.pin = v
	return &q
}

// box is that of the problem for y.
func (l *Line) box() box {
	b := l.p.box()
	if l.pin != nil {
		copy(b.lo[l.p.P:], l.pin[l.p.P:])
		copy(b.hi[l.p.P:], l.pin[l.p.P:])
	}
	return b.without(l.index)
}

// Quantile holds the log age x'b + z k sigma. x has the leading 1.
func (p *Problem) Quantile(x []float64, z, k float64) *Line {
	return &Line{p: p, kind: quantile, x: x, zeta: z, k: k}
}

// Share holds z with x'b + z k sigma = at.
func (p *Problem) Share(x []float64, at, k float64) *Line {
	return &Line{p: p, kind: share, x: x, at: at, k: k}
}

// Coefficient holds coefficient i.
func (p *Problem) Coefficient(i int) *Line { return &Line{p: p, kind: coefficient, index: i} }

// Psi is the value held at v.
func (l *Line) Psi(v []float64) float64 {
	if l.kind == coefficient {
		return v[l.index]
	}
	mu := 0.0
	for j, x := range l.x {
		mu += x * v[j]
	}
	sigma := newSpread(v[l.p.P], v[l.p.P+1]).sigma
	if l.kind == share {
		return (l.at - mu) / (l.k * sigma)
	}
	return mu + l.zeta*l.k*sigma
}

// full puts the parameters into v: y without coordinate index, and that from psi. jac gets its derivative in y, and curve its second
// derivatives in lambda and theta (lambda lambda, lambda theta, theta theta).
func (l *Line) full(y []float64, psi float64, v, jac []float64) (curve [3]float64) {
	n := len(v)
	for j, k := 0, 0; j < n; j++ {
		if j != l.index {
			v[j] = y[k]
			k++
		}
	}
	clear(jac)
	if l.kind == coefficient {
		v[l.index] = psi
		return curve
	}
	zeta, at := l.zeta, psi
	if l.kind == share {
		zeta, at = psi, l.at
	}
	p := l.p.P
	sp := newSpread(v[p], v[p+1])
	v[0] = at - zeta*l.k*sp.sigma
	for j := 1; j < p; j++ {
		v[0] -= l.x[j] * v[j]
		jac[j-1] = -l.x[j]
	}
	s, t := zeta*l.k*sp.sigma, zeta*l.k*sp.tau
	jac[p-1], jac[p] = -s, t
	return [3]float64{-s, t, s}
}

// slope is the derivative of the log-likelihood in psi with y fixed, g its gradient at v.
func (l *Line) slope(v, g []float64) float64 {
	if l.kind == share {
		return -g[0] * l.k * newSpread(v[l.p.P], v[l.p.P+1]).sigma
	}
	return g[l.index]
}

// walker evaluates a line at one psi; not for concurrent use.
type walker struct {
	*Line
	w       Space
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
	return &walker{Line: l, need: math.Inf(-1), c: newClimber(n - 1), v: f(n), g: f(n), h: f(n * n), jac: f(n - 1), y: f(n - 1), keep: f(n - 1), cross: f(n - 1), tangent: f(n - 1)}
}

// drop is v without the coordinate of the line.
func (l *Line) drop(v, y []float64) {
	k := 0
	for j, x := range v {
		if j != l.index {
			y[k] = x
			k++
		}
	}
}

// eval is the log-likelihood in y at psi, with gradient and Hessian.
func (w *walker) eval(psi float64, y, g, h []float64) float64 {
	curve := w.full(y, psi, w.v, w.jac)
	if g == nil {
		return w.p.Eval(&w.w, w.v, nil, nil)
	}
	value := w.p.Eval(&w.w, w.v, w.g, w.h)
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

// Reach is v moved so that the line holds psi: a share by another spread of limits, anything else by its own coordinate.
func (l *Line) Reach(v []float64, psi float64) []float64 {
	v = append([]float64{}, v...)
	p := l.p.P
	if l.kind == share {
		mu := 0.0
		for j, x := range l.x {
			mu += x * v[j]
		}
		sp := newSpread(v[p], v[p+1])
		sigma := (l.at - mu) / (l.k * psi)
		if !(sigma > 0) || math.IsInf(sigma, 0) {
			sigma = max(sp.sigma, math.Exp(l.p.box().lo[p]))
		}
		v[p], v[p+1] = math.Log(math.Hypot(sigma, sp.tau)), math.Atan2(sp.tau, sigma)
	}
	y := make([]float64, len(v)-1)
	l.drop(v, y)
	l.full(y, psi, v, make([]float64, len(y)))
	return v
}

// Value is the profile at psi, climbing from v and from steps without noise.
func (l *Line) Value(psi float64, v []float64) float64 {
	w := newWalker(l)
	w.b = l.box()
	best, i := math.Inf(-1), l.p.P-1
	lambda, theta := v[i+1], v[i+2]
	known := make([]float64, len(w.y))
	for _, s := range [][2]float64{{lambda, theta}, {lambda, 0}, {lambda, 0.9}, {lambda + 1, theta}} {
		l.drop(v, w.y)
		w.y[i], w.y[i+1] = s[0], s[1]
		w.b.into(w.y)
		value, _ := w.profile(psi, w.y)
		if value > best {
			best = value
			copy(known, w.y)
		}
		w.shun, w.need = known, best
	}
	return best
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
