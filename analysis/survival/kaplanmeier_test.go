package survival_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// Five rows by hand: 2 event, 3 event, 3 censored, 5 censored, 7 event. S: 4/5, then 4/5 3/4 = 3/5, then 0.
// Greenwood at 3: 1/(5 4) + 1/(4 3) = 2/15. Nelson-Aalen: 1/5, 9/20, 29/20; variance at 3: 1/25 + 1/16.
func TestKaplanMeierByHand(t *testing.T) {
	const source = "worked by hand: five rows"
	rows := []survival.Timed{{Time: 3}, {Time: 7, Event: true}, {Time: 2, Event: true}, {Time: 5}, {Time: 3, Event: true}}
	f, err := survival.KaplanMeier{Scale: survival.PlainLimits, Level: 0.9}.Fit(rows)
	require.NoError(t, err)
	require.Equal(t, 5.0, f.N)
	require.Equal(t, 5, f.Rows)
	require.Equal(t, 3.0, f.Events)
	require.Empty(t, f.Warnings())
	steps := f.Steps()
	require.Len(t, steps, 4)
	for k, want := range []struct{ time, risk, events, censored, s, hazard float64 }{
		{2, 5, 1, 0, 0.8, 0.2}, {3, 4, 1, 1, 0.6, 0.45}, {5, 2, 0, 1, 0.6, 0.45}, {7, 1, 1, 0, 0, 1.45},
	} {
		s := steps[k]
		for what, pair := range map[string][2]float64{"time": {s.Time, want.time}, "at risk": {s.AtRisk, want.risk}, "events": {s.Events, want.events},
			"censored": {s.Censored, want.censored}, "S": {s.Value, want.s}, "hazard": {s.CumHazard, want.hazard}} {
			mathtest.Close(t, what, pair[0], pair[1], 1e-15, source)
		}
	}
	se := 0.6 * math.Sqrt(2.0/15)
	mathtest.Close(t, "Greenwood", steps[1].SE, se, 1e-15, source)
	mathtest.Close(t, "lower", steps[1].Lower, 0.6-1.6448536269514722*se, 1e-12, source)
	mathtest.Close(t, "error of the hazard", steps[1].CumHazardSE, math.Sqrt(1.0/25+1.0/16), 1e-15, source)
	require.True(t, math.IsNaN(steps[3].SE), "no error where S is 0")
	require.False(t, steps[3].Limited)
	for at, risk := range map[float64]float64{0: 5, 2: 5, 2.5: 4, 3: 4, 3.5: 2, 7: 1, 8: 0} {
		require.Equal(t, risk, f.AtRisk(at), "%v", at)
	}
	q, err := f.Quantile(0.4)
	require.NoError(t, err)
	require.Equal(t, 5.0, q.Value, "S is 0.6 from 3 to 7")
}

func TestKaplanMeierAt(t *testing.T) {
	f := kaplanMeier(t, []survival.Timed{{Time: 2, Event: true}, {Time: 4}}, nil)
	for at, want := range map[float64]float64{0: 1, 1.9: 1, 2: 0.5, 3: 0.5, 4: 0.5} {
		s, known := f.At(at)
		require.True(t, known)
		require.Equal(t, want, s.Value, "%v", at)
	}
	for _, at := range []float64{4.1, -1, math.NaN(), inf} {
		s, known := f.At(at)
		require.False(t, known, "%v", at)
		require.True(t, math.IsNaN(s.Value) && math.IsNaN(s.SE) && !s.Limited && s.Lower == 0 && s.Upper == 1)
	}
	gone := kaplanMeier(t, []survival.Timed{{Time: 2, Event: true}}, nil)
	s, known := gone.At(9)
	require.True(t, known, "nobody is left: S stays 0")
	require.Zero(t, s.Value)
	s, known = kaplanMeier(t, []survival.Timed{{Time: 0, Event: true}, {Time: 1}}, nil).At(0)
	require.True(t, known)
	require.Equal(t, 0.5, s.Value, "an event at 0 counts at 0")
}

