package survival_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

func looks(t *testing.T, obs []survival.Status, weights []float64) *survival.Curve {
	t.Helper()
	c, err := survival.Isotonic{}.FitWeighted(obs, weights)
	require.NoError(t, err)
	require.True(t, c.Converged)
	require.Empty(t, c.Warnings())
	require.Zero(t, c.Iterations)
	return c
}

func asIntervals(obs []survival.Status) []survival.Interval {
	out := make([]survival.Interval, len(obs))
	for i, o := range obs {
		out[i] = o.Interval()
	}
	return out
}

func TestIsotonicHandworked(t *testing.T) {
	var entries []entry
	readJSON(t, "handworked.json", &entries)
	e := entries[slices.IndexFunc(entries, func(e entry) bool { return e.ID == "current_status" })]
	var obs []survival.Status
	for _, o := range intervals(t, "edge_current_status.csv", "", "") {
		s := survival.Status{Time: o.L}
		if o.L == 0 {
			s = survival.Status{Time: o.R, Over: true}
		}
		obs = append(obs, s)
	}
	c := looks(t, obs, nil)
	matches(t, e, c, 1e-12)
	mathtest.Close(t, "log-likelihood", c.LogLik, float64(e.Values.LogLik), 1e-10, e.source())
	require.Less(t, c.Gap, 1e-12)
}

func TestIsotonicAgainstIsoreg(t *testing.T) {
	rows := readCSV(t, "isoreg.csv")
	require.Len(t, rows, 60)
	var obs []survival.Status
	for _, row := range rows {
		obs = append(obs, survival.Status{Time: parse(t, row["time"]), Over: row["over"] == "1"})
	}
	c := looks(t, obs, nil)
	for _, row := range rows {
		lo, hi := c.At(parse(t, row["time"]))
		source := "R 4.2.2 isoreg, share over at time " + row["time"]
		mathtest.Close(t, "F", 1-lo, parse(t, row["share"]), 1e-12, source)
		mathtest.Close(t, "F, other bound", 1-hi, parse(t, row["share"]), 1e-12, source)
	}
}

func TestIsotonicByHand(t *testing.T) {
	yes, no := func(at float64) survival.Status { return survival.Status{Time: at, Over: true} }, func(at float64) survival.Status { return survival.Status{Time: at} }
	for _, tt := range []struct {
		name    string
		obs     []survival.Status
		weights []float64
		sets    []survival.Interval
		mass    []float64
		source  string
	}{
		{"one over", []survival.Status{yes(4)}, nil, []survival.Interval{{L: 0, R: 4}}, []float64{1}, "F(4) = 1"},
		{"one going on", []survival.Status{no(4)}, nil, []survival.Interval{{L: 4, R: inf}}, []float64{1}, "F(4) = 0"},
		{"none over", []survival.Status{no(4), no(9), no(6)}, nil, []survival.Interval{{L: 9, R: inf}}, []float64{1}, "F(9) = 0"},
		{"all over", []survival.Status{yes(4), yes(9), yes(6)}, nil, []survival.Interval{{L: 0, R: 4}}, []float64{1}, "F(4) = 1"},
		{"clean break", []survival.Status{no(2), no(4), yes(6), yes(8)}, nil, []survival.Interval{{L: 4, R: 6}}, []float64{1}, "0 up to 4, 1 from 6"},
		{"violators", []survival.Status{yes(2), no(4)}, nil, []survival.Interval{{L: 0, R: 2}, {L: 4, R: inf}}, []float64{0.5, 0.5}, "1 then 0 pool to 1/2"},
		{"equal shares make one block", []survival.Status{yes(2), no(2), yes(4), no(4), yes(6)}, nil,
			[]survival.Interval{{L: 0, R: 2}, {L: 4, R: 6}}, []float64{0.5, 0.5}, "1/2, 1/2, 1"},
		{"weights", []survival.Status{yes(2), no(2), yes(5)}, []float64{1, 3, 2},
			[]survival.Interval{{L: 0, R: 2}, {L: 2, R: 5}}, []float64{0.25, 0.75}, "1/4, then 1"},
		{"weight 0", []survival.Status{yes(2), no(4), yes(4)}, []float64{0, 1, 1},
			[]survival.Interval{{L: 0, R: 4}, {L: 4, R: inf}}, []float64{0.5, 0.5}, "1/2 at 4, no look at 2"},
		{"over at 0", []survival.Status{yes(0), no(0), no(0), yes(4), yes(4), no(4)}, nil,
			[]survival.Interval{{L: 0, R: 0}, {L: 0, R: 4}, {L: 4, R: inf}}, []float64{1. / 3, 1. / 3, 1. / 3}, "1/3 at 0, 2/3 at 4"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := looks(t, tt.obs, tt.weights)
			require.Equal(t, tt.sets, c.Sets(), tt.source)
			for k, m := range c.Mass() {
				mathtest.Close(t, "mass", m, tt.mass[k], 1e-12, "worked by hand: "+tt.source)
			}
			require.Less(t, c.Gap, 1e-9)
			if tt.name != "over at 0" {
				rows := asIntervals(tt.obs)
				loglik, gap := judge(rows, tt.weights, c)
				require.InDelta(t, loglik, c.LogLik, 1e-12)
				require.InDelta(t, gap, c.Gap, 1e-9)
			}
		})
	}
}

// Over at 0 the likelihood is not that of intervals: with F(0) = 1/3 and F(4) = 2/3 it is written out here.
func TestIsotonicOverAtZero(t *testing.T) {
	c := looks(t, []survival.Status{{Time: 0, Over: true}, {Time: 0}, {Time: 0}, {Time: 4, Over: true}, {Time: 4, Over: true}, {Time: 4}}, nil)
	mathtest.Close(t, "log-likelihood", c.LogLik, math.Log(1./3)+2*math.Log(2./3)+2*math.Log(2./3)+math.Log(1./3), 1e-12, "worked by hand")
	lo, hi := c.At(0)
	require.Equal(t, lo, hi)
	mathtest.Close(t, "S(0)", lo, 2./3, 1e-12, "worked by hand: one of three is over at 0")
}

// Two routes to one estimate: pooled shares and the solver for intervals.
func TestIsotonicIsNPMLE(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 7))
	for round := range rounds {
		obs := make([]survival.Status, 1+rng.IntN(60))
		weights := make([]float64, len(obs))
		for i := range obs {
			at := 1 + 14*rng.Float64()
			if round%2 == 0 {
				at = math.Ceil(at)
			}
			obs[i] = survival.Status{Time: at, Over: rng.Float64()*15 < at}
			weights[i] = float64(rng.IntN(4))
		}
		weights[0] = 1
		if round%3 == 0 {
			weights = nil
		}
		kept := slices.Clone(obs)
		iso := looks(t, obs, weights)
		require.Equal(t, kept, obs, "input untouched")
		rows := asIntervals(obs)
		sound(t, rows, weights, iso)
		same(t, iso, fit(t, rows, weights), 1, fmt.Sprint("round ", round))
		require.Equal(t, iso.Rows, fit(t, rows, weights).Rows)
	}
}
