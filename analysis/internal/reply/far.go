package reply

import (
	"math"
	"slices"
)

// Far is the best likelihood at the infinite end of the parameters, sigma = +Inf with mu/sigma held, where each limit lies
// below all ages or above all, the latter with a share of each group: the supremum there and the shares. Where groups have no
// share of their own, with fewer coefficients than groups or limits that go together, only no limit and every limit above are
// tried.
func (p *Problem) Far() (value float64, above []float64) {
	groups := p.all()
	above = make([]float64, len(groups))
	if len(groups) > p.P || p.Apart {
		none, all := p.base, p.base
		for _, g := range groups {
			none += g.mixture(0)
			all += g.mixture(1)
		}
		if all > none {
			for i := range above {
				above[i] = 1
			}
		}
		return max(none, all), above
	}
	value = p.base
	for i, g := range groups {
		above[i] = g.bestMixture()
		value += g.mixture(above[i])
	}
	return value, above
}

// mixture is the log-likelihood, less the scales, of limits above all ages with chance share, else below.
func (g *group) mixture(share float64) float64 {
	sum := 0.0
	for i, l := range g.limits {
		sum += g.weight[i] * math.Log((1-share)*l.cell[0]+share*l.cell[len(l.at)])
	}
	return sum
}

// bestMixture maximises mixture, which is concave, by bisection of its slope.
func (g *group) bestMixture() float64 {
	slope := func(share float64) float64 {
		sum := 0.0
		for i, l := range g.limits {
			a, b := l.cell[0], l.cell[len(l.at)]
			if d := (1-share)*a + share*b; a != b {
				sum += g.weight[i] * (b - a) / d
			}
		}
		return sum
	}
	switch {
	case slope(1) >= 0:
		return 1
	case slope(0) <= 0:
		return 0
	}
	lo, hi := 0.0, 1.0
	for range 60 {
		if mid := (lo + hi) / 2; slope(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Away tells for every group of limits whether they are pushed out at v: +1 when all of them lie above all their ages and none
// would lose by lying at infinity, -1 when all lie below, else 0.
func (p *Problem) Away(v []float64) []int {
	groups := p.all()
	out := make([]int, len(groups))
	var w Space
	sp := newSpread(v[p.P], v[p.P+1])
	for k, g := range groups {
		if len(g.age) == 0 {
			continue
		}
		mu, sum := dot(g.row, v), 0.0
		w.evaluate(g, mu, sp, false, false)
		for i := range g.limits {
			sum += g.weight[i] * math.Log(w.raw[i].l)
		}
		const mass = 1e-4
		past := math.Erfc((mu-g.age[len(g.age)-1])/sp.s/math.Sqrt2) / 2
		before := math.Erfc((g.age[0]-mu)/sp.s/math.Sqrt2) / 2
		switch {
		case past < mass && g.mixture(1) >= sum-1e-9:
			out[k] = 1
		case before < mass && g.mixture(0) >= sum-1e-9:
			out[k] = -1
		}
	}
	return out
}

// Flat tells whether no spread at all is as likely as the point v, within rounding, and moves v there: limits between two
// neighbouring ages, or so close about one that only the shares on its two sides can be told.
func (p *Problem) Flat(v []float64, value float64, most int) bool {
	lo, _ := p.lambdas()
	if math.Exp(v[p.P]) > max(min(p.gap, 1), p.scale()/5) {
		return false
	}
	var w Space
	c, at, b := newClimber(p.Dim(), p.P+1), slices.Clone(v), p.box()
	at[p.P+1], b.hi[p.P+1] = 0, 0
	for lambda := v[p.P]; lambda > lo; {
		lambda = max(lambda-1, lo)
		at[p.P], b.lo[p.P], b.hi[p.P] = lambda, lambda, lambda
		t := c.ascend(func(y, g, h []float64) float64 { return p.Eval(&w, y, g, h) }, at, b, fitTol, most)
		if t.value < value-1e-8 {
			return false
		}
	}
	copy(v, at)
	return true
}

// Widest tells whether the spread at v lies at its upper bound.
func (p *Problem) Widest(v []float64) bool {
	_, hi := p.lambdas()
	return v[p.P] > hi-1
}

// Scales are sigma and tau at v.
func (p *Problem) Scales(v []float64) (sigma, tau float64) {
	sp := newSpread(v[p.P], v[p.P+1])
	if v[p.P+1] >= math.Pi/2 {
		return 0, sp.tau
	}
	return sp.sigma, sp.tau
}

// Range gives the youngest and oldest log age (+Inf and -Inf where there is none but 0), and the unit of distances.
func (p *Problem) Range() (youngest, oldest, unit float64) { return p.youngest, p.oldest, p.scale() }

// Outside is a point far above (way > 0) or below all ages, where every limit is next to infinite.
func (p *Problem) Outside(way float64) []float64 {
	v := make([]float64, p.Dim())
	v[p.P] = math.Log(p.scale() / 4)
	edge := p.oldest
	if way < 0 {
		edge = p.youngest
	}
	v[0] = edge + way*4*p.scale()
	return v
}

// Ages are the distinct log ages above age 0, rising.
func (p *Problem) Ages() []float64 {
	var out []float64
	for _, g := range p.all() {
		out = append(out, g.age...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Blur is how far the smallest spread tried may move an end that lies at an age.
func (p *Problem) Blur() float64 {
	lo, _ := p.lambdas()
	return 10 * math.Exp(lo)
}

// Parts are omega and kappa at v, of an Apart problem.
func (p *Problem) Parts(v []float64) (omega, kappa float64) {
	sigma, _ := p.Scales(v)
	switch alpha := v[p.P+2]; {
	case alpha <= 0:
		return sigma, 0
	case alpha >= math.Pi/2:
		return 0, sigma
	default:
		sin, cos := math.Sincos(alpha)
		return sigma * cos, sigma * sin
	}
}

// Divide moves v, of a problem whose likelihood rises to the infinite end, to limits that lie above all ages with the given
// shares of the groups, where one coefficient can say that.
func (p *Problem) Divide(v, above []float64) {
	if p.P != 1 || p.Apart || len(above) != 1 || above[0] <= 0 || above[0] >= 1 || p.youngest == p.oldest {
		return
	}
	_, hi := p.lambdas()
	v[p.P], v[p.P+1] = hi-2, 0
	v[0] = math.Exp(hi-2) * math.Sqrt2 * math.Erfinv(2*above[0]-1)
}