// On exact and right-censored rows the NPMLE is this curve, weights too.
func TestKaplanMeierIsTheNPMLE(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310306, 1))
	for round := range rounds {
		n := 1 + rng.IntN(60)
		if round%50 < 2 {
			n = 1500 // sorted by digits
		}
		rows, _, _ := inventedTimes(rng, n, 1, round%2 == 0)
		obs, weights := make([]survival.Interval, len(rows)), make([]float64, len(rows))
		for i, r := range rows {
			obs[i], weights[i] = r.Interval(), float64(rng.IntN(4))
		}
		weights[0] = 1
		f, c := kaplanMeier(t, rows, weights), fit(t, obs, weights)
		for _, s := range f.Steps() {
			lo, hi := c.At(s.Time)
			require.InDelta(t, s.Value, lo, 1e-8)
			require.InDelta(t, s.Value, hi, 1e-8)
		}
	}
}

func TestKaplanMeierLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310306, 2))
	for round := range rounds {
		n := 1 + rng.IntN(40)
		if round%20 == 0 {
			n = 2000 // sorted by digits
		}
		rows, _, _ := inventedTimes(rng, n, 1, round%2 == 0)
		weights := make([]float64, n)
		var repeated []survival.Timed
		for i := range weights {
			weights[i] = float64(rng.IntN(4))
			if i == 0 {
				weights[i] = 2
			}
			for range int(weights[i]) {
				repeated = append(repeated, rows[i])
			}
		}
		kept, keptWeights := slices.Clone(rows), slices.Clone(weights)
		f := kaplanMeier(t, rows, weights)
		require.Equal(t, kept, rows, "input untouched")
		require.Equal(t, keptWeights, weights, "input untouched")
		equalSteps(t, f.Steps(), kaplanMeier(t, repeated, nil).Steps(), 1, "a weight repeats its row")
		rng.Shuffle(n, func(i, j int) {
			rows[i], rows[j], weights[i], weights[j] = rows[j], rows[i], weights[j], weights[i]
		})
		equalSteps(t, f.Steps(), kaplanMeier(t, rows, weights).Steps(), 1, "row order")
		for i := range rows {
			rows[i].Time *= 60
		}
		equalSteps(t, f.Steps(), kaplanMeier(t, rows, weights).Steps(), 60, "unit")
		fallsWithin(t, f)
		f.Steps()[0].Time = -1
		require.NotEqual(t, -1.0, f.Steps()[0].Time, "steps are a copy")
	}
}

// equalSteps wants b to be a with times in another unit.
func equalSteps(t *testing.T, a, b []survival.Step, unit float64, why string) {
	t.Helper()
	require.Len(t, b, len(a), why)
	for k := range a {
		x, y := a[k], b[k]
		require.InEpsilon(t, 1+x.Time*unit, 1+y.Time, 1e-12, why)
		x.Time, y.Time = 0, 0
		if math.IsNaN(x.SE) && math.IsNaN(y.SE) {
			x.SE, y.SE = 0, 0
		}
		require.Equal(t, x, y, why)
	}
}

// fallsWithin wants a curve that never rises and lies between its limits, and quantiles between theirs, rising with p.
func fallsWithin(t *testing.T, f *survival.KaplanMeierFit) {
	t.Helper()
	before := 1.0
	for _, s := range f.Steps() {
		require.LessOrEqual(t, s.Value, before)
		require.LessOrEqual(t, s.Lower, s.Value)
		require.LessOrEqual(t, s.Value, s.Upper)
		require.GreaterOrEqual(t, s.Lower, 0.0)
		require.LessOrEqual(t, s.Upper, 1.0)
		before = s.Value
	}
	last := 0.0
	for _, p := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
		q, err := f.Quantile(p)
		require.NoError(t, err)
		require.GreaterOrEqual(t, q.Value, last)
		require.LessOrEqual(t, q.Lower, q.Value)
		require.LessOrEqual(t, q.Value, q.Upper)
		last = q.Value
	}
}

