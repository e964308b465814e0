package mixed_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// brokenEntry is a broken stick of the reference: least squares over every gap between values of x.
type brokenEntry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             struct {
		N                                     int
		BreakPoint                            number `json:"break_point"`
		Rss, Sigma, Intercept, Slope1, Slope2 number
		SlopeChange                           number   `json:"slope_change"`
		ProfileFCI                            []number `json:"profile_F_ci"`
		OneInterval                           bool     `json:"profile_F_set_is_one_interval"`
		RssStraightLine                       number   `json:"rss_straight_line"`
		FNaive2                               number   `json:"F_naive_2_df"`
	}
	Tolerance struct{ Rel, Abs float64 }
}

func TestBrokenStickReference(t *testing.T) {
	var entries []brokenEntry
	readJSON(t, "broken_stick.json", &entries)
	require.Len(t, entries, 3)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			x, y := "x", "y"
			if e.ID == "brk_cars" {
				x, y = "speed", "dist"
			}
			v, n, source := e.Values, e.Values.N, e.ID+": "+e.Library+" "+e.Version+", "+e.Call+"; "+e.Source
			same := func(what string, got float64, want number) {
				t.Helper()
				mathtest.CloseRel(t, what, got, float64(want), e.Tolerance.Abs, e.Tolerance.Rel, source)
			}
			b, err := mixed.BrokenStick{Spec: mixed.Spec{Response: y}, Name: x, Cut: likelihood.SmallPanelCut(n, n-4, 0.95)}.Fit(readTable(t, e.Data[0]))
			require.NoError(t, err)
			same("break point", b.At, v.BreakPoint)
			require.Equal(t, n, b.Fit().Rows())
			beta := b.Fit().Beta()
			same("intercept", beta[0], v.Intercept)
			same("slope before", b.Before.Estimate, v.Slope1)
			same("slope after", b.After.Estimate, v.Slope2)
			same("change", b.Change.Estimate, v.SlopeChange)
			rss := b.Fit().Sigma() * b.Fit().Sigma() * float64(n-3)
			require.LessOrEqual(t, rss, float64(v.Rss)*(1+1e-12), source)
			same("residual sum of squares", rss, v.Rss)
			same("sigma with the place counted", math.Sqrt(rss/float64(n-4)), v.Sigma)
			straight := b.Line().Sigma() * b.Line().Sigma() * float64(n-2)
			same("of the straight line", straight, v.RssStraightLine)
			same("F on 2", (straight-rss)/2/(rss/float64(n-4)), v.FNaive2)
			mathtest.CloseRel(t, "F", b.F, (straight-rss)/(rss/float64(n-3)), 0, 1e-9, "usual F of one column more, from the sums of squares")
			require.Equal(t, b.At, b.FAt)
			mathtest.CloseRel(t, "likelihood ratio", b.Straight-b.Deviance, float64(n)*math.Log(straight/rss), 0, 1e-9, "least squares: n log of the ratio of sums of squares")
			set := b.Set()
			require.Equal(t, v.OneInterval, len(set) == 1, "%v; %s", set, source)
			same("lower end", set[0].Lower, v.ProfileFCI[0])
			same("upper end", set[len(set)-1].Upper, v.ProfileFCI[1])
			require.False(t, set[0].OpenLower || set[len(set)-1].OpenUpper)
			require.Empty(t, b.Warnings())
		})
	}
}
