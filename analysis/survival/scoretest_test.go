package survival_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// comparison is an entry of interval_compare.json.
type comparison struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             struct {
		Groups   []string
		N        []int
		Score    []float64
		ScoreVar struct{ X [][]float64 } `json:"score_var"`
		Z        *float64
		ChiSq, P float64
		DF       int
		LogLik0  float64
		LogLik1  float64
	}
	Published []struct {
		What, Where string
		Printed     []string
	}
	Tolerance struct{ Rel, Abs float64 }
}

func (e comparison) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

func comparisons(t *testing.T) (out []comparison) {
	readJSON(t, "interval_compare.json", &out)
	require.Len(t, out, 10)
	return out
}

// grouped reads the rows of a file with their labels: the position of the cell of a column among its sorted values.
func grouped(t *testing.T, name, column string) (obs []survival.Interval, label []int, names []string) {
	t.Helper()
	rows := readCSV(t, name)
	for _, row := range rows {
		names = append(names, row[column])
	}
	slices.Sort(names)
	names = slices.Compact(names)
	for _, row := range rows {
		obs = append(obs, survival.Interval{L: parse(t, row["left"]), R: parse(t, row["right"])})
		label = append(label, slices.Index(names, row[column]))
	}
	return obs, label, names
}

func groupedFor(t *testing.T, e comparison) ([]survival.Interval, []int) {
	t.Helper()
	column := map[string]string{"bcos": "treatment", "sim_panel_ic": "style"}[e.Data[0]]
	obs, label, names := grouped(t, e.Data[0]+".csv", column)
	if e.Values.Groups != nil {
		require.Equal(t, e.Values.Groups, names)
	}
	return obs, label
}

var kinds = map[string]survival.ScoreKind{
	"sun": survival.SunScores, "finkelstein": survival.FinkelsteinScores, "wmw": survival.WilcoxonScores,
}

func TestScoreTestReference(t *testing.T) {
	seen := 0
	for _, e := range comparisons(t) {
		kind, ok := kinds[e.ID[strings.LastIndex(e.ID, "_")+1:]]
		if !ok {
			continue
		}
		seen++
		t.Run(e.ID, func(t *testing.T) {
			obs, label := groupedFor(t, e)
			r, err := survival.ScoreTest{Scores: kind, Draws: 100}.Test(obs, label)
			require.NoError(t, err)
			closeTo := func(what string, got, want float64) {
				t.Helper()
				mathtest.CloseRel(t, what, got, want, e.Tolerance.Abs, e.Tolerance.Rel, e.source())
			}
			require.Equal(t, e.Values.N, r.Rows())
			require.Equal(t, e.Values.DF, r.DF)
			for g, want := range e.Values.Score {
				closeTo("score", r.Score()[g], want)
				for h, want := range e.Values.ScoreVar.X[g] {
					closeTo("variance", r.Variance()[g][h], want)
				}
			}
			closeTo("chi-square", r.ChiSquare, e.Values.ChiSq)
			closeTo("p", r.PAsymptotic, e.Values.P)
			if e.Values.Z != nil {
				closeTo("z", r.Z, *e.Values.Z)
			}
			for _, pub := range e.Published { // to half a unit of the last printed digit
				got := map[string]float64{"Z": math.Abs(r.Z), "p": r.PAsymptotic, "s": r.Score()[1]}[pub.What[:1]]
				digits := len(pub.Printed[0]) - strings.Index(pub.Printed[0], ".") - 1
				mathtest.Close(t, pub.What, got, parse(t, pub.Printed[0]), 0.5*math.Pow10(-digits)*(1+1e-9), pub.Where)
			}
		})
	}
	require.Equal(t, 6, seen)
}

// On exact and right-censored times Sun's scores are 1 - H and -H, H the Nelson-Aalen sum at the end of the row, Wilcoxon's
// S before plus S after, less 1. Times 1, 2+, 3, 4 (+ censored): H = 1/4, 1/4, 3/4, 7/4; S = 3/4, 3/4, 3/8, 0.
func TestScoresByHand(t *testing.T) {
	obs := []survival.Interval{{L: 1, R: 1}, {L: 2, R: inf}, {L: 3, R: 3}, {L: 4, R: 4}}
	for kind, want := range map[survival.ScoreKind][]float64{
		survival.SunScores:         {3. / 4, -1. / 4, 1. / 4, -3. / 4},
		survival.WilcoxonScores:    {3. / 4, -1. / 4, 1. / 8, -5. / 8},
		survival.FinkelsteinScores: {-3 * math.Log(.75), math.Log(.75), 2*math.Log(.75) - math.Log(.375), math.Log(.375)},
	} {
		got, curve, err := survival.ScoreTest{Scores: kind}.RowScores(obs)
		require.NoError(t, err)
		require.True(t, curve.Converged)
		sum := 0.0
		for i := range want {
			mathtest.Close(t, kind.String(), got[i], want[i], 1e-9, "worked by hand: Kaplan-Meier and Nelson-Aalen on four rows")
			sum += got[i]
		}
		require.InDelta(t, 0, sum, 1e-9, "scores sum to 0")
	}
	// (0, 2], (0, 2], (2, 5], (2, +Inf]: S(2) = 1/2, S(5) = 0.
	got, _, err := survival.ScoreTest{}.RowScores([]survival.Interval{{L: 0, R: 2}, {L: 0, R: 2}, {L: 2, R: 5}, {L: 2, R: inf}, {L: 0, R: inf}})
	require.NoError(t, err)
	for i, want := range []float64{.5, .5, -.5, -.5, 0} { // (S(2) H(2) - 0) / (1/2) = 1/2 with H(2) = 1/2; -H(2); nothing known
		mathtest.Close(t, "sun", got[i], want, 1e-9, "worked by hand: two sets of mass 1/2")
	}
}

