package law

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Nodes and weights of Gauss-Legendre quadrature on [-1, 1].
var node, weight = func() (x, w [20]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], -1, 1)
	return x, w
}()

// drop is by how much the log-density may fall below its largest value before the rest is left out: exp(-40) = 4e-18.
const drop = 40

// between gives log P(a < Z <= b) and its first and second derivative in Q as shares of P; a < b, either may be infinite.
// The integral runs outward from the point of the interval nearest the mode, relative to the density there.
func (g *gengamma) between(a, b float64) (l, d1, d2 float64) {
	near := min(max(a, 0), b)
	s0, _, _, _, _ := g.at(near)
	if math.IsInf(s0, -1) || math.IsNaN(s0) {
		return math.Inf(-1), 0, 0
	}
	var sum [3]float64
	if b > near {
		g.sweep(near, 1, b-near, s0, &sum)
	}
	if a < near {
		g.sweep(near, -1, near-a, s0, &sum)
	}
	return s0 + math.Log(sum[0]), sum[1] / sum[0], sum[2] / sum[0]
}

// sweep adds the integrals of f, f_Q and f_QQ over the next length in direction dir, over exp(s0). Panels begin at the
// scale on which the curvature exp(Q z) changes and double.
func (g *gengamma) sweep(near, dir, length, s0 float64, sum *[3]float64) {
	length = min(length, g.reach(near, dir))
	h := 3.0
	if q := math.Abs(g.q); q > 2.0/3 {
		h = 2 / q
	}
	for from := 0.0; from < length; h *= 2 {
		to := from + h
		if to > length-h/4 { // no sliver at the end
			to = length
		}
		half, mid := (to-from)/2, (to+from)/2
		for i, x := range node {
			s, _, _, sq, sqq := g.at(near + dir*(mid+half*x))
			f := weight[i] * half * math.Exp(s-s0)
			sum[0] += f
			sum[1] += f * sq
			sum[2] += f * (sqq + sq*sq)
		}
		from = to
	}
}

// reach is a distance from near, in direction dir away from the mode, at which the log-density has fallen by drop or
// somewhat more. The fall is convex in the distance, so Newton steps from the right end right of the root.
func (g *gengamma) reach(near, dir float64) float64 {
	s0, m, c, _, _ := g.at(near)
	m, c = math.Abs(m), math.Abs(c)
	r := 2 * drop / (m + math.Sqrt(m*m+2*drop*c)) // root of m r + c r^2 / 2 = drop
	if q := math.Abs(g.q); g.q*dir > 0 && c > 0 {
		big := drop * q * q / c
		r = min(r, math.Log1p(big+math.Sqrt(2*big))/q) // drop by curvature alone, from above
	}
	for range 3 {
		s, sz, _, _, _ := g.at(near + dir*r)
		if math.IsInf(s, -1) || sz == 0 {
			break
		}
		r -= (s0 - s - drop) / math.Abs(sz)
	}
	return r
}
