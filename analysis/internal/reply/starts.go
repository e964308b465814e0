package reply

import (
	"cmp"
	"math"
	"slices"
)

// crude is a first guess of an own limit: the middle of the likeliest cells, a step outside where those are at an end.
func (l *limit) crude(outside float64) float64 {
	n := len(l.at)
	if n == 0 {
		return math.NaN()
	}
	best := slices.Max(l.cell)
	lo, hi := -1, -1
	for c, v := range l.cell {
		if v >= best*(1-1e-9) {
			if lo < 0 {
				lo = c
			}
			hi = c
		}
	}
	a, b := l.at[0]-outside, l.at[n-1]+outside
	if lo > 0 {
		a = l.at[lo-1]
	}
	if hi < n {
		b = l.at[hi]
	}
	return (a + b) / 2
}

// guess fits crude limits by weighted least squares: coefficients and the spread about them.
func (p *Problem) guess() (b []float64, spread float64) {
	n := p.P
	a, rhs := make([]float64, n*n), make([]float64, n)
	outside := p.scale() / 4
	each := func(f func(g *group, y, w float64)) {
		for _, g := range p.all() {
			for i, l := range g.limits {
				if y := l.crude(outside); !math.IsNaN(y) {
					f(g, y, g.weight[i])
				}
			}
		}
	}
	total := 0.0
	each(func(g *group, y, w float64) {
		total += w
		for j, x := range g.row {
			rhs[j] += w * x * y
			for k, z := range g.row {
				a[j*n+k] += w * x * z
			}
		}
	})
	c := newClimber(n, 0)
	for j := range n {
		c.free = append(c.free, j)
		c.g[j] = rhs[j]
		for k := range n {
			c.h[j*n+k] = -a[j*n+k]
		}
	}
	c.direction(1e-9)
	b = slices.Clone(c.d)
	ss := 0.0
	each(func(g *group, y, w float64) {
		for j, x := range g.row {
			y -= x * b[j]
		}
		ss += w * y * y
	})
	return b, math.Sqrt(ss / max(total, 1e-300))
}

// starts gives points to climb from: for steps without noise and for little to much noise the most promising of a few spreads
// about the crude guess. Noise may be larger than crude limits differ: one taster who wavers.
func (p *Problem) starts(w *Space) []start {
	b, spread := p.guess()
	w.Rough = true
	defer func() { w.Rough = false }()
	scale := p.scale()
	spread = max(spread, scale/20)
	quiet, noisy := []float64{0.4 * spread, spread, 2.5 * spread}, []float64{0.1 * scale, 0.3 * scale, scale, 4 * scale}
	type lot struct {
		theta float64
		sizes []float64
	}
	lots := []lot{{0, quiet}, {0.15, quiet}, {0.5, quiet}, {0.9, noisy}, {1.4, noisy}}
	switch {
	case p.Sharp:
		lots = lots[:1]
	case p.Apart:
		lots = []lot{{0, quiet}, {0.2, quiet}, {0.6, quiet}, {1.2, noisy}}
	case p.small():
		lots = append(lots, lot{0.03, quiet}, lot{0.3, quiet}, lot{math.Pi / 2, noisy[1:]}, lot{math.Pi / 2, []float64{0.03 * scale, 0.1 * scale}})
	}
	var out []start
	for _, l := range lots {
		if v, value := p.likeliest(w, b, l.theta, l.sizes); p.Sharp || !math.IsInf(value, -1) {
			out = append(out, start{v, value})
		}
	}
	if !p.small() && len(out) > 1 {
		return mostLikely(out)
	}
	if p.small() && p.P == 1 {
		out = append(out, p.between(w)...)
	}
	return out
}

// between gives the most promising of means spread over the ages: where one reply may be a slip or a taster apart, humps lie
// elsewhere than about the crude guess.
func (p *Problem) between(w *Space) []start {
	const places, kept = 12, 3
	ages := p.Ages()
	if len(ages) < 2 {
		return nil
	}
	thetas := []float64{0, 0.4}
	if p.Sharp {
		thetas = thetas[:1]
	}
	sizes := []float64{0.04 * p.scale(), 0.15 * p.scale()}
	var out []start
	for k := range min(places, len(ages)-1) {
		i := k * (len(ages) - 1) / min(places, len(ages)-1)
		best := start{value: math.Inf(-1)}
		for _, theta := range thetas {
			if v, value := p.likeliest(w, []float64{(ages[i] + ages[i+1]) / 2}, theta, sizes); value > best.value {
				best = start{v, value}
			}
		}
		if best.v != nil {
			out = append(out, best)
		}
	}
	slices.SortStableFunc(out, func(a, b start) int { return cmp.Compare(b.value, a.value) })
	return out[:min(kept, len(out))]
}

// start is a point to climb from, and its rough value.
type start struct {
	v     []float64
	value float64
}

// mostLikely puts the most likely start first, where many replies tell it from the others, and keeps the two next and the one
// without noise.
func mostLikely(out []start) []start {
	sharp := out[0]
	slices.SortStableFunc(out, func(a, b start) int { return cmp.Compare(b.value, a.value) })
	keep := out[:min(3, len(out))]
	for _, s := range keep {
		if &s.v[0] == &sharp.v[0] {
			return keep
		}
	}
	return append(slices.Clone(keep), sharp)
}

// likeliest is the most likely of several sizes of spread.
func (p *Problem) likeliest(w *Space, b []float64, theta float64, sizes []float64) (best []float64, top float64) {
	bounds := p.box()
	top = math.Inf(-1)
	for _, size := range sizes {
		for _, alpha := range p.alphas() {
			v := append(append(slices.Clone(b), math.Log(size), theta), alpha...)
			bounds.into(v)
			if value := p.Eval(w, v, nil, nil); value > top || best == nil {
				best, top = v, value
			}
		}
	}
	return best, top
}

// alphas are tried for how much limits of one subject differ.
func (p *Problem) alphas() [][]float64 {
	if !p.Apart {
		return [][]float64{nil}
	}
	return [][]float64{{0.3}, {1.2}}
}
