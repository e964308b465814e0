package mixed

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed/internal/lmm"
)

// stick evaluates broken sticks: the straight model's columns and one more.
type stick struct {
	name     string
	straight *Fit
	v        []float64 // column x
	terms    []lmm.Term
	places   []float64 // distinct values of x, first and last the ends of the search
	start    []float64 // theta of the straight line by ML
	line     float64   // its deviance
	lineOK   bool
}

// point is the ML fit with the bend at psi.
type point struct {
	psi      float64
	deviance float64
	ratio    float64 // Wald's t of the change of slope
	ok       bool    // the search over the variances ended
}

func newStick(name string, straight *Fit, places []float64) (*stick, error) {
	v, err := straight.table.numeric(name)
	if err != nil {
		return nil, err
	}
	s := &stick{name: name, straight: straight, v: v, places: places}
	for _, g := range straight.groups {
		s.terms = append(s.terms, g.kernel())
	}
	if n, p := len(v), len(straight.x); n <= p+2 {
		return nil, &dataerr.Cell{Value: strconv.Itoa(n) + " rows", Err: dataerr.ErrTooFew,
			Want: "a bend has its place and its change of slope beside " + strconv.Itoa(p) + " coefficients; give more rows than all of these"}
	}
	for _, psi := range thinned(places, 64) {
		if err := s.distinct(psi); err != nil {
			return nil, err
		}
	}
	space := straight.problem.Space()
	o, ok := settled(space, false, straight.optimum.Theta)
	s.start, s.line, s.lineOK = o.Theta, o.Deviance, ok
	return s, nil
}

// distinct wants the hinge at psi to be no combination of the other columns.
func (s *stick) distinct(psi float64) error {
	e := eliminate(append(slices.Clip(s.straight.x), hinge(s.v, psi)))
	last := len(s.straight.x)
	lost := slices.ContainsFunc(e.dropped, func(d dependence) bool { return d.column == last }) ||
		slices.ContainsFunc(e.near, func(d dependence) bool { return d.column == last && d.own < unsafe })
	if !lost {
		return nil
	}
	return &dataerr.Cell{Column: s.name, Value: number(psi), Err: dataerr.ErrConflict,
		Want: "a bend there is a combination of the other terms in these rows, so that it cannot be told; leave out those that are curves or levels of " + s.name}
}

// thinned gives at most most of sorted values, the first and the last among them, evenly by rank.
func thinned(values []float64, most int) []float64 {
	if len(values) <= most {
		return values
	}
	out := make([]float64, most)
	for i := range out {
		out[i] = values[i*(len(values)-1)/(most-1)]
	}
	return out
}

// space holds the model with more columns.
func (s *stick) space(more ...[]float64) *lmm.Space {
	return lmm.New(slices.Concat(s.straight.x, more), s.straight.y, s.terms).Space()
}

// at fits with the bend at psi.
func (s *stick) at(psi float64) point {
	space := s.space(hinge(s.v, psi))
	o, ok := settled(space, false, s.start)
	exact := math.IsInf(o.Deviance, -1) // the fit at the end refuses it
	return point{psi: psi, deviance: o.Deviance, ratio: space.LastRatio(), ok: exact || ok && !math.IsNaN(o.Deviance) && !math.IsInf(o.Deviance, 1)}
}

// joint fits two lines that are free to jump between the places k and k+1, and gives where they meet: every stationary point
// of the deviance in the gap is one of that fit, as its last two coefficients are change and -change (psi - place). ended is
// false where that fit did not end.
func (s *stick) joint(k int) (psi float64, ended bool) {
	from := s.places[k]
	space := s.space(hinge(s.v, from), jump(s.v, from))
	o, ok := settled(space, false, s.start)
	beta := space.Beta()
	psi = from - beta[len(beta)-1]/beta[len(beta)-2]
	return psi, math.IsInf(o.Deviance, -1) || ok && !math.IsInf(o.Deviance, 1)
}

// best is the least deviance inside the gap behind place k that a joint gives; false where the lines meet elsewhere.
func (s *stick) best(k int) (point, bool) {
	psi, ended := s.joint(k)
	switch {
	case !ended:
		return s.dip(k), true
	case psi > s.places[k] && psi < s.places[k+1]:
		return s.at(psi), true
	}
	return point{}, false
}

// dip looks for the least deviance inside a gap on a grid and between its neighbours.
func (s *stick) dip(k int) point {
	const parts = 10
	from, width := s.places[k], (s.places[k+1]-s.places[k])/parts
	low, least := 1, math.Inf(1)
	for j := 1; j < parts; j++ {
		if p := s.at(from + width*float64(j)); p.ok && p.deviance < least {
			low, least = j, p.deviance
		}
	}
	return s.golden(from+width*float64(low-1), from+width*float64(low+1), func(p point) float64 { return p.deviance })
}

// perGap is the number of places looked at inside each gap, beside the joint: they show where the profile goes between.
// Many gaps are narrow enough.
func perGap(gaps int) int { return min(96/max(gaps, 1), 8) }

// survey evaluates the profile at the places, inside the gaps and at the joints, on all cores, in order of psi.
func (s *stick) survey() []point {
	gaps := len(s.places) - 1
	inside := perGap(gaps)
	points := make([]point, gaps*(inside+2)+1)
	resample.Each(len(points), 0, 0, func(i int, _ *rand.Rand) {
		k, j := i/(inside+2), i%(inside+2)
		switch {
		case j == 0:
			points[i] = s.at(s.places[k])
		case j == inside+1:
			if p, ok := s.best(k); ok {
				points[i] = p
			} else {
				points[i] = point{psi: math.NaN()}
			}
		default:
			points[i] = s.at(s.places[k] + (s.places[k+1]-s.places[k])*float64(j)/float64(inside+1))
		}
	})
	points = slices.DeleteFunc(points, func(p point) bool { return math.IsNaN(p.psi) })
	slices.SortStableFunc(points, func(a, b point) int { return cmp.Compare(a.psi, b.psi) })
	return points
}

// golden looks for the least value of f between two places by the golden section; where a search did not end it is +Inf.
func (s *stick) golden(from, to float64, f func(point) float64) point {
	const share = 0.6180339887498949
	look := func(psi float64) (point, float64) {
		if p := s.at(psi); p.ok {
			return p, f(p)
		}
		return point{psi: psi}, math.Inf(1)
	}
	a, b := to-share*(to-from), from+share*(to-from)
	pa, fa := look(a)
	pb, fb := look(b)
	for range 40 { // to 5e-9 of the first width
		if fa <= fb {
			to, b, pb, fb = b, a, pa, fa
			a = to - share*(to-from)
			pa, fa = look(a)
		} else {
			from, a, pa, fa = a, b, pb, fb
			b = from + share*(to-from)
			pb, fb = look(b)
		}
	}
	if fa <= fb {
		return pa
	}
	return pb
}
