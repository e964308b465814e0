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

func logRank(t *testing.T, rows []survival.Timed, group, stratum []int) *survival.GroupTest {
	t.Helper()
	r, err := survival.LogRank{}.TestStratified(rows, group, stratum)
	require.NoError(t, err)
	return r
}

// All 924 ways to part twelve rows into six and six: the share of them with a statistic as large is near the large-sample
// p. Over all of them O - E is 0 in the mean, and as it sums steps that are 0 in the mean given the past, its variance is
// the mean of the formula's, to the last digit.
func TestLogRankAgainstAllRelabellings(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310307, 1))
	for range 5 {
		rows := make([]survival.Timed, 12)
		group := make([]int, 12)
		for i := range rows {
			group[i] = i % 2
			rows[i] = survival.Timed{Time: rng.ExpFloat64() * (1 + float64(group[i])), Event: rng.IntN(5) > 0}
		}
		seen := logRank(t, rows, group, nil)
		ways, large, sum, squares, variance := 0.0, 0.0, 0.0, 0.0, 0.0
		for set := range 1 << 12 {
			members := 0
			for i := range 12 {
				group[i] = set >> i & 1
				members += group[i]
			}
			if members != 6 {
				continue
			}
			r := logRank(t, rows, group, nil)
			ways++
			if r.ChiSquare >= seen.ChiSquare-1e-9 {
				large++
			}
			score := r.Observed()[1] - r.Expected()[1]
			sum, squares, variance = sum+score, squares+score*score, variance+r.Variance()[1][1]
		}
		require.Equal(t, 924.0, ways)
		require.InDelta(t, 0, sum/ways, 1e-10)
		require.InDelta(t, seen.P, large/ways, 0.05, "large-sample p against the exact one, twelve rows")
		require.InEpsilon(t, squares, variance, 1e-10)
	}
}

func TestLogRankLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310307, 2))
	for round := range rounds {
		k := 2 + rng.IntN(3)
		rows, _, group := inventedTimes(rng, 15+rng.IntN(40), k, round%2 == 0)
		stratum := make([]int, len(rows))
		for i := range stratum {
			stratum[i] = -7 * rng.IntN(2)
		}
		spec := survival.LogRank{Rho: float64(round % 3)}
		r, err := spec.TestStratified(rows, group, stratum)
		require.NoError(t, err)
		require.Equal(t, k-1, r.DF)
		require.True(t, r.P >= 0 && r.P <= 1)
		total := 0.0
		for g := range k {
			total += r.Observed()[g] - r.Expected()[g]
			sum := 0.0
			for h := range k {
				sum += r.Variance()[g][h]
				require.Equal(t, r.Variance()[g][h], r.Variance()[h][g])
			}
			require.InDelta(t, 0, sum, 1e-9)
		}
		require.InDelta(t, 0, total, 1e-9, "as many events are expected as seen")
		rng.Shuffle(len(rows), func(i, j int) {
			rows[i], rows[j], group[i], group[j], stratum[i], stratum[j] = rows[j], rows[i], group[j], group[i], stratum[j], stratum[i]
		})
		for i := range rows {
			rows[i].Time = math.Exp(rows[i].Time) // only the order of times counts
			group[i] = k - 1 - group[i]
		}
		kept, keptGroups := slices.Clone(rows), slices.Clone(group)
		again, err := spec.TestStratified(rows, group, stratum)
		require.NoError(t, err)
		require.InDelta(t, r.ChiSquare, again.ChiSquare, 1e-8)
		require.Equal(t, kept, rows)
		require.Equal(t, keptGroups, group)
	}
}

// Two groups: the signed root is the score of a Cox model's group effect at 0, sum over events of (group - its mean at risk).
func TestLogRankIsAScore(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310307, 3))
	for range rounds {
		rows, _, group := inventedTimes(rng, 20, 2, false)
		score := 0.0
		for i, r := range rows {
			if !r.Event {
				continue
			}
			risk, ones := 0.0, 0.0
			for j := range rows {
				if rows[j].Time >= r.Time {
					risk++
					ones += float64(group[j])
				}
			}
			score += float64(group[i]) - ones/risk
		}
		r := logRank(t, rows, group, nil)
		require.InDelta(t, score, r.Observed()[1]-r.Expected()[1], 1e-9)
	}
}

