package survival_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// Small problems with the answer written out.
func TestNPMLEByHand(t *testing.T) {
	for _, tt := range []struct {
		name    string
		obs     []survival.Interval
		weights []float64
		sets    []survival.Interval
		mass    []float64
		source  string
	}{
		{"one row", []survival.Interval{{L: 2, R: 5}}, nil, []survival.Interval{{L: 2, R: 5}}, []float64{1}, "all mass in the row"},
		{"one exact row", []survival.Interval{{L: 3, R: 3}}, nil, []survival.Interval{{L: 3, R: 3}}, []float64{1}, "all mass on the point"},
		{"one row without an end", []survival.Interval{{L: 3, R: inf}}, nil, []survival.Interval{{L: 3, R: inf}}, []float64{1}, "all mass after 3"},
		{"one row that says nothing", []survival.Interval{{L: 0, R: inf}}, nil, []survival.Interval{{L: 0, R: inf}}, []float64{1}, "anywhere"},
		{"all right-censored", []survival.Interval{{L: 4, R: inf}, {L: 9, R: inf}, {L: 6, R: inf}}, nil, []survival.Interval{{L: 9, R: inf}}, []float64{1}, "(9, Inf) is in every row"},
		{"all left-censored", []survival.Interval{{L: 0, R: 4}, {L: 0, R: 9}, {L: 0, R: 6}}, nil, []survival.Interval{{L: 0, R: 4}}, []float64{1}, "(0, 4] is in every row"},
		{"all in one interval", []survival.Interval{{L: 2, R: 4}, {L: 2, R: 4}, {L: 2, R: 4}}, nil, []survival.Interval{{L: 2, R: 4}}, []float64{1}, "the row itself"},
		{"all exact with ties", []survival.Interval{{L: 5, R: 5}, {L: 2, R: 2}, {L: 5, R: 5}, {L: 7, R: 7}}, nil,
			[]survival.Interval{{L: 2, R: 2}, {L: 5, R: 5}, {L: 7, R: 7}}, []float64{0.25, 0.5, 0.25}, "the shares of the values"},
		{"point at an open left end", []survival.Interval{{L: 4, R: 4}, {L: 4, R: 6}}, nil,
			[]survival.Interval{{L: 4, R: 4}, {L: 4, R: 6}}, []float64{0.5, 0.5}, "(4, 6] leaves 4 out"},
		{"point at a closed right end", []survival.Interval{{L: 4, R: 4}, {L: 2, R: 4}}, nil,
			[]survival.Interval{{L: 4, R: 4}}, []float64{1}, "(2, 4] holds 4"},
		{"point inside", []survival.Interval{{L: 2, R: 6}, {L: 4, R: 4}}, nil, []survival.Interval{{L: 4, R: 4}}, []float64{1}, "the point is in both"},
		{"time 0 seen exactly", []survival.Interval{{L: 0, R: 0}, {L: 0, R: 3}, {L: 0, R: 3}}, nil,
			[]survival.Interval{{L: 0, R: 0}, {L: 0, R: 3}}, []float64{1. / 3, 2. / 3}, "(0, 3] leaves 0 out"},
		// Rows (0,2], (1,3], (2,4]: candidates (1,2], (2,3]; likelihood p (p+q) q with p+q = 1: p = q = 1/2.
		{"chain of three", []survival.Interval{{L: 0, R: 2}, {L: 1, R: 3}, {L: 2, R: 4}}, nil,
			[]survival.Interval{{L: 1, R: 2}, {L: 2, R: 3}}, []float64{0.5, 0.5}, "p(1-p) is largest at 1/2"},
		// Weights a, b on the outer rows: p^a (1-p)^b is largest at a/(a+b).
		{"weights", []survival.Interval{{L: 0, R: 2}, {L: 1, R: 3}, {L: 2, R: 4}}, []float64{3, 7, 1},
			[]survival.Interval{{L: 1, R: 2}, {L: 2, R: 3}}, []float64{0.75, 0.25}, "p^3 (1-p) is largest at 3/4"},
		{"weight 0 is absent", []survival.Interval{{L: 0, R: 2}, {L: 5, R: 5}, {L: 2, R: 4}}, []float64{1, 0, 1},
			[]survival.Interval{{L: 0, R: 2}, {L: 2, R: 4}}, []float64{0.5, 0.5}, "without the point 5"},
		// (0,2] twice, (1,4], (3,4] twice ... : the middle candidate must get exactly nothing.
		{"a candidate without mass", []survival.Interval{{L: 0, R: 2}, {L: 0, R: 2}, {L: 2, R: 4}, {L: 4, R: 6}, {L: 4, R: 6}, {L: 0, R: 4}, {L: 2, R: 6}, {L: 0, R: 6}}, []float64{5, 5, 0, 5, 5, 1, 1, 1},
			[]survival.Interval{{L: 0, R: 2}, {L: 4, R: 6}}, []float64{0.5, 0.5}, "with weights 10, 10, 1, 1: d of (2, 4] is 2/0.5 + 1 = 5 < 23"},
		{"negative zero", []survival.Interval{{L: math.Copysign(0, -1), R: 2}}, nil, []survival.Interval{{L: 0, R: 2}}, []float64{1}, "-0 is 0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := fit(t, tt.obs, tt.weights)
			sound(t, tt.obs, tt.weights, c)
			require.Equal(t, tt.sets, c.Sets(), tt.source)
			require.False(t, math.Signbit(c.Sets()[0].L))
			for k, m := range c.Mass() {
				mathtest.Close(t, "mass", m, tt.mass[k], 1e-12, "worked by hand: "+tt.source)
			}
		})
	}
}