// Coverage of the log-log limits of S at the true median, exponential times with one third censored, 50 rows: 95 % but for
// Monte Carlo error and the little that a large-sample rule misses there.
func TestKaplanMeierCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310306, 3))
	const runs = 2000
	hit := 0
	for range runs {
		rows := make([]survival.Timed, 50)
		for i := range rows {
			x, c := rng.ExpFloat64(), 2*rng.ExpFloat64()
			rows[i] = survival.Timed{Time: min(x, c), Event: x <= c}
		}
		if s, known := kaplanMeier(t, rows, nil).At(math.Ln2); known && s.Lower <= 0.5 && 0.5 <= s.Upper {
			hit++
		}
	}
	require.InDelta(t, 0.95, float64(hit)/runs, 0.01+3*math.Sqrt(0.95*0.05/runs))
}

func TestKaplanMeierFaults(t *testing.T) {
	ok := []survival.Timed{{Time: 1, Event: true}, {Time: 2}}
	for _, tt := range []struct {
		reason  string
		spec    survival.KaplanMeier
		rows    []survival.Timed
		weights []float64
		faults  int
		is      error
	}{
		{"no rows", survival.KaplanMeier{}, nil, nil, 1, dataerr.ErrTooFew},
		{"NaN", survival.KaplanMeier{}, []survival.Timed{{Time: math.NaN()}, {Time: -1}, {Time: inf}}, nil, 3, dataerr.ErrNumber},
		{"weights zero", survival.KaplanMeier{}, ok, []float64{0, 0}, 1, dataerr.ErrTooFew},
		{"one weight", survival.KaplanMeier{}, ok, []float64{1}, 1, dataerr.ErrConflict},
		{"weight NaN", survival.KaplanMeier{}, ok, []float64{1, math.NaN()}, 1, dataerr.ErrNumber},
		{"level", survival.KaplanMeier{Level: 95}, ok, nil, 1, dataerr.ErrRange},
		{"level NaN and scale", survival.KaplanMeier{Level: math.NaN(), Scale: 9}, ok, nil, 2, dataerr.ErrUnknown},
	} {
		f, err := tt.spec.FitWeighted(tt.rows, tt.weights)
		require.Nil(t, f, tt.reason)
		require.Len(t, dataerr.All(err), tt.faults, tt.reason)
		require.ErrorIs(t, err, tt.is, tt.reason)
	}
	_, err := survival.KaplanMeier{}.Fit([]survival.Timed{{Time: 1}, {Time: -4, Event: true}})
	var cell *dataerr.Cell
	require.True(t, errors.As(err, &cell))
	require.Equal(t, [3]any{2, "Time", "-4"}, [3]any{cell.Row, cell.Column, cell.Value})
	f := kaplanMeier(t, []survival.Timed{{Time: 1}, {Time: 2}}, nil)
	require.Len(t, f.Warnings(), 1, "no event")
	require.ErrorIs(t, f.Warnings()[0], dataerr.ErrTooFew)
	q, err := f.Quantile(0.5)
	require.NoError(t, err)
	require.Equal(t, survival.StepQuantile{Value: inf, Lower: 0, Upper: inf}, q, "nothing is known of the median")
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		_, err := f.Quantile(p)
		require.Error(t, err, "%v", p)
	}
	require.Equal(t, "log-log", survival.LogLogLimits.String())
	require.Equal(t, "LimitScale(-1)", survival.LimitScale(-1).String())
}

// Times at both ends of what can be held, and the two zeros.
func TestKaplanMeierFarTimes(t *testing.T) {
	rows := []survival.Timed{{Time: math.MaxFloat64, Event: true}, {Time: math.Copysign(0, -1)}, {Time: 0, Event: true}, {Time: 5e-324, Event: true}}
	f := kaplanMeier(t, rows, nil)
	require.Len(t, f.Steps(), 3)
	require.Equal(t, 1.0, f.Steps()[0].Events)
	require.Equal(t, 1.0, f.Steps()[0].Censored)
	q, err := f.Quantile(0.5)
	require.NoError(t, err)
	require.Equal(t, 5e-324, q.Value)
	q, err = f.Quantile(0.9)
	require.NoError(t, err)
	require.Equal(t, math.MaxFloat64, q.Value)
	heavy, err := survival.KaplanMeier{}.FitWeighted(rows, []float64{1e299, 1e299, 1e299, 1e299})
	require.NoError(t, err)
	require.InDelta(t, 0.75, heavy.Steps()[0].Value, 1e-15)
	require.False(t, math.IsNaN(heavy.Steps()[0].SE))
}
