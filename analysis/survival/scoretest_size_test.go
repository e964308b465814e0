package survival_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// eitherSide is the interval from the last acceptance before the first rejection to the first rejection after the last
// acceptance.
func eitherSide(g simulate.Glass) survival.Interval {
	o := survival.Interval{L: 0, R: inf}
	first := slices.Index(g.Reject, true)
	if first < 0 {
		o.L = g.Ages[len(g.Ages)-1]
		return o
	}
	if first > 0 {
		o.L = g.Ages[first-1]
	}
	for k := len(g.Reject) - 1; k >= 0 && g.Reject[k]; k-- {
		o.R = g.Ages[k]
	}
	return o
}

// evening is a pair of styles as rows. Of the second style only the first few glasses of a taster are kept; 0 means all.
func evening(p simulate.Pair, kept int, seed uint64, panel int) (rows []survival.Interval, group, subject []int) {
	first, second := p.Draw(resample.Child(seed, uint64(panel)))
	had := map[int]int{}
	for style, glasses := range [][]simulate.Glass{first, second} {
		for _, g := range glasses {
			if style == 1 {
				if had[g.Taster]++; kept > 0 && had[g.Taster] > kept {
					continue
				}
			}
			rows, group, subject = append(rows, eitherSide(g)), append(group, style), append(subject, g.Taster)
		}
	}
	return rows, group, subject
}

type groupTest func(spec survival.ScoreTest, rows []survival.Interval, group, subject []int) (*survival.ScoreResult, error)

// rejects gives the share of n invented evenings in which p is 0.05 or less.
func rejects(t *testing.T, p simulate.Pair, kept int, spec survival.ScoreTest, n int, test groupTest) float64 {
	t.Helper()
	hits := 0
	for i := range n {
		rows, group, subject := evening(p, kept, 20310304, i)
		r, err := test(spec, rows, group, subject)
		require.NoError(t, err)
		if r.P <= 0.05 {
			hits++
		}
	}
	return float64(hits) / float64(n)
}

// Under no difference a test at 5 % rejects 5 % at most, beyond three Monte Carlo errors of 1,000 panels; and not so
// rarely that it could never find anything. With limits half as late again it finds most.
func TestSizeAndPower(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 300
	}
	noisy := simulate.Study{ReplySD: 0.2, Slips: 0.02}
	limit := 0.05 + 3*math.Sqrt(0.05*0.95/float64(n))
	within, between, clustered := survival.ScoreTest.Within, survival.ScoreTest.Between, survival.ScoreTest.Clustered
	glasses := simulate.Study{Glasses: 3, ReplySD: 0.2}
	besides := simulate.Study{Ages: []float64{4, 7, 11}, Glasses: 2, SideBySide: true, ReplySD: 0.2}
	wide := noisy
	wide.Tasters = 30
	for _, tt := range []struct {
		name  string
		pair  simulate.Pair
		kept  int
		test  groupTest
		power float64 // at ratio 1.5, at least
	}{
		{"same tasters, within", simulate.Pair{Study: noisy, Rho: 0.6}, 0, within, 0.7},
		{"same tasters, three glasses each, within", simulate.Pair{Study: glasses, Rho: 0.6}, 0, within, 0.8},
		{"same tasters, three glasses and one, within", simulate.Pair{Study: glasses, Rho: 0.6}, 1, within, 0.7},
		{"same tasters side by side, within", simulate.Pair{Study: besides, Rho: 0.6}, 0, within, 0.6},
		{"different tasters, between", simulate.Pair{Study: noisy, Apart: true}, 0, between, 0.5},
		{"different tasters, three glasses each, between", simulate.Pair{Study: glasses, Apart: true}, 0, between, 0.6},
		{"different tasters, three glasses and one, between", simulate.Pair{Study: glasses, Apart: true}, 1, between, 0.5},
		{"different tasters side by side, between", simulate.Pair{Study: besides, Apart: true}, 0, between, 0.4},
		{"30 same tasters, clustered", simulate.Pair{Study: wide, Rho: 0.6}, 0, clustered, 0.95},
		{"60 different tasters, clustered", simulate.Pair{Study: wide, Apart: true}, 0, clustered, 0.9},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for kind := range survival.WilcoxonScores + 1 {
				spec := survival.ScoreTest{Scores: kind, Draws: 500}
				size := rejects(t, tt.pair, tt.kept, spec, n, tt.test)
				later := tt.pair
				later.Ratio = 1.5
				power := rejects(t, later, tt.kept, spec, n/4, tt.test)
				t.Logf("%s: size %.3f, power %.3f", kind, size, power)
				require.LessOrEqual(t, size, limit)
				require.GreaterOrEqual(t, size, 0.02)
				require.GreaterOrEqual(t, power, tt.power)
			}
		})
	}
}

// What the doc warns of: glasses of one taster taken as independent rows reject far too often when styles have different
// tasters, and with the same tasters the pairing is thrown away.
func TestSizeWithoutSubjects(t *testing.T) {
	all := func(spec survival.ScoreTest, rows []survival.Interval, group, _ []int) (*survival.ScoreResult, error) {
		return spec.Test(rows, group)
	}
	spec := survival.ScoreTest{Draws: 500}
	apart := simulate.Pair{Study: simulate.Study{Glasses: 3, ReplySD: 0.2}, Apart: true}
	require.Greater(t, rejects(t, apart, 0, spec, 200, all), 0.15)
	same := simulate.Pair{Study: simulate.Study{ReplySD: 0.2}, Rho: 0.8}
	require.Less(t, rejects(t, same, 0, spec, 300, all), 0.02)
}

// Where one style was tasted every minute and the other every four, only Clustered is offered; it is somewhat cautious.
func TestSizeOnDifferentSchedules(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 300
	}
	minutes := make([]float64, 16)
	for i := range minutes {
		minutes[i] = float64(i + 1)
	}
	hits := 0
	for i := range n {
		fine := simulate.Study{Tasters: 15, Ages: minutes, ReplySD: 0.2}.Draw(resample.Child(20310305, uint64(2*i)))
		coarse := simulate.Study{Tasters: 15, Ages: []float64{4, 8, 12, 16}, ReplySD: 0.2}.Draw(resample.Child(20310305, uint64(2*i+1)))
		var rows []survival.Interval
		var group, subject []int
		for k, g := range slices.Concat(fine, coarse) {
			rows, group, subject = append(rows, eitherSide(g)), append(group, k/15), append(subject, k)
		}
		r, err := survival.ScoreTest{}.Clustered(rows, group, subject)
		require.NoError(t, err)
		if r.P <= 0.05 {
			hits++
		}
	}
	size := float64(hits) / float64(n)
	t.Logf("size %.3f", size)
	require.LessOrEqual(t, size, 0.05+3*math.Sqrt(0.05*0.95/float64(n)))
	require.GreaterOrEqual(t, size, 0.01)
}
