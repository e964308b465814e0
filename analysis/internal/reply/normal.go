package reply

import "math"

// Tails of the standard normal law by Taylor polynomials about the points of a grid: relative error below 1e-13 up to edge.
const (
	pitch = 1.0 / 32
	edge  = 8.5
	terms = 8
)

var tails [int(edge/pitch) + 2][terms]float64

func init() {
	for i := range tails {
		x := float64(i) * pitch
		tails[i][0] = math.Erfc(x/math.Sqrt2) / 2
		// The k-th derivative of the tail is (-1)^k He_{k-1}(x) phi(x), He the Hermite polynomials.
		before, he, factor := 0.0, 1.0, density(x)
		for k := 1; k < terms; k++ {
			factor /= -float64(k)
			tails[i][k] = he * factor
			before, he = he, x*he-float64(k-1)*before
		}
	}
}

func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// tail gives P(Z > x) and the density at x of a standard normal Z, for x >= 0, the first to a relative 1e-12, the second to 1e-9.
func tail(x float64) (q, d float64) {
	if x > edge {
		return math.Erfc(x/math.Sqrt2) / 2, density(x)
	}
	i := int(x/pitch + 0.5)
	u := x - float64(i)*pitch
	c := &tails[i]
	q, d = c[7], 0
	d = q
	q = q*u + c[6]
	d = d*u + q
	q = q*u + c[5]
	d = d*u + q
	q = q*u + c[4]
	d = d*u + q
	q = q*u + c[3]
	d = d*u + q
	q = q*u + c[2]
	d = d*u + q
	q = q*u + c[1]
	d = d*u + q
	q = q*u + c[0]
	return q, -d
}

// both gives P(Z <= z), P(Z > z) and the density at z, each small one with its own digits.
func both(z float64) (lower, upper, d float64) {
	if z < 0 {
		lower, d = tail(-z)
		return lower, 1 - lower, d
	}
	upper, d = tail(z)
	return 1 - upper, upper, d
}
