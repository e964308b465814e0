package survival_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/survival"
)

var allFamilies = []survival.Family{survival.Exponential, survival.Weibull, survival.LogNormal, survival.LogLogistic, survival.Gamma, survival.GeneralizedGamma}

func column(values ...float64) (x [][]float64) {
	for _, v := range values {
		x = append(x, []float64{v})
	}
	return x
}

// Rows without a finite maximum give the cause, never a number.
func TestNoMaximum(t *testing.T) {
	spread := []survival.Interval{{L: 2, R: 3}, {L: 4, R: 6}, {L: 5, R: 7}, {L: 8, R: inf}}
	both := func(more ...survival.Interval) []survival.Interval { return append(more, spread...) }
	for _, tt := range []struct {
		name    string
		rows    []survival.Interval
		x       [][]float64
		strata  []int
		want    error
		scaled  bool // exponential has a maximum
		plain   bool // not for the gamma families
		column  int
		stratum int
	}{
		{name: "no event", rows: []survival.Interval{{L: 4, R: inf}, {L: 6, R: inf}, {L: 9, R: inf}}, want: survival.ErrNoEvent},
		{name: "nothing seen", rows: []survival.Interval{{L: 0, R: inf}}, want: survival.ErrNoEvent},
		{name: "no event with a covariate", rows: []survival.Interval{{L: 4, R: inf}, {L: 6, R: inf}, {L: 9, R: inf}}, x: column(1, 2, 5), want: survival.ErrNoEvent},
		{name: "all over", rows: []survival.Interval{{L: 0, R: 4}, {L: 0, R: 6}}, want: survival.ErrAllOver},
		{name: "one interval", rows: []survival.Interval{{L: 2, R: 4}, {L: 2, R: 4}, {L: 2, R: 4}}, want: survival.ErrNoSpread, scaled: true},
		{name: "one point in common", rows: []survival.Interval{{L: 2, R: 4}, {L: 4, R: 6}, {L: 0, R: 5}, {L: 1, R: inf}}, want: survival.ErrNoSpread, scaled: true},
		{name: "one exact time", rows: []survival.Interval{{L: 3, R: 3}}, want: survival.ErrNoSpread, scaled: true},
		{name: "one time again and again", rows: []survival.Interval{{L: 3, R: 3}, {L: 3, R: 3}, {L: 2, R: inf}}, want: survival.ErrNoSpread, scaled: true},
		{name: "separated upward", rows: both(survival.Interval{L: 3, R: inf}, survival.Interval{L: 6, R: inf}), x: column(1, 1, 0, 0, 0, 0), want: survival.ErrSeparated},
		{name: "the others separated", rows: both(survival.Interval{L: 3, R: inf}, survival.Interval{L: 6, R: inf}), x: column(0, 0, 1, 1, 1, 1), want: survival.ErrSeparated},
		{name: "separated downward", rows: both(survival.Interval{L: 0, R: 3}, survival.Interval{L: 0, R: 6}), x: column(2, 2, 1, 1, 1, 1), want: survival.ErrSeparated},
		{name: "second of two separated", rows: both(survival.Interval{L: 3, R: inf}, survival.Interval{L: 6, R: inf}),
			x: [][]float64{{1, 1}, {0, 1}, {0, 0}, {1, 0}, {0, 0}, {1, 0}}, want: survival.ErrSeparated, column: 1},
		{name: "every group in its own interval", rows: []survival.Interval{{L: 2, R: 4}, {L: 2, R: 4}, {L: 6, R: 8}, {L: 7, R: 9}}, x: column(0, 0, 1, 1), want: survival.ErrNoSpread, scaled: true},
		{name: "a line through all exact times", rows: []survival.Interval{{L: 2, R: 2}, {L: 4, R: 4}, {L: 8, R: 8}}, x: column(1, 2, 3), want: survival.ErrNoSpread, scaled: true, plain: true},
		{name: "rejected early, accepted late", rows: []survival.Interval{{L: 0, R: 3}, {L: 0, R: 4}, {L: 6, R: inf}, {L: 8, R: inf}}, want: survival.ErrNoOrder, scaled: true},
		{name: "a stratum in one interval", rows: both(survival.Interval{L: 3, R: 9}, survival.Interval{L: 4, R: 8}), strata: []int{7, 7, 2, 2, 2, 2}, want: survival.ErrNoSpread, scaled: true, stratum: 7},
	} {
		for _, f := range allFamilies {
			if f == survival.Exponential && tt.scaled || f >= survival.Gamma && tt.plain {
				continue
			}
			t.Run(tt.name+"/"+f.String(), func(t *testing.T) {
				fit, err := survival.Parametric{Family: f, Strata: tt.strata}.Fit(tt.rows, tt.x, nil)
				require.Nil(t, fit)
				var no *survival.NoMaximumError
				require.ErrorAs(t, err, &no)
				if f == survival.GeneralizedGamma && errors.Is(err, survival.ErrShape) {
					return // a third parameter may run away first
				}
				require.ErrorIs(t, err, tt.want)
				if tt.want == survival.ErrSeparated {
					require.Equal(t, tt.column, no.Column)
					require.Contains(t, err.Error(), "x[")
				} else {
					require.Equal(t, -1, no.Column)
				}
				if tt.stratum != 0 {
					require.Equal(t, tt.stratum, *no.Stratum)
				}
				require.Contains(t, err.Error(), f.String())
			})
		}
	}
}

