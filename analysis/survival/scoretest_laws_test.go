package survival_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/survival"
)

// eachCompared calls law with invented rows of two to four groups and of subjects with rows in several.
func eachCompared(t *testing.T, law func(rng *rand.Rand, spec survival.ScoreTest, rows []survival.Interval, label, subject []int)) {
	rng := rand.New(rand.NewPCG(20310304, 24))
	for round := range 150 {
		k := 2 + round%3
		rows, label, subject := pairs(rng, 2+rng.IntN(8), k, round%2 == 0)
		law(rng, survival.ScoreTest{Scores: survival.ScoreKind(round % 3), MaxExact: 300, Draws: 200}, rows, label, subject)
		if t.Failed() {
			t.Fatalf("round %d, rows %v", round, rows)
		}
	}
}

// alike fails unless two results say the same.
func alike(t *testing.T, a, b *survival.ScoreResult, why string) {
	t.Helper()
	require.Equal(t, a.DF, b.DF, why)
	require.Equal(t, a.Method, b.Method, why)
	require.InDelta(t, a.ChiSquare, b.ChiSquare, 1e-6*(1+a.ChiSquare), why)
	require.InDelta(t, a.PAsymptotic, b.PAsymptotic, 1e-6, why)
	if a.Method == survival.Exact {
		require.Equal(t, a.P, b.P, why)
		require.Equal(t, a.SmallestP, b.SmallestP, why)
	}
}

func TestScoreTestLaws(t *testing.T) {
	eachCompared(t, func(rng *rand.Rand, spec survival.ScoreTest, rows []survival.Interval, label, subject []int) {
		keptRows, keptLabel, keptSubject := slices.Clone(rows), slices.Clone(label), slices.Clone(subject)
		run := func(rows []survival.Interval, label, subject []int) (out []*survival.ScoreResult) {
			for _, f := range []func([]survival.Interval, []int, []int) (*survival.ScoreResult, error){
				spec.Within, spec.Clustered,
				func(r []survival.Interval, g, _ []int) (*survival.ScoreResult, error) { return spec.Test(r, g) },
			} {
				r, err := f(rows, label, subject)
				require.NoError(t, err)
				out = append(out, r)
			}
			return out
		}
		before := run(rows, label, subject)
		require.Equal(t, keptRows, rows, "input untouched")
		require.Equal(t, keptLabel, label, "input untouched")
		require.Equal(t, keptSubject, subject, "input untouched")
		for _, r := range before {
			sum := 0.0
			for g, v := range r.Score() {
				sum += v
				total := 0.0
				for _, c := range r.Variance()[g] {
					total += c
				}
				require.InDelta(t, 0, total, 1e-9, "rows of the variance sum to 0")
			}
			require.InDelta(t, 0, sum, 1e-9, "scores sum to 0")
			require.GreaterOrEqual(t, r.P, r.SmallestP)
			require.True(t, r.P > 0 && r.P <= 1)
			r.Score()[0], r.Groups()[0], r.Rows()[0], r.Variance()[0][0] = 99, 99, 99, 99
			require.NotEqual(t, 99., r.Score()[0], "copies")
			require.NotEqual(t, 99., r.Variance()[0][0], "copies")
			require.NotEqual(t, 99, r.Groups()[0], "copies")
			require.NotEqual(t, 99, r.Rows()[0], "copies")
		}
		turned, names := rng.Perm(len(rows)), []int{-3, 40, 8, 7} // other labels in another order
		shuffled, relabelled, renamed := make([]survival.Interval, len(rows)), make([]int, len(rows)), make([]int, len(rows))
		for i, j := range turned {
			shuffled[i] = survival.Interval{L: 64 * rows[j].L, R: 64 * rows[j].R}
			relabelled[i], renamed[i] = names[label[j]], 100-3*subject[j]
		}
		for k, r := range run(shuffled, relabelled, renamed) {
			alike(t, before[k], r, "order of rows, unit of time, names of groups and subjects")
		}
	})
}

