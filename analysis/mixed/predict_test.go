package mixed_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// hendersonInverse builds Henderson's equations of the panel model densely and inverts them: rows and columns are the
// coefficients, then intercept and slope of each taster, then the evenings. False when a variance is 0.
func hendersonInverse(t *testing.T, f *mixed.Fit, p *panel, data *mixed.Table) (*mat.Dense, func(x []float64, taster, evening string, age float64) []float64, bool) {
	t.Helper()
	tasters, evenings := f.Levels("taster"), f.Levels("evening")
	k := len(f.Beta())
	size := k + 2*len(tasters) + len(evenings)
	row := func(x []float64, taster, evening string, age float64) []float64 {
		out := make([]float64, size)
		copy(out, x)
		if i := slices.Index(tasters, taster); i >= 0 {
			out[k+2*i], out[k+2*i+1] = 1, age
		}
		if i := slices.Index(evenings, evening); i >= 0 {
			out[k+2*len(tasters)+i] = 1
		}
		return out
	}
	x, err := f.DesignRow(data)
	require.NoError(t, err)
	left := mat.NewDense(size, size, nil)
	for i := range p.score {
		w := row(mat.Row(nil, i, x), p.taster[i], p.evening[i], p.age[i])
		left.RankOne(left, 1, mat.NewVecDense(size, w), mat.NewVecDense(size, w))
	}
	c := map[[2]string]float64{}
	for _, v := range f.Components() {
		c[[2]string{v.Group + v.Column, v.Column2}] = v.Covariance / f.Sigma() / f.Sigma()
	}
	a, b, d, e := c[[2]string{"tasterintercept", ""}], c[[2]string{"tasterintercept", "age"}], c[[2]string{"tasterage", ""}], c[[2]string{"eveningintercept", ""}]
	det := a*d - b*b
	if det < 1e-6 || e < 1e-6 {
		return nil, nil, false
	}
	for i := range tasters {
		j := k + 2*i
		left.Set(j, j, left.At(j, j)+d/det)
		left.Set(j+1, j+1, left.At(j+1, j+1)+a/det)
		left.Set(j, j+1, left.At(j, j+1)-b/det)
		left.Set(j+1, j, left.At(j+1, j)-b/det)
	}
	for i := range evenings {
		j := k + 2*len(tasters) + i
		left.Set(j, j, left.At(j, j)+1/e)
	}
	inverse := mat.NewDense(size, size, nil)
	require.NoError(t, inverse.Inverse(left))
	return inverse, row, true
}

// Predictions for named levels and for some of them, and conditional standard deviations, against the dense equations.
func TestNamedPredictionByHenderson(t *testing.T) {
	const source = "Henderson's equations, written out and inverted densely"
	rng, seen := rand.New(rand.NewPCG(20320102, 1)), 0
	for range 30 {
		p := invented(rng)
		data := p.table(t)
		f := fit(t, panelSpec(rng.IntN(2) == 0), data)
		inverse, row, ok := hendersonInverse(t, f, p, data)
		if !ok {
			continue
		}
		seen++
		at := table(t, mixed.Labels("taster", []string{"t1", "t3", "t0"}), mixed.Labels("evening", []string{"e0", "e1", "e1"}),
			mixed.Labels("style", []string{"sour", "stirred", "highball"}), mixed.Numbers("age", []float64{3, 0, 17}))
		x, err := f.DesignRow(at)
		require.NoError(t, err)
		taster, evening, age := []string{"t1", "t3", "t0"}, []string{"e0", "e1", "e1"}, []float64{3, 0, 17}
		check := func(got []mixed.Prediction, err error, useTaster, useEvening bool) {
			require.NoError(t, err)
			for i := range got {
				ta, ev := "", ""
				if useTaster {
					ta = taster[i]
				}
				if useEvening {
					ev = evening[i]
				}
				w := mat.NewVecDense(inverse.RawMatrix().Rows, row(mat.Row(nil, i, x), ta, ev, age[i]))
				mathtest.CloseRel(t, "SE", got[i].SE, f.Sigma()*math.Sqrt(mat.Inner(w, inverse, w)), 0, 1e-6, source)
			}
		}
		named, err := f.Predict(at, mixed.Named)
		check(named, err, true, true)
		one, err := f.PredictNamed(at, "taster")
		check(one, err, true, false)
		average, err := f.Predict(at, mixed.Average)
		check(average, err, false, false)
		// Given the coefficients, the inverse of the lower right block.
		k := len(f.Beta())
		size := inverse.RawMatrix().Rows
		var left, given mat.Dense
		require.NoError(t, left.Inverse(inverse))
		require.NoError(t, given.Inverse(left.Slice(k, size, k, size)))
		i := 0
		for _, group := range []string{"taster", "evening"} {
			effects, err := f.Effects(group)
			require.NoError(t, err)
			for _, b := range effects {
				mathtest.CloseRel(t, "conditional SD of "+b.Level, b.SE, f.Sigma()*math.Sqrt(given.At(i, i)), 1e-9, 1e-5, source)
				i++
			}
		}
		require.Equal(t, size-k, i)
	}
	require.Greater(t, seen, 8)
}