func TestLifetimeBadInput(t *testing.T) {
	rows := []survival.Interval{{L: 2, R: 3}, {L: 4, R: 6}, {L: 5, R: 7}, {L: 8, R: inf}}
	for _, tt := range []struct {
		name    string
		spec    survival.Parametric
		rows    []survival.Interval
		x       [][]float64
		weights []float64
		row     int
		column  string
		want    error
	}{
		{name: "no rows", want: dataerr.ErrTooFew},
		{name: "NaN", rows: []survival.Interval{{L: math.NaN(), R: 3}, {L: 1, R: 2}}, row: 1, column: "L", want: dataerr.ErrNumber},
		{name: "reversed", rows: []survival.Interval{{L: 1, R: 2}, {L: 3, R: 2}}, row: 2, column: "R", want: dataerr.ErrOrder},
		{name: "time 0", rows: []survival.Interval{{L: 1, R: 2}, {L: 0, R: 0}}, row: 2, column: "R", want: dataerr.ErrRange},
		{name: "level", spec: survival.Parametric{Level: 95}, rows: rows, column: "Level", want: dataerr.ErrRange},
		{name: "family", spec: survival.Parametric{Family: 17}, rows: rows, column: "Family", want: dataerr.ErrUnknown},
		{name: "steps", spec: survival.Parametric{MaxIter: -1}, rows: rows, column: "MaxIter", want: dataerr.ErrRange},
		{name: "tolerance", spec: survival.Parametric{Tol: math.NaN()}, rows: rows, column: "Tol", want: dataerr.ErrNumber},
		{name: "strata", spec: survival.Parametric{Strata: []int{1}}, rows: rows, column: "Strata", want: dataerr.ErrConflict},
		{name: "cluster", spec: survival.Parametric{Cluster: []int{1}}, rows: rows, column: "Cluster", want: dataerr.ErrConflict},
		{name: "x too short", rows: rows, x: column(1, 2), column: "x", want: dataerr.ErrConflict},
		{name: "x ragged", rows: rows, x: [][]float64{{1}, {2}, {3, 4}, {5}}, row: 3, column: "x", want: dataerr.ErrConflict},
		{name: "x infinite", rows: rows, x: column(1, 2, 3, inf), row: 4, column: "x[0]", want: dataerr.ErrNumber},
		{name: "constant column", rows: rows, x: column(5, 5, 5, 5), column: "x[0]", want: survival.ErrAliased},
		{name: "repeated column", rows: rows, x: [][]float64{{1, 1}, {2, 2}, {3, 3}, {5, 5}}, column: "x[1]", want: survival.ErrAliased},
		{name: "dummies that sum to 1", rows: rows, x: [][]float64{{1, 0}, {0, 1}, {0, 1}, {1, 0}}, column: "x[1]", want: survival.ErrAliased},
		{name: "column without weight", rows: rows, x: column(1, 0, 0, 0), weights: []float64{0, 1, 1, 1}, column: "x[0]", want: survival.ErrAliased},
		{name: "stratum without weight", spec: survival.Parametric{Family: survival.Weibull, Strata: []int{4, 1, 1, 1}}, rows: rows, weights: []float64{0, 1, 1, 1}, column: "Strata", want: dataerr.ErrTooFew},
		{name: "weights all 0", rows: rows, weights: make([]float64, 4), column: "weight", want: dataerr.ErrTooFew},
		{name: "weight negative", rows: rows, weights: []float64{1, -1, 1, 1}, row: 2, column: "weight", want: dataerr.ErrRange},
		{name: "weights too large", rows: rows, weights: []float64{1e200, 1, 1, 1}, column: "weight", want: dataerr.ErrRange},
	} {
		t.Run(tt.name, func(t *testing.T) {
			fit, err := tt.spec.Fit(tt.rows, tt.x, tt.weights)
			require.Nil(t, fit)
			require.ErrorIs(t, err, tt.want)
			if tt.column != "" {
				var cell *dataerr.Cell
				require.ErrorAs(t, err, &cell)
				require.Equal(t, tt.row, cell.Row)
				require.Equal(t, tt.column, cell.Column)
				require.NotEmpty(t, cell.Want)
			}
		})
	}
	f, err := survival.Parametric{Family: survival.Weibull}.Fit(rows, column(1, 2, 3, 3), nil)
	require.NoError(t, err)
	for _, err := range []error{
		second(f.Quantile(nil, 0, 0.5, survival.DeltaLog)), second(f.Quantile([]float64{math.NaN()}, 0, 0.5, survival.DeltaLog)),
		second(f.Quantile([]float64{1}, 3, 0.5, survival.DeltaLog)), second(f.Quantile([]float64{1}, 0, 1, survival.DeltaLog)),
		second(f.Quantile([]float64{1}, 0, math.NaN(), survival.DeltaLog)), second(f.Quantile([]float64{1}, 0, 0.5, 99)),
		second(f.ProfileQuantile([]float64{1}, 0, 0.5, math.NaN())), second(f.ProfileQuantile([]float64{1}, 0, 0.5, -1)),
		second(f.At(math.NaN(), []float64{1}, 0)), second(f.At(1, nil, 0)), second(f.MeanTo(inf, []float64{1}, 0)), second(f.MeanTo(0, []float64{1}, 0)),
		second(f.Bootstrap(1, 0)), second(f.Distance(nil, -1, 1)), second(f.Distance([][]float64{{2}}, 10, 1)),
		second(f.Distance([][]float64{{2}, {2, 1}, {3}, {math.NaN()}}, 10, 1)),
	} {
		var cell *dataerr.Cell
		require.ErrorAs(t, err, &cell)
	}
}

