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

// spread gives n rows (10 k, 10 k + 5], k = 1..n, out of order.
func spread(n int) []survival.Interval {
	obs := make([]survival.Interval, n)
	for k := range obs {
		obs[k] = survival.Interval{L: float64(10 * (k + 1)), R: float64(10*(k+1) + 5)}
	}
	slices.Reverse(obs)
	return obs
}

func TestExactQuantileByHand(t *testing.T) {
	for _, tt := range []struct {
		n          int
		p, level   float64
		lo, hi     float64
		attained   float64
		reached    bool
		source     string
		lastIsOpen bool
	}{
		{1, 0.5, 0.95, 10, 15, 0, false, "1 - 2/2", false},
		{2, 0.5, 0.95, 10, 25, 0.5, false, "1 - 2/4", false},
		{5, 0.5, 0.95, 10, 55, 0.9375, false, "1 - 2/32", false},
		{6, 0.5, 0.95, 10, 65, 0.96875, true, "1 - 2/64", false},
		{6, 0.5, 0.96875, 10, 65, 0.96875, true, "the level asked is the one attained", false},
		{6, 0.5, 0.97, 10, 65, 0.96875, false, "neither rank reaches 0.015", false},
		{6, 0.5, 0.95, 10, inf, 0.96875, true, "the largest R is open", true},
		{8, 0.5, 0.95, 10, 85, 1 - 2./256, true, "1 - 2/256; ranks 1 and 8", false},
		{9, 0.5, 0.95, 20, 85, 1 - 20./512, true, "ranks 2 and 8: P(B <= 1) = 10/512", false},
		{12, 0.5, 0.95, 30, 105, 1 - 2*79./4096, true, "ranks 3 and 10: P(B <= 2) = (1 + 12 + 66)/4096", false},
		{3, 0.1, 0.95, 0, 35, 1 - 0.001, true, "P(B >= 3) = 0.001 alone; 0.9^3 > 0.025, so no lower end", false},
		{3, 0.9, 0.95, 10, inf, 1 - 0.001, true, "P(B < 1) = 0.001 alone; 0.9^3 > 0.025, so no upper end", false},
		{1, 0.1, 0.95, 10, 15, 0, false, "1 - 0.9 - 0.1", false},
	} {
		obs := spread(tt.n)
		if tt.lastIsOpen {
			obs[0].R = inf
		}
		lim, err := survival.ExactQuantile(obs, tt.p, tt.level)
		require.NoError(t, err)
		why := fmt.Sprintf("n = %d, p = %g, level = %g, by hand: %s", tt.n, tt.p, tt.level, tt.source)
		require.Equal(t, [2]float64{tt.lo, tt.hi}, [2]float64{lim.Lower, lim.Upper}, why)
		require.Equal(t, tt.reached, lim.Reached, why)
		mathtest.Close(t, "level", lim.Level, tt.attained, 1e-12, why)
	}
}

// The lower limit takes sorted L, the upper sorted R, each sorted by itself.
func TestExactQuantileSortsEndsApart(t *testing.T) {
	obs := []survival.Interval{{L: 9, R: 10}, {L: 1, R: 90}, {L: 5, R: 6}, {L: 2, R: 7}, {L: 4, R: 80}, {L: 3, R: 70}, {L: 8, R: 9}, {L: 7, R: 8}, {L: 6, R: 60}}
	lim, err := survival.ExactQuantile(obs, 0.5, 0.95) // ranks 2 and 8 of 9
	require.NoError(t, err)
	require.Equal(t, [2]float64{2, 80}, [2]float64{lim.Lower, lim.Upper})
}

func TestExactShareByHand(t *testing.T) {
	obs := []survival.Interval{{L: 0, R: 4}, {L: 4, R: 4}, {L: 4, R: 6}, {L: 2, R: 6}, {L: 6, R: inf}}
	for _, tt := range []struct {
		t         float64
		sure, may int
		reason    string
	}{
		{0, 5, 5, "none is over at 0"},
		{1, 4, 5, "(0, 4] may be over"},
		{2, 4, 5, "(2, 6] is not over at its L"},
		{3, 3, 5, "(2, 6] may be over too"},
		{4, 2, 3, "the point 4 and (0, 4] are over at 4, (4, 6] is not"},
		{5, 1, 3, "(4, 6] and (2, 6] may be over"},
		{6, 1, 1, "(6, Inf] is not over at 6"},
		{7, 0, 1, "nothing is sure"},
	} {
		lim, err := survival.ExactShare(obs, tt.t, 0.9)
		require.NoError(t, err)
		source := fmt.Sprintf("R 4.2.2 binom.test(x, 5, conf.level = 0.9), lower at x = %d, upper at x = %d: %s", tt.sure, tt.may, tt.reason)
		// binom.test(x, 5, conf.level = 0.9)$conf.int for x = 0..5
		lower := []float64{0, 0.010206218313011493, 0.076440391412328876, 0.18925537743777077, 0.34259168199886131, 0.54928027165305882}
		upper := []float64{0.45071972834694107, 0.65740831800113853, 0.81074462256222912, 0.92355960858767105, 0.98979378168698851, 1}
		mathtest.Close(t, "lower", lim.Lower, lower[tt.sure], 1e-12, source)
		mathtest.Close(t, "upper", lim.Upper, upper[tt.may], 1e-12, source)
		require.Equal(t, 0.9, lim.Level)
		require.True(t, lim.Reached)
	}
	lim, err := survival.ExactShare([]survival.Interval{{L: 3, R: 5}}, 3, 0.95)
	require.NoError(t, err)
	mathtest.Close(t, "lower, 1 of 1", lim.Lower, 0.025, 1e-15, "worked by hand: p = 0.025")
	require.Equal(t, 1.0, lim.Upper)
}

// Exact limits hold their level whatever made the intervals. Invented log-normal times seen by looks every 2 minutes, one in
// five skipped, out after 16; the shares missed stay within what the tails allow plus four Monte Carlo errors.
func TestExactCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	const runs = 4000
	rng := rand.New(rand.NewPCG(20310304, 8))
	median, shareAt := 8.0, 6.0
	share := 0.5 * math.Erfc(math.Log(shareAt/median)/0.5/math.Sqrt2)
	for _, n := range []int{5, 8, 12} {
		missedMedian, missedShare, allowed := 0, 0, 0.0
		for range runs {
			obs := make([]survival.Interval, n)
			for i := range obs {
				at := median * math.Exp(0.5*rng.NormFloat64())
				o := survival.Interval{L: 0, R: inf}
				for look := 2.0; look <= 16; look += 2 {
					if rng.IntN(5) == 0 {
						continue
					}
					if at <= look {
						o.R = look
						break
					}
					o.L = look
				}
				obs[i] = o
			}
			lim, err := survival.ExactQuantile(obs, 0.5, 0.95)
			require.NoError(t, err)
			allowed = 1 - lim.Level
			if median <= lim.Lower || median > lim.Upper {
				missedMedian++
			}
			if lim, err = survival.ExactShare(obs, shareAt, 0.95); err != nil || share < lim.Lower || share > lim.Upper {
				missedShare++
			}
		}
		require.LessOrEqual(t, float64(missedMedian)/runs, allowed+4*math.Sqrt(allowed*(1-allowed)/runs), "median, n = %d", n)
		require.LessOrEqual(t, float64(missedShare)/runs, 0.05+4*math.Sqrt(0.05*0.95/runs), "share, n = %d", n)
	}
}
