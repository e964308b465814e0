package survival_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

// worded makes one unit from replies every two minutes, such as "yynn".
func worded(subject int, x float64, words string) survival.ReplyUnit {
	u := survival.ReplyUnit{Subject: subject, X: []float64{x}}
	for k, w := range strings.Split(words, "") {
		u.Replies = append(u.Replies, survival.Reply{Age: 2 * float64(k+1), Reject: w == "n"})
	}
	return u
}

// The likelihood ratio of a time ratio is that of two fits, one of them without the covariate: with clean replies of the same
// tasters the likeliest spreads at ratio 1 are far from those at the estimate.
func TestRatioIsThatOfNestedFits(t *testing.T) {
	repeat := func(word string, n int) []string {
		return strings.Split(strings.TrimSuffix(strings.Repeat(word+" ", n), " "), " ")
	}
	for _, tt := range [][2][]string{
		{repeat("yynn", 6), repeat("yyyynn", 6)},
		{{"yynn", "yyynn", "yynn"}, {"yyyynn", "yyyyynn", "yyyynn"}},
		{{"yynn", "ynynn", "yyynn", "yyyyn"}, {"yyynn", "yynyynn", "yyynn", "yyyyynn"}},
		{{"yynn", "yyynn", "yyyynn", "yynn", "yyynn"}, {"yynn", "yyynn", "yyyynn", "yyynn", "yynn"}},
	} {
		var both, alike []survival.ReplyUnit
		for x, words := range tt {
			for i, w := range words {
				u := worded(i, float64(x), w)
				both = append(both, u)
				u.X = nil
				alike = append(alike, u)
			}
		}
		fit, err := survival.ReplyModel{Slips: 0.02}.Fit(both)
		require.NoError(t, err)
		none, err := survival.ReplyModel{Slips: 0.02}.Fit(alike)
		require.NoError(t, err)
		r, err := fit.Ratio(1)
		require.NoError(t, err)
		require.InDelta(t, 2*math.Max(0, fit.LogLik-none.LogLik), r.LR, 1e-5, "%v", tt)
		inside := r.Lower <= 1 && 1 <= r.Upper
		require.Equal(t, inside, r.P >= 0.05, "limits %g to %g and p %g say the same: %v", r.Lower, r.Upper, r.P, tt)
	}
}
