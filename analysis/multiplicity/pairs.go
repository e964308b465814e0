package multiplicity

import "math"

// pairs are all pairwise differences of k independent normals of equal variance, two-sided: their largest is the
// studentised range over sqrt 2 [6], one integral.
type pairs struct{ k int }

func (p pairs) clone() part  { return p }
func (p pairs) name() string { return "range" }

// exceed is P(range of k normals > w sqrt 2) = k Int phi(x) {Phi(x)^(k-1) - [Phi(x) - Phi(x - w sqrt 2)]^(k-1)} dx, x the
// largest of the k. The difference of powers is built up without subtraction.
func (p pairs) exceed(w float64) estimate {
	if w <= 0 {
		return estimate{1, 0}
	}
	w *= math.Sqrt2
	step := 0.9 / math.Sqrt(float64(p.k)) // as for a product
	sum := 0.0
	for x := -float64(reach); x < reach+w/2; x += step {
		below := above(-x)
		share := above(w-x) / below
		power, out := 1.0, 0.0
		for range p.k - 1 {
			power *= below
			out += share * (1 - out)
		}
		sum += step * phi(x) * power * out
	}
	return estimate{min(float64(p.k)*sum, 1), 0}
}
