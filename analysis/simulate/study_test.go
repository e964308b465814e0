package simulate_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/simulate"
)

const toEnd = 1000 // rounds after a rejection: all of them

func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Over tasters the reply law integrates to s + (1-2s) Phi((log a - mu)/sqrt(sigma^2 + tau^2 + beta^2)): a normal limit, a
// normal reply noise and a normal batch fault add up.
func TestShareOfRejections(t *testing.T) {
	for _, s := range []simulate.Study{
		{Tasters: 4000, RoundsAfter: toEnd},
		{Tasters: 4000, RoundsAfter: toEnd, ReplySD: 0.4, Slips: 0.02},
		{Tasters: 4000, RoundsAfter: toEnd, ReplySD: 0.2, BatchSD: 0.3, Slips: 0.05, Median: 9, LogSD: 0.5, Ages: []float64{1, 2.5, 9, 20}},
		{Tasters: 4000, SideBySide: true, ReplySD: 0.25, BatchSD: 0.2, Ages: []float64{4, 7, 11}},
	} {
		count, n := map[float64]float64{}, map[float64]float64{}
		for _, g := range s.Draw(stream(30)) {
			for k, a := range g.Ages {
				n[a]++
				if g.Reject[k] {
					count[a]++
				}
			}
		}
		median, logSD := 7.0, 0.35
		if s.Median > 0 {
			median, logSD = s.Median, s.LogSD
		}
		sd := math.Sqrt(logSD*logSD + s.ReplySD*s.ReplySD + s.BatchSD*s.BatchSD)
		require.NotEmpty(t, n)
		for a := range n {
			require.Equal(t, 4000.0, n[a])
			want := s.Slips + (1-2*s.Slips)*phi(math.Log(a/median)/sd)
			mathtest.Close(t, fmt.Sprintf("share rejecting at %v", a), count[a]/n[a], want, 4*math.Sqrt(want*(1-want)/4000)+1e-3,
				"closed form of a probit of a normal mixture; four Monte Carlo standard errors")
		}
	}
}

// The median of the limits is recovered from the replies alone over many small panels, by counting.
func TestMedianIsRecovered(t *testing.T) {
	const panels = 4000
	rng := stream(31)
	sum, squares := 0.0, 0.0
	for range panels {
		var own []float64
		for _, g := range (simulate.Study{Tasters: 11}).Draw(rng) {
			own = append(own, g.Limit)
		}
		slices.Sort(own)
		x := math.Log(own[5] / 7)
		sum += x / panels
		squares += x * x / panels
	}
	mathtest.Close(t, "mean log of panel medians", sum, 0, 4*math.Sqrt(squares/panels), "the law is symmetric on the log scale; four Monte Carlo standard errors")
	// variance of the median of 11 normal values: 0.1372 sigma^2
	mathtest.Close(t, "variance over sigma^2", squares/(0.35*0.35), 0.1372, 0.1372*4*math.Sqrt(2.0/panels),
		"order statistics of normal samples, n = 11 (from memory; agrees with (pi/2)/(n + pi/2 - 1) = 0.1358)")
}

// Replies say what the limit says when there is no noise; the protocol ends as stated.
func TestCleanReplies(t *testing.T) {
	for _, after := range []int{-1, 0, 1, toEnd} {
		want := map[int]int{-1: 0, 0: 2, 1: 1, toEnd: toEnd}[after]
		for _, g := range (simulate.Study{Tasters: 300, RoundsAfter: after}).Draw(stream(32)) {
			first := slices.Index(g.Reject, true)
			n := 8
			if first >= 0 {
				n = min(8, first+1+want)
			}
			require.Len(t, g.Ages, n)
			for k, a := range g.Ages {
				require.Equal(t, a >= g.Limit, g.Reject[k])
			}
		}
	}
}

func TestBatchesShareTheirFault(t *testing.T) {
	s := simulate.Study{Tasters: 12, Batches: 6, LogSD: -1, BatchSD: 0.4, RoundsAfter: toEnd, Ages: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}}
	glasses := s.Draw(stream(33))
	different := 0
	for i := 0; i < 12; i += 2 {
		require.Equal(t, i/2, glasses[i].Batch)
		require.Equal(t, glasses[i].Batch, glasses[i+1].Batch, "two glasses a shake")
		require.Equal(t, glasses[i].Reject, glasses[i+1].Reject, "alike but for the fault")
		if !slices.Equal(glasses[i].Reject, glasses[(i+2)%12].Reject) {
			different++
		}
	}
	require.Greater(t, different, 2, "shakes differ")

	side := simulate.Study{Tasters: 4, Glasses: 2, Batches: 2, SideBySide: true, Ages: []float64{4, 8}}.Draw(stream(34))
	require.Len(t, side, 4*2*2)
	for i, g := range side {
		require.Len(t, g.Ages, 1)
		require.Equal(t, i%2*2+i/2%2, g.Batch, "two makings per age, tasters dealt in turn")
	}
	own := simulate.Study{Tasters: 3, Glasses: 2}.Draw(stream(35))
	for i, g := range own {
		require.Equal(t, i, g.Batch, "without Batches every glass is its own")
		require.Equal(t, i/2, g.Taster)
		require.Equal(t, own[i/2*2].Limit, g.Limit, "a taster's glasses share the limit")
	}
}

func TestStudyCheck(t *testing.T) {
	require.NoError(t, simulate.Study{}.Check())
	for _, tt := range []struct {
		column string
		s      simulate.Study
	}{{"Slips", simulate.Study{Slips: 0.51}}, {"Median", simulate.Study{Median: -3}}, {"ReplySD", simulate.Study{ReplySD: math.NaN()}},
		{"Ages", simulate.Study{Ages: []float64{0, 1}}}, {"Ages", simulate.Study{Ages: []float64{}}}, {"Batches", simulate.Study{Batches: -1}}} {
		cells := dataerr.All(tt.s.Check())
		require.Len(t, cells, 1)
		require.Equal(t, tt.column, cells[0].Column)
		require.Panics(t, func() { tt.s.Draw(stream(1)) })
	}
}

func BenchmarkDraw(b *testing.B) {
	for _, s := range []simulate.Study{{Tasters: 5}, {Tasters: 12, ReplySD: 0.2, Slips: 0.02}, {Tasters: 24, Glasses: 2, Batches: 8, BatchSD: 0.2, ReplySD: 0.2}} {
		b.Run(fmt.Sprintf("tasters=%d/glasses=%d", s.Tasters, max(s.Glasses, 1)), func(b *testing.B) {
			rng := stream(1)
			b.ReportAllocs()
			for b.Loop() {
				s.Draw(rng)
			}
		})
	}
}

func BenchmarkRun(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := (simulate.Evening{}).Run(stream(1)); err != nil {
			b.Fatal(err)
		}
	}
}