// With two groups and one row a subject, Between is Test, and Clustered is nearly so: its variance is m/(m-1) sum (z - p)^2
// (c - mean)^2 in place of m/(m-1) p (1-p) sum (c - mean)^2.
func TestOneRowASubject(t *testing.T) {
	rows := lookRows(rand.New(rand.NewPCG(6, 6)), "grid", 40)
	label, subject := make([]int, 40), make([]int, 40)
	for i := range rows {
		label[i], subject[i] = i%2, 1000-i
	}
	spec := survival.ScoreTest{Draws: 1000}
	all, err := spec.Test(rows, label)
	require.NoError(t, err)
	whole, err := spec.Between(rows, label, subject)
	require.NoError(t, err)
	require.InDelta(t, all.ChiSquare, whole.ChiSquare, 1e-9)
	require.InDelta(t, all.P, whole.P, 4*math.Sqrt2*all.PError)
	clustered, err := spec.Clustered(rows, label, subject)
	require.NoError(t, err)
	require.InDelta(t, all.ChiSquare, clustered.ChiSquare, 1e-9, "groups of equal size: (z - p)^2 is 1/4 in both")
	require.Equal(t, survival.Asymptotic, clustered.Method)
	require.Equal(t, clustered.PAsymptotic, clustered.P)
	require.Zero(t, clustered.SmallestP)
}

// Nothing to tell groups by: p is 1, and that is said.
func TestTied(t *testing.T) {
	for name, rows := range map[string][]survival.Interval{
		"all alike":       {{L: 2, R: 4}, {L: 2, R: 4}, {L: 2, R: 4}, {L: 2, R: 4}},
		"one set":         {{L: 0, R: 4}, {L: 2, R: 6}, {L: 1, R: inf}, {L: 3, R: 4}},
		"none ended":      {{L: 2, R: inf}, {L: 4, R: inf}, {L: 4, R: inf}, {L: 9, R: inf}},
		"nothing known":   {{L: 0, R: inf}, {L: 0, R: inf}, {L: 0, R: inf}, {L: 0, R: inf}},
		"exact, one time": {{L: 3, R: 3}, {L: 3, R: 3}, {L: 3, R: 3}, {L: 3, R: 3}},
	} {
		for kind := range survival.WilcoxonScores + 1 {
			spec := survival.ScoreTest{Scores: kind}
			a, err := spec.Test(rows, []int{1, 2, 1, 2})
			require.NoError(t, err)
			b, err := spec.Within(rows, []int{1, 2, 1, 2}, []int{1, 1, 2, 2})
			require.NoError(t, err)
			c, err := spec.Between(rows, []int{1, 2, 1, 2}, []int{1, 2, 3, 4})
			require.NoError(t, err)
			d, err := spec.Clustered(rows, []int{1, 2, 1, 2}, []int{1, 1, 2, 2})
			require.NoError(t, err)
			for _, r := range []*survival.ScoreResult{a, b, c, d} {
				require.True(t, r.Tied, name)
				require.Equal(t, []float64{1, 1, 0, 0}, []float64{r.P, r.PAsymptotic, r.ChiSquare, r.Z}, name)
				require.Equal(t, []float64{0, 0}, r.Score(), name)
				var tied *survival.TiedError
				require.ErrorAs(t, r.Warnings()[0], &tied, name)
			}
			require.Equal(t, 2, b.TiedUnits, name)
		}
	}
	// Every taster finds both drinks alike, the tasters differ.
	r, err := survival.ScoreTest{}.Within([]survival.Interval{{L: 1, R: 2}, {L: 1, R: 2}, {L: 5, R: 6}, {L: 5, R: 6}}, []int{1, 2, 1, 2}, []int{1, 1, 2, 2})
	require.NoError(t, err)
	require.True(t, r.Tied)
}

// Drinks 1 and 2 were tasted by some, 3 and 4 by others: two comparisons instead of three, and that is said.
func TestUnlinkedGroups(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 25))
	rows, label, subject := pairs(rng, 8, 2, false)
	for i := range rows {
		if subject[i] >= 4 {
			label[i] += 2
		}
	}
	r, err := survival.ScoreTest{}.Within(rows, label, subject)
	require.NoError(t, err)
	require.Equal(t, 2, r.DF)
	var unlinked *survival.UnlinkedError
	require.ErrorAs(t, r.Warnings()[0], &unlinked)
	require.Equal(t, survival.UnlinkedError{DF: 2, Groups: 4}, *unlinked)
}

