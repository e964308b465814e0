// Package binomial gives exact limits of a share and the ranks of order statistics that bound a quantile.
//
// With B ~ Binomial(n, p) all of it rests on P(B <= k) = I_{1-p}(n-k, k+1), the regularised incomplete beta function.
//
//   - Limits of a share (Clopper-Pearson [1]): the lower limit solves P(B >= x) = tail, the upper P(B <= x) = tail; they
//     are beta quantiles, B(tail; x, n-x+1) and B(1-tail; x+1, n-x). They hold at least the level asked, mostly more.
//   - Ranks (sign test, [2]): of n independent draws from any law with p-quantile q, P(l-th smallest > q) <= P(B < l) and
//     P(u-th smallest < q) <= P(B >= u), with equality where the law has a density at q.
//
// Counts are subjects, shares and tails are fractions. Subjects are taken as independent. No function allocates. Wrong
// arguments are a fault of the caller in this module, never of user data: they panic.
//
// [1] Clopper & Pearson (1934), Biometrika 26, 404-413.
// [2] David & Nagaraja (2003), Order Statistics, 3rd ed., section 7.1.
package binomial

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// tie is the relative slack within which a probability counts as equal to a tail, so that tails which are equal in
// exact arithmetic (1/64 and (1-0.96875)/2) are not told apart by rounding.
const tie = 1e-10

// CDF is P(B <= k) for B ~ Binomial(n, p), n >= 0, p in [0, 1], any k.
func CDF(k, n int, p float64) float64 {
	check(n >= 0 && p >= 0 && p <= 1, "CDF", k, n, p)
	switch {
	case k < 0:
		return 0
	case k >= n, p == 0:
		return 1
	case p == 1:
		return 0
	}
	return mathext.RegIncBeta(float64(n-k), float64(k+1), 1-p)
}

// Survival is P(B >= k) for B ~ Binomial(n, p), n >= 0, p in [0, 1], any k: accurate also where 1 - CDF is not.
func Survival(k, n int, p float64) float64 {
	check(n >= 0 && p >= 0 && p <= 1, "Survival", k, n, p)
	switch {
	case k <= 0:
		return 1
	case k > n, p == 0:
		return 0
	case p == 1:
		return 1
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}

// Lower is the Clopper-Pearson lower limit for x of n with all of tail on one side: the share at which P(B >= x) = tail.
// 0 when x = 0. Needs n >= 1, 0 <= x <= n, tail in (0, 1).
func Lower(x, n int, tail float64) float64 {
	check(n >= 1 && x >= 0 && x <= n && tail > 0 && tail < 1, "Lower", x, n, tail)
	switch x {
	case 0:
		return 0
	case n:
		return math.Pow(tail, 1/float64(n))
	}
	return betaQuantile(float64(x), float64(n-x+1), tail)
}

// Upper is the Clopper-Pearson upper limit for x of n with all of tail on one side: the share at which P(B <= x) = tail.
// 1 when x = n. Needs n >= 1, 0 <= x <= n, tail in (0, 1).
func Upper(x, n int, tail float64) float64 {
	return 1 - Lower(n-x, n, tail)
}

// betaQuantile solves I_q(a, b) = p for q, a, b >= 1. InvRegIncBeta gives about ten digits; bracketed Newton steps on
// I_q(a, b) give the rest.
func betaQuantile(a, b, p float64) float64 {
	q := mathext.InvRegIncBeta(a, b, p)
	lo, hi := 0.0, 1.0
	if !(q > lo && q < hi) {
		q = 0.5
	}
	logBeta := mathext.Lbeta(a, b)
	for range 100 {
		f := mathext.RegIncBeta(a, b, q) - p
		if f == 0 {
			return q
		}
		if f < 0 {
			lo = q
		} else {
			hi = q
		}
		next := q - f*math.Exp(logBeta-(a-1)*math.Log(q)-(b-1)*math.Log1p(-q))
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		if math.Abs(next-q) <= 1e-15*q {
			return next
		}
		q = next
	}
	return q
}

// Ranks gives the ranks of the order statistics of n draws that bound the p-quantile, each missing it with probability
// tail at most: the largest l with P(B < l) <= tail and the smallest u with P(B >= u) <= tail, 1-based. l = 0 or
// u = n+1 when no rank reaches tail. Needs n >= 1, p in (0, 1), tail in (0, 1).
func Ranks(n int, p, tail float64) (l, u int) {
	check(n >= 1 && p > 0 && p < 1 && tail > 0 && tail < 1, "Ranks", n, n, p)
	limit := tail * (1 + tie)
	lo, hi := 0, n+1 // P(B < lo) <= limit holds at lo, is not known or fails at hi
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; CDF(mid-1, n, p) <= limit {
			lo = mid
		} else {
			hi = mid
		}
	}
	l = lo
	lo, hi = 0, n+1 // P(B >= hi) <= limit holds at hi, fails at lo
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; Survival(mid, n, p) <= limit {
			hi = mid
		} else {
			lo = mid
		}
	}
	return l, hi
}

// check panics with the arguments when a caller broke a documented range.
func check(ok bool, name string, k, n int, p float64) {
	if !ok {
		panic(fmt.Sprintf("binomial: %s called with %d of %d, %v", name, k, n, p))
	}
}
