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
	defer l.p.spaces.Put(w.w)
	w.b = l.box()
	best, i := math.Inf(-1), l.p.P-1
	lambda, theta := v[i+1], v[i+2]
	known := make([]float64, len(w.y))
	places := [][2]float64{{lambda, theta}, {lambda, 0}, {lambda, 0.9}, {lambda + 1, theta}}
	if l.p.Apart {
		places = places[:2]
	}
	for _, s := range places {
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
