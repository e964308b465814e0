package reply

import (
	"math"
	"testing"

	"lastsip/analysis/mathtest"
)

// The table against the standard library's complementary error function, whose error is below 1e-15.
func TestTailMeetsErfc(t *testing.T) {
	for x := 0.0; x < 37; x += 0.00137 {
		q, d := tail(x)
		mathtest.CloseRel(t, "tail", q, math.Erfc(x/math.Sqrt2)/2, 0, 2e-12, "math.Erfc")
		mathtest.CloseRel(t, "density", d, math.Exp(-x*x/2)/math.Sqrt(2*math.Pi), 0, 1e-9, "closed form")
	}
	for _, z := range []float64{-9, -3.3, -1e-9, 0, 1e-9, 2.2, 12} {
		lower, upper, _ := both(z)
		mathtest.CloseRel(t, "lower", lower, math.Erfc(-z/math.Sqrt2)/2, 0, 2e-12, "math.Erfc")
		mathtest.CloseRel(t, "upper", upper, math.Erfc(z/math.Sqrt2)/2, 0, 2e-12, "math.Erfc")
	}
}

func BenchmarkTail(b *testing.B) {
	s := 0.0
	for b.Loop() {
		for k := range 256 {
			q, d := tail(float64(k) * 0.031)
			s += q + d
		}
	}
	if s < 0 {
		b.Fatal(s)
	}
}