func second[T any](_ T, err error) error { return err }

// On small random rows of every kind a fit is either good (a maximum that no random start beats) or says that it is not.
func TestLifetimeSmallRandomRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 1))
	good := map[survival.Family]int{}
	for trial := range 150 {
		rows := invented(rng, 2+rng.IntN(9), trial%2 == 0)
		for i, o := range rows {
			if o.L == 0 && o.R == 0 {
				rows[i].R = 1
			}
		}
		var x [][]float64
		if trial%3 == 0 {
			for range rows {
				x = append(x, []float64{float64(rng.IntN(2))})
			}
		}
		for _, f := range allFamilies {
			fit, err := survival.Parametric{Family: f}.Fit(rows, x, nil)
			if err != nil {
				var no *survival.NoMaximumError
				require.True(t, errors.As(err, &no) || errors.Is(err, survival.ErrAliased), "%v", err)
				continue
			}
			require.Equal(t, fit.Converged, fit.Warnings() == nil)
			if !fit.Converged {
				continue
			}
			good[f]++
			for _, v := range append(fit.Theta(), fit.SE()...) {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%v %+v", f, fit)
			}
			at := make([]float64, len(fit.Coef)-1)
			q, err := fit.Quantile(at, 0, 0.5, survival.DeltaLog)
			require.NoError(t, err)
			p, err := fit.Quantile(at, 0, 0.5, survival.ProfileLimits)
			if f != survival.GeneralizedGamma {
				require.NoError(t, err, "%v on %v", f, rows)
			}
			if err == nil {
				require.Less(t, p.Lower, q.Value)
				require.Greater(t, p.Upper, q.Value)
			}
		}
	}
	for _, f := range allFamilies[:5] {
		require.Greater(t, good[f], 60, f)
	}
	require.Greater(t, good[survival.GeneralizedGamma], 10)
}
