package reply

import (
	"math"
	"slices"
)

// scale is the range of log ages, at least 1, in which distances on the line of log ages are measured.
func (p *Problem) scale() float64 {
	if p.oldest > p.youngest {
		return max(1, p.oldest-p.youngest)
	}
	return 1
}

// Bounds of lambda: a spread that no two ages can tell from none, and one beside which all ages are one.
func (p *Problem) lambdas() (lo, hi float64) {
	gap := min(p.gap, 1)
	return math.Log(gap / 1000), math.Log(p.scale() * 1e5)
}

// box bounds and caps the parameters.
func (p *Problem) box() box {
	n := p.Dim()
	b := box{make([]float64, n), make([]float64, n), make([]float64, n)}
	for j := range p.P {
		b.lo[j], b.hi[j], b.most[j] = math.Inf(-1), math.Inf(1), p.scale()
	}
	b.lo[p.P], b.hi[p.P] = p.lambdas()
	b.most[p.P] = 1
	for i := p.P + 1; i < n; i++ {
		b.hi[i], b.most[i] = math.Pi/2, 0.4
	}
	if p.Sharp {
		b.hi[p.P+1] = 0
	}
	return b
}

func (b box) without(i int) box {
	drop := func(x []float64) []float64 { return slices.Delete(slices.Clone(x), i, i+1) }
	return box{drop(b.lo), drop(b.hi), drop(b.most)}
}

// into moves y into the box.
func (b box) into(y []float64) {
	for i := range y {
		y[i] = min(max(y[i], b.lo[i]), b.hi[i])
	}
}

// Maximum is the best point found.
type Maximum struct {
	V         []float64
	Value     float64
	Steps     int
	Converged bool
}

// Ascents to the maximum end when a step promises less than fitTol; those from starts that only look for the highest hump when it
// promises less than lookTol.
const (
	fitTol  = 1e-12
	lookTol = 1e-5
)

// Maximise climbs from several starts: steps without noise (theta = 0), and for several sizes of noise the most promising of
// a grid of spreads about crude limits. Another start is preferred to steps only where it is higher by more than rounding: on
// the ridge where ages are far apart beside tau, theta = 0 is as good as any, and is taken.
func (p *Problem) Maximise(most int) Maximum {
	w, n := p.borrow(), p.Dim()
	defer p.spaces.Put(w)
	s := search{p: p, w: w, c: newClimber(n, p.P+1), b: p.box(), most: most, best: Maximum{Value: math.Inf(-1)}}
	for i, start := range p.starts(w) {
		s.b.into(start.v)
		if i == 0 {
			s.climb(start.v, s.b, fitTol)
		} else {
			s.look(start.v)
		}
	}
	if s.best.V != nil {
		s.edges()
		s.kinks()
		if t := p.P + 1; p.small() && !p.Sharp && s.best.V[t] == 0 { // the slope may be 0 without noise though a hump lies close by
			v := slices.Clone(s.best.V)
			v[t] = 0.12
			s.climb(v, s.b, fitTol)
		}
	}
	return s.best
}

// MaximiseFrom climbs from v alone, a maximum of nearly the same problem; where few replies may leave several humps it is Maximise.
func (p *Problem) MaximiseFrom(v []float64, most int) Maximum {
	if p.replies <= smallPanel || len(v) != p.Dim() {
		return p.Maximise(most)
	}
	s := search{p: p, w: &Space{}, c: newClimber(p.Dim(), p.P+1), b: p.box(), most: most, best: Maximum{Value: math.Inf(-1)}}
	v = slices.Clone(v)
	s.b.into(v)
	s.climb(v, s.b, fitTol)
	if s.best.V == nil {
		return p.Maximise(most)
	}
	s.edges()
	return s.best
}

// search is a maximum in the making.
type search struct {
	p    *Problem
	w    *Space
	c    *climber
	b    box
	most int
	best Maximum
}

// climb ascends from v within b and keeps the place where it is the best.
func (s *search) climb(v []float64, b box, tol float64) top {
	t := s.c.ascend(func(y, g, h []float64) float64 { return s.p.Eval(s.w, y, g, h) }, v, b, tol, s.most)
	s.best.Steps += t.steps
	if t.value > s.best.Value+1e-9 {
		s.best.V, s.best.Value, s.best.Converged = v, t.value, t.converged
	}
	return t
}

// look ascends roughly from v, unless it comes near the best place, and all the way where that is higher.
func (s *search) look(v []float64) {
	s.c.shun, s.c.flat = s.best.V, lookTol/10
	if !s.p.small() {
		s.c.need = s.best.Value
	}
	t := s.c.ascend(func(y, g, h []float64) float64 { return s.p.Eval(s.w, y, g, h) }, v, s.b, lookTol, s.most)
	s.c.shun, s.c.need, s.c.flat = nil, math.Inf(-1), 0
	s.best.Steps += t.steps
	if !t.shunned && t.value+max(t.gain, 0) > s.best.Value+1e-7 {
		s.climb(v, s.b, fitTol)
	}
}

// edges tries the bounds of the angles: where one of them is as good as the best nearby, it is taken; and from a bound, where
// the slope may be 0 though it is no maximum, the ascent is tried again a little inside.
func (s *search) edges() {
	for i := s.p.P + 1; i < s.p.Dim(); i++ {
		lo, hi := s.b.lo[i], s.b.hi[i]
		if lo == hi {
			continue
		}
		for _, edge := range []float64{lo, hi} {
			away := math.Abs(s.best.V[i] - edge)
			if away > 0 && away < 0.1 {
				s.hold(i, edge)
			}
			if s.best.V[i] == edge && (i > s.p.P+1 || edge > 0) {
				v := slices.Clone(s.best.V)
				v[i] = math.Abs(edge - 0.1)
				s.look(v)
			}
		}
	}
}

// hold takes the maximum with angle i at an edge where that is as good as the best.
func (s *search) hold(i int, edge float64) {
	v, b := slices.Clone(s.best.V), s.b
	v[i] = edge
	b.lo, b.hi = slices.Clone(b.lo), slices.Clone(b.hi)
	b.lo[i], b.hi[i] = edge, edge
	before := s.best
	if t := s.climb(v, b, fitTol); t.converged && t.value >= before.Value-1e-9 {
		s.best.V, s.best.Value, s.best.Converged = v, max(t.value, before.Value), true
	}
}

// kinks goes on where limits of one subject are one and replies do not waver. The likelihood of b then bends sharply where ages
// of two limits meet, and Newton steps may stick there: the coefficients of covariates are held, each in turn, and the rest
// ascends.
func (s *search) kinks() {
	p := s.p
	if !p.Apart || s.best.V[p.P+1] > 0 || s.best.V[p.P+2] > 0 {
		return
	}
	for range 3 {
		before := s.best.Value
		for j := 1; j < p.P; j++ {
			v, b := slices.Clone(s.best.V), s.b
			b.lo, b.hi = slices.Clone(b.lo), slices.Clone(b.hi)
			b.lo[j], b.hi[j] = v[j], v[j]
			s.climb(v, b, fitTol)
		}
		if s.best.Value <= before+1e-9 {
			return
		}
	}
}