// Two tasters on two drinks, worked by hand: scores +-1/2, all relabellings are as extreme.
func TestWithinByHand(t *testing.T) {
	obs := []survival.Interval{{L: 0, R: 2}, {L: 2, R: 5}, {L: 0, R: 2}, {L: 2, R: 5}}
	r, err := survival.ScoreTest{}.Within(obs, []int{1, 2, 1, 2}, []int{7, 7, 8, 8})
	require.NoError(t, err)
	require.Equal(t, survival.Exact, r.Method)
	require.Equal(t, []int{1, 2}, r.Groups())
	require.InDeltaSlice(t, []float64{1, -1}, r.Score(), 1e-9)
	// A taster's swap moves the sum by +-1/2: variance 1/4 + 1/4, chi-square 1 / (1/2).
	require.InDelta(t, 0.5, r.Variance()[0][0], 1e-9)
	require.InDelta(t, -0.5, r.Variance()[0][1], 1e-9)
	mathtest.Close(t, "chi-square", r.ChiSquare, 2, 1e-9, "worked by hand")
	mathtest.Close(t, "z", r.Z, -math.Sqrt2, 1e-9, "worked by hand: drink 2 lasted longer")
	mathtest.Close(t, "p", r.P, 0.5, 0, "worked by hand: 2 of 4 relabellings")
	require.Equal(t, 4.0, r.Relabellings)
	require.Equal(t, 2, r.Units)
	require.Zero(t, r.TiedUnits)
}

// Subjects a, b in group 0, c, d in group 1, with (0, 2], (0, 2]; (2, 5]; (2, 5], (2, 5]; (0, 2]. Sun's scores are 1/2 and
// -1/2, their mean 0, both groups hold half of the rows. u = 1/2 of the sum of scores in group 0, less that in group 1:
// 1/2, -1/4, 1/2, -1/4. Score 1/2, variance 4/3 (1/4 + 1/16 + 1/4 + 1/16) = 5/6.
func TestClusteredByHand(t *testing.T) {
	early, late := survival.Interval{L: 0, R: 2}, survival.Interval{L: 2, R: 5}
	r, err := survival.ScoreTest{}.Clustered([]survival.Interval{early, early, late, late, late, early}, []int{0, 0, 0, 1, 1, 1}, []int{1, 1, 2, 3, 3, 4})
	require.NoError(t, err)
	require.Equal(t, 4, r.Units)
	require.InDeltaSlice(t, []float64{0.5, -0.5}, r.Score(), 1e-9)
	require.InDelta(t, 5./6, r.Variance()[1][1], 1e-9)
	mathtest.Close(t, "chi-square", r.ChiSquare, 0.3, 1e-9, "worked by hand: (1/4) / (5/6)")
	mathtest.Close(t, "p", r.P, 0.583882420770365, 1e-9, "R 4.2.2: pchisq(0.3, 1, lower.tail = FALSE)")
}

// On exact and right-censored times, ties too, Sun's statistic is the log-rank test's events seen less those expected.
func TestSunScoresAreLogRank(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 26))
	for round := range 100 {
		n := 6 + rng.IntN(60)
		times, rows, group := make([]survival.Timed, n), make([]survival.Interval, n), make([]int, n)
		for i := range times {
			group[i] = i % 3
			times[i] = survival.Timed{Time: float64(1 + rng.IntN(5+round)), Event: rng.IntN(4) > 0}
			rows[i] = times[i].Interval()
		}
		times[0].Event, rows[0].R = true, rows[0].L
		want, err := survival.LogRank{}.Test(times, group)
		require.NoError(t, err)
		got, err := survival.ScoreTest{Draws: 1, MaxExact: -1}.Test(rows, group)
		require.NoError(t, err)
		if got.Tied {
			continue
		}
		for g, o := range want.Observed() {
			require.InDelta(t, o-want.Expected()[g], got.Score()[g], 1e-8)
		}
	}
}
