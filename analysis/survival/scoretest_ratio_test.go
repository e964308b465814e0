package survival_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

var families = map[string]survival.Family{
	"weibull": survival.Weibull, "lognormal": survival.LogNormal, "loglogistic": survival.LogLogistic, "exponential": survival.Exponential,
}

func TestRatioReference(t *testing.T) {
	seen := 0
	for _, e := range comparisons(t) {
		family, ok := families[e.ID[strings.LastIndex(e.ID, "_")+1:]]
		if !ok {
			continue
		}
		seen++
		t.Run(e.ID, func(t *testing.T) {
			obs, label := groupedFor(t, e)
			r, err := survival.Parametric{Family: family}.CompareGroups(obs, label, nil)
			require.NoError(t, err)
			require.True(t, r.Converged)
			for _, v := range []struct {
				what      string
				got, want float64
			}{
				{"log-likelihood without groups", r.Without.LogLik, e.Values.LogLik0}, {"log-likelihood with groups", r.With.LogLik, e.Values.LogLik1},
				{"chi-square", r.ChiSquare, e.Values.ChiSq}, {"p", r.P, e.Values.P},
			} {
				mathtest.CloseRel(t, v.what, v.got, v.want, e.Tolerance.Abs, e.Tolerance.Rel, e.source())
			}
			require.Equal(t, e.Values.DF, r.DF)
		})
	}
	require.Equal(t, 4, seen)
}

// Exponential times, worked by hand: n_g events over a total time y_g give 2 sum_g n_g log(rate_g / rate), whatever the
// labels are called.
func TestRatioByHand(t *testing.T) {
	rows := []survival.Interval{{L: 1, R: 1}, {L: 3, R: 3}, {L: 5, R: inf}, {L: 2, R: 2}, {L: 10, R: 10}, {L: 12, R: 12}}
	group, weights := []int{7, 7, 7, -1, -1, -1}, []float64{1, 1, 1, 1, 1, 2}
	r, err := survival.Parametric{}.CompareGroups(rows, group, weights)
	require.NoError(t, err)
	// Group 7: 2 events in 9; group -1: 4 events in 36; together 6 in 45.
	want := 2 * (2*math.Log(2./9*45/6) + 4*math.Log(4./36*45/6))
	mathtest.Close(t, "chi-square", r.ChiSquare, want, 1e-9, "worked by hand: exponential rates")
	require.Equal(t, []int{-1, 7}, r.Groups())
	mathtest.Close(t, "log time ratio", r.With.Coef[1], math.Log(4.5/9), 1e-9, "worked by hand: means 9/2 and 36/4")
	same, err := survival.Parametric{}.CompareGroups(rows[:3], group[:3], nil)
	require.Nil(t, same)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
}

func TestRatioBadInput(t *testing.T) {
	rows := []survival.Interval{{L: 1, R: 2}, {L: 3, R: 4}, {L: 2, R: 6}, {L: 9, R: inf}, {L: 8, R: inf}}
	for name, tt := range map[string]struct {
		group   []int
		weights []float64
		want    error
	}{
		"labels":                 {[]int{1, 2}, nil, dataerr.ErrConflict},
		"one group":              {[]int{1, 1, 1, 1, 1}, nil, dataerr.ErrTooFew},
		"one group with weight":  {[]int{1, 1, 1, 1, 2}, []float64{1, 1, 1, 1, 0}, dataerr.ErrTooFew},
		"nothing ended in group": {[]int{1, 1, 1, 2, 2}, nil, survival.ErrSeparated},
		"faulty weight":          {[]int{1, 1, 2, 2, 2}, []float64{1, 1, 1, 1, -1}, dataerr.ErrRange},
	} {
		r, err := survival.Parametric{Family: survival.LogNormal}.CompareGroups(rows, tt.group, tt.weights)
		require.Nil(t, r, name)
		require.ErrorIs(t, err, tt.want, name)
	}
	r, err := survival.Parametric{Family: survival.LogNormal}.CompareGroups(rows, []int{1, 2, 1, 2, 1}, nil)
	require.NoError(t, err)
	require.True(t, r.P > 0 && r.P < 1)
}
