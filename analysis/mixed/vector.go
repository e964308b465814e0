package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// inner runs over a; b may be longer.
func inner(a, b []float64) float64 { return floats.Dot(a, b[:len(a)]) }

// mirror reflects c in the plane across v.
func mirror(v, c []float64) { floats.AddScaled(c, -2*inner(v, c)/inner(v, v), v) }

// norm is the Euclidean length, without overflow.
func norm(v []float64) float64 {
	if s := inner(v, v); s > 1e-280 && s < 1e280 {
		return math.Sqrt(s)
	}
	largest := 0.0
	for _, x := range v {
		largest = math.Max(largest, math.Abs(x))
	}
	if largest == 0 {
		return 0
	}
	s := 0.0
	for _, x := range v {
		s += x / largest * (x / largest)
	}
	return largest * math.Sqrt(s)
}
