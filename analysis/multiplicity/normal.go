package multiplicity

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// gaussPoints is the order of the Gauss-Legendre rule of every panel.
const gaussPoints = 16

// gaussX and gaussW are the rule on [-1, 1].
var gaussX, gaussW = func() (x, w [gaussPoints]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], -1, 1)
	return x, w
}()

// phi is the density of the standard normal.
func phi(x float64) float64 { return math.Exp(-x*x/2) / (math.Sqrt2 * math.SqrtPi) }

// above is P(Z > x) of a standard normal, with relative accuracy in the upper tail.
func above(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }

// radiusAbove is P(R > r), R the length of k standard normals: the finite series of the chi-square tail. All terms are
// positive, so that small tails keep their digits.
func radiusAbove(k int, r float64) float64 {
	half := r * r / 2
	if half > 745 { // exp(-half) is 0
		return 0
	}
	sum, term := 0.0, math.Exp(-half)
	if k%2 == 0 {
		for j := 1; ; j++ {
			sum += term
			if j == k/2 {
				return min(sum, 1)
			}
			term *= half / float64(j)
		}
	}
	term *= r * math.Sqrt2 / math.SqrtPi // half^(1/2) / Gamma(3/2)
	for j := 1; j <= k/2; j++ {
		sum += term
		term *= half / (float64(j) + 0.5)
	}
	return min(sum+math.Erfc(math.Sqrt(half)), 1)
}
