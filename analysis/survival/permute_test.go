package survival_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// Two drinks by n tasters whose replies all differ: 2 of 2^n relabellings are the most extreme.
func TestSmallestP(t *testing.T) {
	for n, want := range map[int]float64{3: 0.25, 5: 0.0625, 8: 0.0078125, 12: 2. / 4096} {
		var rows []survival.Interval
		var label, subject []int
		for i := range n {
			at := float64(i)
			rows = append(rows, survival.Interval{L: at, R: at + 1}, survival.Interval{L: at + 20, R: at + 21 + at/10})
			label, subject = append(label, 4, 9), append(subject, i, i)
		}
		for _, spec := range []survival.ScoreTest{{}, {Scores: survival.WilcoxonScores}, {MaxExact: -1, Draws: 20_000}} {
			r, err := spec.Within(rows, label, subject)
			require.NoError(t, err)
			mathtest.Close(t, "smallest p", r.SmallestP, want, 1e-12, "2 of 2^n by counting")
			require.Equal(t, float64(int(1)<<n), r.Relabellings)
			require.InDelta(t, want, r.P, 1e-12+5*r.PError, "this is the most extreme relabelling")
			require.Negative(t, r.Z, "the second drink lasted longer")
		}
		// A taster who makes no difference counts out.
		r, err := survival.ScoreTest{}.Within(append(rows, rows[0], rows[0]), append(label, 4, 9), append(subject, n, n))
		require.NoError(t, err)
		require.Equal(t, 1, r.TiedUnits)
		require.Equal(t, n+1, r.Units)
		mathtest.Close(t, "smallest p", r.SmallestP, want, 1e-12, "2 of 2^n by counting")
	}
}

// Draws agree with the enumeration within their own error, in every way of relabelling; and so does the smallest p.
func TestDrawsAgreeWithExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 23))
	for round := range 12 {
		rows, label, subject := pairs(rng, 4, 2+round%2, round%4 < 2)
		drawn := survival.ScoreTest{MaxExact: -1, Draws: 20_000, Seed: uint64(round), Scores: survival.ScoreKind(round % 3)}
		exact := drawn
		exact.MaxExact = 1_000_000
		apart := make([]int, len(subject)) // subjects of one or two rows, each in one group
		for i := range apart {
			apart[i] = label[i]*10 + subject[i]/2
		}
		for name, run := range map[string]func(s survival.ScoreTest) (*survival.ScoreResult, error){
			"all":     func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Test(rows, label) },
			"within":  func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Within(rows, label, subject) },
			"between": func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Between(rows, label, apart) },
		} {
			a, err := run(exact)
			require.NoError(t, err)
			b, err := run(drawn)
			require.NoError(t, err)
			if a.Tied {
				require.True(t, b.Tied)
				continue
			}
			require.Equal(t, survival.Exact, a.Method)
			require.Equal(t, survival.ByDraws, b.Method)
			require.Equal(t, 20_000, b.Draws)
			require.InDelta(t, a.P, b.P, 4.5*math.Sqrt(a.P*(1-a.P)/20_000)+1e-4, "%s, round %d", name, round)
			require.Equal(t, a.ChiSquare, b.ChiSquare)
			require.Equal(t, a.Relabellings, b.Relabellings)
			if len(a.Groups()) == 2 {
				mathtest.Close(t, "smallest p", b.SmallestP, max(a.SmallestP, 1./20_001), 1e-9, "the enumeration of the same relabellings")
			} else {
				require.Equal(t, 1./20_001, b.SmallestP)
			}
		}
	}
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	rows := lookRows(rand.New(rand.NewPCG(4, 4)), "grid", 120)
	label, subject := make([]int, 120), make([]int, 120)
	for i := range rows {
		label[i], subject[i] = i%3, i/3
	}
	run := func(cores int, seed uint64) *survival.ScoreResult {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r, err := survival.ScoreTest{Draws: 3100, Seed: seed}.Within(rows, label, subject)
		require.NoError(t, err)
		require.Equal(t, survival.ByDraws, r.Method)
		return r
	}
	one := run(1, 5)
	for _, cores := range []int{2, 4} {
		require.Equal(t, one, run(cores, 5))
	}
	require.NotEqual(t, one.P, run(2, 6).P, "the seed counts")
}

// One row against 10,000: as many relabellings as rows, gone through in a moment.
func TestExactOneAgainstMany(t *testing.T) {
	const n = 10_001
	rows, label := make([]survival.Interval, n), make([]int, n)
	for i := range rows {
		at := float64(i)
		rows[i] = survival.Interval{L: at, R: at + 1}
	}
	label[0] = 1
	r, err := survival.ScoreTest{Scores: survival.WilcoxonScores}.Test(rows, label)
	require.NoError(t, err)
	require.Equal(t, survival.Exact, r.Method)
	require.Equal(t, float64(n), r.Relabellings)
	mathtest.Close(t, "p", r.P, 2./n, 1e-12, "by counting: the first of n and, mirrored, the last")
	mathtest.Close(t, "smallest p", r.SmallestP, 2./n, 1e-12, "by counting")
}
