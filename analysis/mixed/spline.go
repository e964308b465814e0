package mixed

import (
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Spline is a natural cubic spline in a column of numbers, without the constant: len(Knots)+1 columns, "spline(age)1" and
// so on. Between the knots it is a cubic, at the knots its second derivative has no jump, and from the boundary outwards it
// is a straight line. The columns are a B-spline basis [5] from which the directions with a second derivative at the
// boundary have been turned away by two Householder reflections, the basis of R's splines::ns(intercept = FALSE) [6].
type Spline struct {
	Name     string
	Knots    []float64  // interior knots, rising, inside the data and the boundary; nil: a straight line
	Boundary [2]float64 // boundary knots; the zero value is the range of the data
}

func (s Spline) String() string { return "spline(" + s.Name + ")" }

// spline knows its knots; all is the knots with each boundary knot four times.
type spline struct {
	Spline
	all     []float64
	reflect [2][]float64 // Householder vectors; the first elements of the second are 0
}

func (s Spline) learn(t *Table) (basis, error) {
	x, err := t.numeric(s.Name)
	if err != nil {
		return nil, err
	}
	low, high := slices.Min(x), slices.Max(x)
	fault := func(value string, err error, want string) (basis, error) {
		return nil, &dataerr.Cell{Column: s.Name, Value: value, Err: err, Want: want}
	}
	out := &spline{Spline: s}
	out.Knots = slices.Clone(s.Knots)
	if s.Boundary == [2]float64{} {
		out.Boundary = [2]float64{low, high}
	}
	if k := len(distinct(x)); k < len(s.Knots)+2 {
		return fault(strconv.Itoa(k)+" distinct values", dataerr.ErrTooFew,
			"a spline with "+strconv.Itoa(len(s.Knots))+" interior knots needs at least "+strconv.Itoa(len(s.Knots)+2))
	}
	for _, b := range out.Boundary {
		if math.IsNaN(b) || math.IsInf(b, 0) {
			return fault(number(b), dataerr.ErrNumber, "a boundary knot is a finite number")
		}
	}
	a, b := out.Boundary[0], out.Boundary[1]
	if a >= b {
		return fault(number(a)+", "+number(b), dataerr.ErrOrder, "the first boundary knot lies below the second")
	}
	for i, k := range out.Knots {
		switch {
		case math.IsNaN(k):
			return fault(number(k), dataerr.ErrNumber, "a knot is a finite number")
		case i > 0 && k <= out.Knots[i-1]:
			return fault(number(k), dataerr.ErrOrder, "give the knots in rising order, each once")
		case k <= a || k >= b:
			return fault(number(k), dataerr.ErrRange, "an interior knot lies between the boundary knots "+number(a)+" and "+number(b))
		case k <= low || k >= high:
			return fault(number(k), dataerr.ErrRange, "an interior knot lies inside the data, which go from "+number(low)+" to "+number(high))
		}
	}
	out.all = slices.Concat([]float64{a, a, a, a}, out.Knots, []float64{b, b, b, b})
	out.turn()
	return out, nil
}

// turn finds the reflections that gather the second derivatives at the two boundary knots in the first two coordinates.
func (s *spline) turn() {
	n := len(s.Knots) + 3 // B-splines without the first
	var second [2][]float64
	for i, at := range s.Boundary {
		full := make([]float64, n+1)
		s.bsplines(at, 2, full)
		second[i] = full[1:]
	}
	for l := range second {
		v := slices.Clone(second[l])
		clear(v[:l])
		length := math.Sqrt(inner(v, v))
		v[l] += math.Copysign(length, v[l])
		s.reflect[l] = v
		for _, c := range second[l:] {
			mirror(v, c)
		}
	}
}

// bsplines gives the values (or derivatives of that order) of all cubic B-splines at x in the boundary. out has
// len(all)-4 places.
func (s *spline) bsplines(x float64, derivative int, out []float64) {
	k := s.all
	i := 3 // k[i] <= x < k[i+1], the last interval closed
	for i < len(k)-5 && x >= k[i+1] {
		i++
	}
	var b [4]float64 // B-splines i-d..i of degree d, so far
	b[0] = 1
	for d := 1; d <= 3; d++ {
		whole := d <= 3-derivative
		var next [4]float64
		for r := range d { // spline j = i-d+1+r of degree d-1, over k[j]..k[j+d]
			lo, hi := k[i-d+1+r], k[i+1+r]
			if whole {
				next[r] += (hi - x) / (hi - lo) * b[r]
				next[r+1] += (x - lo) / (hi - lo) * b[r]
			} else { // d/dx of the recursion
				next[r] -= float64(d) / (hi - lo) * b[r]
				next[r+1] += float64(d) / (hi - lo) * b[r]
			}
		}
		b = next
	}
	clear(out)
	copy(out[i-3:], b[:])
}

func (s *spline) names() []string {
	out := make([]string, len(s.Knots)+1)
	for j := range out {
		out[j] = s.String() + strconv.Itoa(j+1)
	}
	return out
}

func (s *spline) values(t *Table) ([][]float64, error) {
	x, err := t.numeric(s.Name)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(s.Knots)+1)
	for j := range out {
		out[j] = make([]float64, len(x))
	}
	full, slope := make([]float64, len(s.Knots)+4), make([]float64, len(s.Knots)+4)
	for i, v := range x {
		inside := min(max(v, s.Boundary[0]), s.Boundary[1])
		s.bsplines(inside, 0, full)
		if v != inside {
			s.bsplines(inside, 1, slope)
			for j := range full {
				full[j] += (v - inside) * slope[j]
			}
		}
		row := full[1:]
		mirror(s.reflect[0], row)
		mirror(s.reflect[1], row)
		for j := range out {
			out[j][i] = row[j+2]
		}
	}
	return out, nil
}