// A prediction at the rows of the fit is the fitted value.
func TestPredictionsAtTheRowsOfTheFit(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		data := p.table(t)
		f := fit(t, panelSpec(ml), data)
		named, err := f.Predict(data, mixed.Named)
		require.NoError(t, err)
		average, err := f.Predict(data, mixed.Average)
		require.NoError(t, err)
		fitted, marginal := f.Fitted(), f.FittedMarginal()
		residuals, marginals := f.Residuals(), f.ResidualsMarginal()
		for i := range p.score {
			require.InDelta(t, fitted[i], named[i].Value, 1e-9)
			require.InDelta(t, marginal[i], average[i].Value, 1e-9)
			require.InDelta(t, p.score[i]-fitted[i], residuals[i], 1e-12)
			require.InDelta(t, p.score[i]-marginal[i], marginals[i], 1e-12)
			require.Greater(t, named[i].SE, 0.0)
		}
	})
}

func TestPredictionRefuses(t *testing.T) {
	p := invented(rand.New(rand.NewPCG(20320103, 1)))
	f := fit(t, panelSpec(false), p.table(t))
	rows := func(taster, evening, style string, age float64) *mixed.Table {
		return table(t, mixed.Labels("taster", []string{"t0", taster}), mixed.Labels("evening", []string{"e0", evening}), mixed.Labels("style", []string{"sour", style}), mixed.Numbers("age", []float64{1, age}))
	}
	for _, tt := range []struct {
		data        *mixed.Table
		row         int
		column, val string
	}{
		{rows("t99", "e0", "sour", 1), 2, "taster", "t99"},
		{rows("t0", "e99", "sour", 1), 2, "evening", "e99"},
		{rows("t0", "e0", "punch", 1), 2, "style", "punch"},
	} {
		_, err := f.Predict(tt.data, mixed.Named)
		var cell *dataerr.Cell
		require.ErrorAs(t, err, &cell)
		require.Equal(t, []any{tt.row, tt.column, tt.val, dataerr.ErrUnknown}, []any{cell.Row, cell.Column, cell.Value, cell.Err})
	}
	_, err := f.Predict(rows("t99", "e99", "sour", 1), mixed.Average)
	require.NoError(t, err, "an average taster has no name")
	_, err = f.PredictNamed(rows("t0", "e99", "sour", 1), "taster")
	require.NoError(t, err, "evenings are averaged over")
	_, err = f.PredictNamed(rows("t0", "e0", "sour", 1), "bar")
	require.ErrorContains(t, err, "the groupings of the fit are taster, evening")
	_, err = f.Predict(table(t, mixed.Labels("style", []string{"sour"})), mixed.Average)
	require.ErrorIs(t, err, dataerr.ErrNoColumn)
	_, err = f.Predict(rows("t0", "e0", "sour", 1), mixed.Who(7))
	require.ErrorIs(t, err, dataerr.ErrUnknown)
	_, err = f.Predict(nil, mixed.Average)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	_, err = f.Effects("bar")
	require.ErrorIs(t, err, dataerr.ErrUnknown)
}

// Two known levels whose combination was never seen are an unseen level of the combination.
func TestUnseenCombination(t *testing.T) {
	data := readRows(t, "machines", func(row map[string]string) bool { return row["Worker"] != "3" || row["Machine"] != "B" }, "Worker", "Machine")
	f := fit(t, models["lmm_machines"].spec, data)
	require.Len(t, f.Levels("Worker:Machine"), 17)
	_, err := f.Predict(table(t, mixed.Labels("Worker", []string{"3", "3"}), mixed.Labels("Machine", []string{"A", "B"})), mixed.Named)
	var cell *dataerr.Cell
	require.ErrorAs(t, err, &cell)
	require.Equal(t, []any{2, "Worker:Machine", "3:B"}, []any{cell.Row, cell.Column, cell.Value})
	got, err := f.PredictNamed(table(t, mixed.Labels("Worker", []string{"3"}), mixed.Labels("Machine", []string{"B"})), "Worker")
	require.NoError(t, err)
	require.False(t, math.IsNaN(got[0].SE))
}

// A Fit is read by several goroutines at once; run with -race.
func TestPredictionsInParallel(t *testing.T) {
	p := invented(rand.New(rand.NewPCG(20320106, 1)))
	data := p.table(t)
	f := fit(t, panelSpec(false), data)
	want, err := f.Predict(data, mixed.Named)
	require.NoError(t, err)
	var group sync.WaitGroup
	got := make([][]mixed.Prediction, 8)
	for i := range got {
		group.Add(1)
		go func() {
			defer group.Done()
			got[i], _ = f.Predict(data, mixed.Named)
		}()
	}
	group.Wait()
	for _, g := range got {
		require.Equal(t, want, g)
	}
}
