package survival

import (
	"math"
	"slices"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/binomial"
)

// Limits are two-sided limits without a family. Level is the one attained, a fraction; Reached says whether it is at
// least the level asked for. Lower and Upper are fractions (ExactShare) or in the unit of the rows (ExactQuantile), where
// an open end is 0 below and +Inf above.
type Limits struct {
	Lower, Upper, Level float64
	Reached             bool
}

// levelSlack keeps a level that is met in exact arithmetic from failing by rounding.
const levelSlack = 1e-12

// ExactShare gives limits of S(t) = P(T > t), the share still going on at t (finite, >= 0), from independent subjects, one
// row each: the Clopper-Pearson lower limit [4] of the rows that surely go on (L >= t and R > t) and the upper limit of
// those that may (R > t), each out of all rows. Where no row straddles t these are the usual limits. Level is the level
// asked, which such limits hold at least, whatever made the intervals. Errors are joined *dataerr.Cell: faulty rows, t or
// level (a fraction strictly between 0 and 1).
func ExactShare(obs []Interval, t, level float64) (Limits, error) {
	bad := checkFraction("level", level, "give a fraction such as 0.95")
	if err := nonNegative(t); err != nil {
		bad = append(bad, &dataerr.Cell{Column: "t", Value: number(t), Err: err, Want: "give a time that is finite and not negative"})
	}
	if err := join(bad, []error{checkIntervals(obs, nil)}); err != nil {
		return Limits{}, err
	}
	sure, may := 0, 0
	for _, o := range obs {
		if o.R > t {
			may++
			if o.L >= t {
				sure++
			}
		}
	}
	tail := (1 - level) / 2
	return Limits{
		Lower: binomial.Lower(sure, len(obs), tail),
		Upper: binomial.Upper(may, len(obs), tail),
		Level: level, Reached: true,
	}, nil
}

// ExactQuantile gives limits of the p-quantile of T from independent subjects, one row each, by the binomial test: with
// B ~ Binomial(n, p) and tail = (1 - level)/2 the l-th smallest L, l the largest rank with P(B < l) <= tail, and the u-th
// smallest R, u the smallest rank with P(B >= u) <= tail. As every T lies in its (L, R], the limits hold at least Level =
// 1 - P(B < l) - P(B >= u), the level attained.
//
// An end that no rank reaches is open: Lower 0, Upper +Inf, and only the other tail counts in Level. Where no rank reaches
// either end (a median at 95 % with n <= 5) the extremes are kept: the smallest L and the largest R, with Reached false and
// Level = 1 - (1-p)^n - p^n: for a median 0.9375 at n = 5, 0.5 at n = 2, and 0 at n = 1, where the limits are that one
// row and say nothing about a population.
//
// Errors are joined *dataerr.Cell: faulty rows, p or level (fractions strictly between 0 and 1).
func ExactQuantile(obs []Interval, p, level float64) (Limits, error) {
	bad := append(checkFraction("p", p, "give a fraction such as 0.5"), checkFraction("level", level, "give a fraction such as 0.95")...)
	if err := join(bad, []error{checkIntervals(obs, nil)}); err != nil {
		return Limits{}, err
	}
	n := len(obs)
	l, u := binomial.Ranks(n, p, (1-level)/2)
	if l == 0 && u == n+1 {
		l, u = 1, n
	}
	lim := Limits{Lower: 0, Upper: math.Inf(1)}
	miss := 0.0
	ends := make([]float64, n)
	if l >= 1 {
		for i, o := range obs {
			ends[i] = math.Abs(o.L) // 0 for -0
		}
		slices.Sort(ends)
		lim.Lower = ends[l-1]
		miss += binomial.CDF(l-1, n, p)
	}
	if u <= n {
		for i, o := range obs {
			ends[i] = o.R
		}
		slices.Sort(ends)
		lim.Upper = ends[u-1]
		miss += binomial.Survival(u, n, p)
	}
	lim.Level = max(0, 1-miss)
	lim.Reached = lim.Level >= level-levelSlack
	return lim, nil
}