func TestCounts(t *testing.T) {
	c := fit(t, []survival.Interval{{L: 0, R: 2}, {L: 5, R: 5}, {L: 2, R: 4}}, []float64{1.5, 0, 2})
	require.Equal(t, 3.5, c.N)
	require.Equal(t, 2, c.Rows)
	require.Positive(t, c.Iterations)
	c = fit(t, []survival.Interval{{L: 0, R: 2}}, nil)
	require.Equal(t, 1.0, c.N)
	require.Equal(t, 1, c.Rows)
}

// fault is place, value and sentinel of one dataerr.Cell.
type fault struct {
	row    int
	column string
	value  string
	err    error
}

func faults(t *testing.T, err error) (out []fault) {
	t.Helper()
	require.Error(t, err)
	for _, c := range dataerr.All(err) {
		require.NotEmpty(t, c.Want, "advice for %v", c)
		require.ErrorIs(t, err, c.Err)
		out = append(out, fault{c.Row, c.Column, c.Value, c.Err})
	}
	return out
}

func TestIntervalErrors(t *testing.T) {
	nan := math.NaN()
	obs := []survival.Interval{{L: 1, R: 2}, {L: nan, R: 2}, {L: 1, R: nan}, {L: 3, R: 2}, {L: -1, R: 2}, {L: inf, R: inf},
		{L: nan, R: nan}, {L: -2, R: -1}, {L: 1, R: -inf}, {L: 2, R: 2}, {L: inf, R: 3}}
	want := []fault{
		{2, "L", "NaN", dataerr.ErrNumber}, {3, "R", "NaN", dataerr.ErrNumber}, {4, "R", "2", dataerr.ErrOrder},
		{5, "L", "-1", dataerr.ErrRange}, {6, "L", "+Inf", dataerr.ErrRange},
		{7, "L", "NaN", dataerr.ErrNumber}, {7, "R", "NaN", dataerr.ErrNumber},
		{8, "L", "-2", dataerr.ErrRange}, {8, "R", "-1", dataerr.ErrRange}, {9, "R", "-Inf", dataerr.ErrOrder},
		{11, "L", "+Inf", dataerr.ErrRange},
	}
	_, err := survival.NPMLE{}.Fit(obs)
	require.Equal(t, want, faults(t, err))
	_, err = survival.ExactShare(obs, 1, 0.95)
	require.Equal(t, want, faults(t, err))
	_, err = survival.ExactQuantile(obs, 0.5, 0.95)
	require.Equal(t, want, faults(t, err))
	require.Contains(t, err.Error(), `observation 4, column R: "2" is out of order; an upper end is not below its lower end 3`)
}

func TestWeightErrors(t *testing.T) {
	rows := []survival.Interval{{L: 1, R: 2}, {L: 1, R: 3}}
	looks := []survival.Status{{Time: 1}, {Time: 2, Over: true}}
	for _, tt := range []struct {
		reason  string
		weights []float64
		want    []fault
	}{
		{"negative and not a number", []float64{-1, math.NaN()}, []fault{{1, "weight", "-1", dataerr.ErrRange}, {2, "weight", "NaN", dataerr.ErrNumber}}},
		{"infinite", []float64{1, inf}, []fault{{2, "weight", "+Inf", dataerr.ErrRange}}},
		{"all 0", []float64{0, 0}, []fault{{0, "weight", "0", dataerr.ErrTooFew}}},
		{"sum too large", []float64{1e300, 1e300}, []fault{{0, "weight", "2e+300", dataerr.ErrRange}}},
		{"sum overflows", []float64{math.MaxFloat64, math.MaxFloat64}, []fault{{0, "weight", "+Inf", dataerr.ErrRange}}},
		{"too light", []float64{1, 1e-101}, []fault{{2, "weight", "1e-101", dataerr.ErrRange}}},
		{"too few", []float64{1}, []fault{{0, "weight", "1 weights", dataerr.ErrConflict}}},
		{"empty but not nil", []float64{}, []fault{{0, "weight", "0 weights", dataerr.ErrConflict}}},
	} {
		_, err := survival.NPMLE{}.FitWeighted(rows, tt.weights)
		require.Equal(t, tt.want, faults(t, err), tt.reason)
		_, err = survival.Isotonic{}.FitWeighted(looks, tt.weights)
		require.Equal(t, tt.want, faults(t, err), tt.reason)
	}
}