// Under no difference p is even: at most 5 % below 0.05 but for Monte Carlo error.
func TestLogRankSize(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310307, 4))
	const runs = 2000
	below := 0
	for range runs {
		rows, _, group := inventedTimes(rng, 60, 3, false)
		if logRank(t, rows, group, nil).P <= 0.05 {
			below++
		}
	}
	require.InDelta(t, 0.05, float64(below)/runs, 0.01+3*math.Sqrt(0.05*0.95/runs))
}

func TestLogRankLeavesOutWhatCannotBeCompared(t *testing.T) {
	rows := []survival.Timed{{Time: 1, Event: true}, {Time: 2, Event: true}, {Time: 3, Event: true}, {Time: 4}, {Time: 0.5}}
	r := logRank(t, rows, []int{0, 1, 0, 1, 2}, nil)
	two := logRank(t, rows[:4], []int{0, 1, 0, 1}, nil)
	require.Equal(t, 1, r.DF, "group 2 was censored before the first event")
	require.InDelta(t, two.ChiSquare, r.ChiSquare, 1e-12)
	require.Len(t, r.Warnings(), 1)
	require.ErrorContains(t, r.Warnings()[0], "[2]")
	apart := append(slices.Clone(rows[:4]), rows[:4]...)
	r = logRank(t, apart, []int{0, 1, 0, 1, 2, 3, 2, 3}, []int{1, 1, 1, 1, 2, 2, 2, 2})
	require.Equal(t, 2, r.DF, "0 with 1, and 2 with 3, but the pairs with each other nowhere")
	require.InDelta(t, 2*two.ChiSquare, r.ChiSquare, 1e-9)
	require.Len(t, r.Warnings(), 1)
}

func TestLogRankFaults(t *testing.T) {
	rows := []survival.Timed{{Time: 1, Event: true}, {Time: 2, Event: true}, {Time: 3}}
	for _, tt := range []struct {
		reason         string
		rho            float64
		rows           []survival.Timed
		group, stratum []int
		is             error
	}{
		{"no rows", 0, nil, nil, nil, dataerr.ErrTooFew},
		{"one group", 0, rows, []int{0, 0, 0}, nil, dataerr.ErrTooFew},
		{"a group without rows", 0, rows, []int{0, 2, 2}, nil, dataerr.ErrTooFew},
		{"number too large", 0, rows, []int{0, 1, 3}, nil, dataerr.ErrRange},
		{"number below 0", 0, rows, []int{0, 1, -1}, nil, dataerr.ErrRange},
		{"groups missing", 0, rows, []int{0, 1}, nil, dataerr.ErrConflict},
		{"strata missing", 0, rows, []int{0, 1, 1}, []int{1}, dataerr.ErrConflict},
		{"time", 0, []survival.Timed{{Time: -1}, {Time: 2}}, []int{0, 1}, nil, dataerr.ErrRange},
		{"rho", math.NaN(), rows, []int{0, 1, 1}, nil, dataerr.ErrNumber},
		{"rho too large", 11, rows, []int{0, 1, 1}, nil, dataerr.ErrRange},
		{"no event", 0, []survival.Timed{{Time: 1}, {Time: 2}}, []int{0, 1}, nil, dataerr.ErrTooFew},
		{"all at once", 0, []survival.Timed{{Time: 1, Event: true}, {Time: 1, Event: true}}, []int{0, 1}, nil, dataerr.ErrTooFew},
		{"never together", 0, []survival.Timed{{Time: 1}, {Time: 2, Event: true}, {Time: 3}}, []int{0, 1, 1}, nil, dataerr.ErrTooFew},
		{"never together in a stratum", 0, rows, []int{0, 1, 1}, []int{1, 2, 2}, dataerr.ErrTooFew},
	} {
		r, err := survival.LogRank{Rho: tt.rho}.TestStratified(tt.rows, tt.group, tt.stratum)
		require.Nil(t, r, tt.reason)
		require.ErrorIs(t, err, tt.is, tt.reason)
		require.NotEmpty(t, dataerr.All(err), tt.reason)
	}
}