// One taster in a group may be compared, with a p that says how little that is.
func TestOneTasterInAGroup(t *testing.T) {
	rows := []survival.Interval{{L: 9, R: 10}, {L: 1, R: 2}, {L: 2, R: 3}, {L: 3, R: 4}}
	r, err := survival.ScoreTest{}.Between(rows, []int{1, 2, 2, 2}, []int{1, 2, 3, 4})
	require.NoError(t, err)
	require.Equal(t, 0.25, r.SmallestP)
	require.Equal(t, 0.25, r.P)
	_, err = survival.ScoreTest{}.Clustered(rows, []int{1, 2, 2, 2}, []int{1, 2, 3, 4})
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	require.ErrorContains(t, err, `column group: "1" too few observations`)
}

func TestScoreTestBadInput(t *testing.T) {
	rows := []survival.Interval{{L: 1, R: 2}, {L: 2, R: 3}, {L: 3, R: 4}, {L: 1, R: inf}}
	good, two := []int{1, 2, 1, 2}, []int{1, 1, 2, 2}
	spec := survival.ScoreTest{}
	for name, tt := range map[string]struct {
		run  func() (*survival.ScoreResult, error)
		want error
		text string
	}{
		"no rows":   {func() (*survival.ScoreResult, error) { return spec.Test(nil, nil) }, dataerr.ErrTooFew, "at least one row"},
		"labels":    {func() (*survival.ScoreResult, error) { return spec.Test(rows, good[:3]) }, dataerr.ErrConflict, "each of the 4 rows"},
		"no labels": {func() (*survival.ScoreResult, error) { return spec.Test(rows, nil) }, dataerr.ErrConflict, `"0 labels"`},
		"subjects":  {func() (*survival.ScoreResult, error) { return spec.Within(rows, good, two[:1]) }, dataerr.ErrConflict, "column subject"},
		"one group": {func() (*survival.ScoreResult, error) { return spec.Test(rows, []int{3, 3, 3, 3}) }, dataerr.ErrTooFew, "all rows are of one group"},
		"within":    {func() (*survival.ScoreResult, error) { return spec.Within(rows, good, []int{1, 2, 3, 4}) }, dataerr.ErrTooFew, "no subject has rows in two groups"},
		"between":   {func() (*survival.ScoreResult, error) { return spec.Between(rows, good, two) }, dataerr.ErrConflict, "observation 2, column group"},
		"kind":      {func() (*survival.ScoreResult, error) { return survival.ScoreTest{Scores: 7}.Test(rows, good) }, dataerr.ErrUnknown, "SunScores"},
		"draws":     {func() (*survival.ScoreResult, error) { return survival.ScoreTest{Draws: -1}.Test(rows, good) }, dataerr.ErrRange, "column Draws"},
		"exact":     {func() (*survival.ScoreResult, error) { return survival.ScoreTest{MaxExact: 1e9}.Test(rows, good) }, dataerr.ErrRange, "column MaxExact"},
		"reversed rows": {func() (*survival.ScoreResult, error) {
			return spec.Test([]survival.Interval{{L: 3, R: 2}, {L: 1, R: 2}}, two[1:3])
		}, dataerr.ErrOrder, "observation 1"},
		"NaN": {func() (*survival.ScoreResult, error) {
			return spec.Clustered([]survival.Interval{{L: math.NaN(), R: 2}, {L: 1, R: 2}}, two[1:3], two[1:3])
		}, dataerr.ErrNumber, "observation 1"},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := tt.run()
			require.Nil(t, r)
			require.ErrorIs(t, err, tt.want)
			require.ErrorContains(t, err, tt.text)
		})
	}
	_, err := survival.ScoreTest{Draws: -1}.Within([]survival.Interval{{L: 3, R: 2}, {L: 1, R: 2}}, nil, nil)
	require.Len(t, dataerr.All(err), 4, "all faults at once: %v", err)
}