func TestOtherErrors(t *testing.T) {
	rows := []survival.Interval{{L: 1, R: 2}}
	empty := []fault{{0, "", "", dataerr.ErrTooFew}}
	for _, tt := range []struct {
		reason string
		call   func() error
		want   []fault
	}{
		{"no intervals", func() error { _, err := survival.NPMLE{}.Fit(nil); return err }, empty},
		{"no looks", func() error { _, err := survival.Isotonic{}.Fit(nil); return err }, empty},
		{"no rows for a share", func() error { _, err := survival.ExactShare(nil, 1, 0.9); return err }, empty},
		{"no rows for a quantile", func() error { _, err := survival.ExactQuantile(nil, 0.5, 0.9); return err }, empty},
		{"spec", func() error { _, err := survival.NPMLE{Tol: -1, MaxIter: -2}.Fit(rows); return err },
			[]fault{{0, "Tol", "-1", dataerr.ErrRange}, {0, "MaxIter", "-2", dataerr.ErrRange}}},
		{"looks", func() error {
			_, err := survival.Isotonic{}.Fit([]survival.Status{{Time: math.NaN()}, {Time: 1}, {Time: -1}, {Time: inf}})
			return err
		}, []fault{{1, "Time", "NaN", dataerr.ErrNumber}, {3, "Time", "-1", dataerr.ErrRange}, {4, "Time", "+Inf", dataerr.ErrRange}}},
		{"level 1", func() error { _, err := survival.ExactShare(rows, 1, 1); return err }, []fault{{0, "level", "1", dataerr.ErrRange}}},
		{"level 95", func() error { _, err := survival.ExactQuantile(rows, 0.5, 95); return err }, []fault{{0, "level", "95", dataerr.ErrRange}}},
		{"level NaN", func() error { _, err := survival.ExactShare(rows, 1, math.NaN()); return err }, []fault{{0, "level", "NaN", dataerr.ErrNumber}}},
		{"p 0", func() error { _, err := survival.ExactQuantile(rows, 0, 0.9); return err }, []fault{{0, "p", "0", dataerr.ErrRange}}},
		{"p NaN and level 0", func() error { _, err := survival.ExactQuantile(rows, math.NaN(), 0); return err },
			[]fault{{0, "p", "NaN", dataerr.ErrNumber}, {0, "level", "0", dataerr.ErrRange}}},
		{"t NaN", func() error { _, err := survival.ExactShare(rows, math.NaN(), 0.9); return err }, []fault{{0, "t", "NaN", dataerr.ErrNumber}}},
		{"t infinite", func() error { _, err := survival.ExactShare(rows, inf, 0.9); return err }, []fault{{0, "t", "+Inf", dataerr.ErrRange}}},
	} {
		require.Equal(t, tt.want, faults(t, tt.call()), tt.reason)
	}
}

// stopEarly gives a fit that is allowed one step where it needs three.
func stopEarly(t *testing.T) ([]survival.Interval, *survival.Curve) {
	obs := lookRows(rand.New(rand.NewPCG(2, 1000)), "cont", 1000)
	c, err := survival.NPMLE{MaxIter: 1}.Fit(obs)
	require.NoError(t, err)
	return obs, c
}

// A fit that is stopped early says so, and its gap still bounds what is missing.
func TestNotConverged(t *testing.T) {
	obs, c := stopEarly(t)
	best := fit(t, obs, nil)
	require.False(t, c.Converged)
	require.Equal(t, 1, c.Iterations)
	require.Len(t, c.Warnings(), 1)
	var warning *survival.NotConvergedError
	require.True(t, errors.As(c.Warnings()[0], &warning))
	require.Equal(t, c.Gap, warning.Gap)
	require.Contains(t, warning.Error(), "MaxIter")
	require.LessOrEqual(t, best.LogLik-c.LogLik, c.Gap+1e-9)
}

// A looser tolerance is met, and a tiny N is not taken for a tiny gap.
func TestTolerance(t *testing.T) {
	obs := intervals(t, "bcos.csv", "", "")
	c, err := survival.NPMLE{Tol: 0.1}.Fit(obs)
	require.NoError(t, err)
	require.True(t, c.Converged)
	require.Less(t, c.Gap, 0.1)
	weights := make([]float64, len(obs))
	for i := range weights {
		weights[i] = 1e-9
	}
	light, want := fit(t, obs, weights), fit(t, obs, nil)
	require.True(t, light.Converged)
	require.InDeltaSlice(t, want.Mass(), light.Mass(), 1e-9)

	obs, _ = stopEarly(t)
	weights = make([]float64, len(obs))
	for i := range weights {
		weights[i] = 1e-12
	}
	c, err = survival.NPMLE{MaxIter: 1}.FitWeighted(obs, weights)
	require.NoError(t, err)
	require.Less(t, c.Gap, 1e-6)
	require.False(t, c.Converged, "the gap is small only because N is")
}

func TestStatusInterval(t *testing.T) {
	require.Equal(t, survival.Interval{L: 0, R: 4}, survival.Status{Time: 4, Over: true}.Interval())
	require.Equal(t, survival.Interval{L: 4, R: inf}, survival.Status{Time: 4}.Interval())
	require.Equal(t, survival.Interval{L: 0, R: 0}, survival.Status{Time: 0, Over: true}.Interval())
}
