package survival

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// Curve is an estimated distribution: masses on support sets, each of which may place its mass anywhere inside itself.
// It never changes after Fit.
type Curve struct {
	LogLik     float64 // sum_i w_i log P(observation i) at the estimate
	Gap        float64 // max_j d_j - N over all candidate sets: the true maximum exceeds LogLik by no more than this (0 up to rounding at the maximum)
	N          float64 // sum of the weights
	Rows       int     // rows with a weight above 0
	Iterations int     // steps of the solver; 0 for Isotonic, which is closed form
	Converged  bool    // Gap below the tolerance of the spec

	sets     []Interval // support sets, in order of time; every mass is > 0
	mass     []float64
	cum      []float64 // cum[k]: mass of sets 0..k-1; cum[len(sets)] is 1
	warnings []error
}

// sameShare is how near a cumulated mass must be to p to be called equal to it in Quantile.
const sameShare = 1e-9

// newCurve keeps the sets with mass, scaled to a sum of 1. It owns its arguments.
func newCurve(sets []Interval, mass []float64) *Curve {
	c := &Curve{}
	total := 0.0
	for _, m := range mass {
		total += m
	}
	for k, m := range mass {
		if m > 0 {
			c.sets = append(c.sets, sets[k])
			c.mass = append(c.mass, m/total)
		}
	}
	c.cum = make([]float64, len(c.mass)+1)
	for k, m := range c.mass {
		c.cum[k+1] = c.cum[k] + m
	}
	c.cum[len(c.mass)] = 1
	return c
}

// Sets returns the support sets in order of time, as a copy: (L, R], or the point L when L = R. Each carries a mass above
// 0; how the mass lies inside a set is left open by the data. The last R may be +Inf.
func (c *Curve) Sets() []Interval { return slices.Clone(c.sets) }

// Mass returns the masses of Sets, in the same order, as a copy. Fractions that sum to 1.
func (c *Curve) Mass() []float64 { return slices.Clone(c.mass) }

// At returns the bounds of S(t) = P(T > t), fractions. lo < hi only where t lies inside a support set, L < t < R: there lo
// counts the set's mass as over and hi as still to come. At t = L all of the set's mass is still to come, from t = R on none.
// Inside a last set that is open (R = +Inf) lo is 0 and hi is the set's mass, for every finite t > L. Below 0: 1 and 1.
// NaN gives NaN.
func (c *Curve) At(t float64) (lo, hi float64) {
	if math.IsNaN(t) {
		return t, t
	}
	done := sort.Search(len(c.sets), func(k int) bool { return c.sets[k].R > t })
	begun := sort.Search(len(c.sets), func(k int) bool { return c.sets[k].L >= t && c.sets[k].R > t })
	return 1 - c.cum[begun], 1 - c.cum[done]
}

// Quantile returns the smallest and the largest t for which some curve that agrees with the fit has F(t-) <= p <= F(t),
// F = 1 - S: the ages, if p = 0.5, that may be the median. Where the cumulated mass equals p (within 1e-9) at the end of
// one set this runs from the L of that set to the R of the next one; else from L to R of the set in which F crosses p. An
// end is approached rather than reached where the set is open there. hi may be +Inf. p is a fraction; p = 0 begins at 0,
// p = 1 ends at +Inf; outside [0, 1], and for NaN, both are NaN.
func (c *Curve) Quantile(p float64) (lo, hi float64) {
	if !(p >= 0 && p <= 1) {
		return math.NaN(), math.NaN()
	}
	// first: the first set whose end reaches p; last: the first whose end exceeds it.
	first := sort.Search(len(c.sets), func(k int) bool { return c.cum[k+1] >= p-sameShare })
	last := sort.Search(len(c.sets), func(k int) bool { return c.cum[k+1] > p+sameShare })
	lo, hi = 0, math.Inf(1)
	if p > sameShare {
		lo = c.sets[first].L
	}
	if last < len(c.sets) {
		hi = c.sets[last].R
	}
	return lo, hi
}

// Warnings returns caveats to print beside the numbers, as a copy; nil when there are none.
func (c *Curve) Warnings() []error { return slices.Clone(c.warnings) }

// NotConvergedError is the warning of a curve whose gap stayed above the tolerance: the masses are a valid distribution,
// but its log-likelihood may be short of the maximum by up to Gap.
type NotConvergedError struct {
	Gap, Tol   float64
	Iterations int
}

func (e *NotConvergedError) Error() string {
	return fmt.Sprintf("the curve has not reached its maximum: after %d steps its log-likelihood may be short by up to %.3g (tolerance %.3g); raise MaxIter, or bring the weights nearer to each other",
		e.Iterations, e.Gap, e.Tol)
}
