package survival_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

const inventedSource = "survival 3.5.3 and cmprsk 2.2.11 by testdata/survival/exact_times.R"

// inventedSet is one set of exact_times_rows.csv with what the libraries make of it: key and value by what.
type inventedSet struct {
	timed          []survival.Timed
	caused         []survival.Caused
	group, stratum []int
	weight         []float64
	said           map[string][][2]float64
}

// inventedSets reads all sets; a value that is not there is NaN.
func inventedSets(t *testing.T) []*inventedSet {
	t.Helper()
	var sets []*inventedSet
	whole := func(s string) int { return int(parse(t, s)) }
	for _, row := range readCSV(t, "exact_times_rows.csv") {
		if n := whole(row["set"]); n > len(sets) {
			sets = append(sets, &inventedSet{said: map[string][][2]float64{}})
		}
		s := sets[len(sets)-1]
		c := survival.Caused{Time: parse(t, row["time"]), Cause: whole(row["cause"])}
		s.caused = append(s.caused, c)
		s.timed = append(s.timed, survival.Timed{Time: c.Time, Event: c.Cause > 0})
		s.group, s.stratum = append(s.group, whole(row["group"])), append(s.stratum, whole(row["stratum"]))
		s.weight = append(s.weight, parse(t, row["weight"]))
	}
	for _, row := range readCSV(t, "exact_times.csv") {
		v, err := strconv.ParseFloat(row["value"], 64)
		if err != nil {
			require.Equal(t, "NA", row["value"])
			v = math.NaN()
		}
		s := sets[whole(row["set"])-1]
		s.said[row["what"]] = append(s.said[row["what"]], [2]float64{parse(t, row["key"]), v})
	}
	require.Len(t, sets, 6)
	return sets
}

// each calls check for all values of one kind.
func (s *inventedSet) each(t *testing.T, what string, check func(key, want float64)) {
	t.Helper()
	require.NotEmpty(t, s.said[what], what)
	for _, kv := range s.said[what] {
		check(kv[0], kv[1])
	}
}

func same10(t *testing.T, what string, got, want float64) {
	t.Helper()
	mathtest.CloseRel(t, what, got, want, 1e-10, 1e-10, inventedSource)
}

// Quantiles at tenths, where curves are often flat at the very share asked for.
func TestQuantilesOfInventedSets(t *testing.T) {
	for _, s := range inventedSets(t) {
		for _, scale := range []survival.LimitScale{survival.PlainLimits, survival.LogLimits, survival.LogLogLimits, survival.LogitLimits} {
			f, err := survival.KaplanMeier{Scale: scale}.Fit(s.timed)
			require.NoError(t, err)
			for _, end := range []struct {
				name string
				open float64
				of   func(survival.StepQuantile) float64
			}{
				{"quantile", inf, func(q survival.StepQuantile) float64 { return q.Value }},
				{"lower", 0, func(q survival.StepQuantile) float64 { return q.Lower }},
				{"upper", inf, func(q survival.StepQuantile) float64 { return q.Upper }},
			} {
				s.each(t, scale.String()+" "+end.name, func(key, want float64) {
					q, err := f.Quantile(key / 10)
					require.NoError(t, err)
					if math.IsNaN(want) {
						want = end.open
					}
					same10(t, scale.String()+" "+end.name, end.of(q), want)
				})
			}
		}
	}
}

func TestWeightsOfInventedSets(t *testing.T) {
	for _, s := range inventedSets(t) {
		f := kaplanMeier(t, s.timed, s.weight)
		k := 0
		s.each(t, "weighted surv", func(at, want float64) {
			share, known := f.At(at)
			require.True(t, known)
			same10(t, "S", share.Value, want)
			require.Equal(t, at, f.Steps()[k].Time, "rows of weight 0 make no step")
			k++
		})
		s.each(t, "weighted se of the hazard", func(at, want float64) {
			k = 0
			for f.Steps()[k].Time < at {
				k++
			}
			same10(t, "se of the hazard", f.Steps()[k].CumHazardSE, want)
		})
		s.each(t, "weighted se", func(at, want float64) {
			share, _ := f.At(at)
			if share.Value > 0 {
				same10(t, "se", share.SE, want)
			}
		})
		s.each(t, "weighted lower", func(at, want float64) {
			share, _ := f.At(at)
			require.Equal(t, math.IsNaN(want), !share.Limited)
			if share.Limited {
				same10(t, "lower", share.Lower, want)
			}
		})
	}
}

func TestLogRankOfInventedSets(t *testing.T) {
	for _, s := range inventedSets(t) {
		s.each(t, "log-rank", func(rho, want float64) {
			r, err := survival.LogRank{Rho: rho}.Test(s.timed, s.group)
			require.NoError(t, err)
			same10(t, "chi-square", r.ChiSquare, want)
		})
		s.each(t, "log-rank in strata", func(rho, want float64) {
			r, err := survival.LogRank{Rho: rho}.TestStratified(s.timed, s.group, s.stratum)
			require.NoError(t, err)
			same10(t, "chi-square in strata", r.ChiSquare, want)
		})
	}
}
