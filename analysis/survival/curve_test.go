package survival_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// Masses 1/4 each on (1, 2.5], the point 3, (4, 6], (8, Inf].
func fourSets(t *testing.T) *survival.Curve {
	c := fit(t, []survival.Interval{{L: 1, R: 2.5}, {L: 3, R: 3}, {L: 4, R: 6}, {L: 8, R: inf}}, nil)
	require.Equal(t, []survival.Interval{{L: 1, R: 2.5}, {L: 3, R: 3}, {L: 4, R: 6}, {L: 8, R: inf}}, c.Sets())
	return c
}

func TestAt(t *testing.T) {
	c := fourSets(t)
	for _, tt := range []struct {
		t, lo, hi float64
		reason    string
	}{
		{-1, 1, 1, "before time began"},
		{0, 1, 1, "before all sets"},
		{1, 1, 1, "an open left end: all mass still to come"},
		{2, 0.75, 1, "inside"},
		{2.5, 0.75, 0.75, "a closed right end: none left"},
		{2.7, 0.75, 0.75, "between sets"},
		{math.Nextafter(3, 0), 0.75, 0.75, "just before a point"},
		{3, 0.5, 0.5, "at a point it is over"},
		{4, 0.5, 0.5, "left end"},
		{math.Nextafter(4, 5), 0.25, 0.5, "just past a left end"},
		{6, 0.25, 0.25, "right end"},
		{8, 0.25, 0.25, "left end of the open set"},
		{9, 0, 0.25, "inside the open set"},
		{1e300, 0, 0.25, "far inside the open set"},
		{inf, 0, 0, "nothing is later than infinity"},
	} {
		lo, hi := c.At(tt.t)
		mathtest.Close(t, "lo", lo, tt.lo, 1e-12, "worked by hand: "+tt.reason)
		mathtest.Close(t, "hi", hi, tt.hi, 1e-12, "worked by hand: "+tt.reason)
	}
	lo, hi := c.At(math.NaN())
	require.True(t, math.IsNaN(lo) && math.IsNaN(hi))
}

func TestQuantile(t *testing.T) {
	c := fourSets(t)
	for _, tt := range []struct {
		p, lo, hi float64
		reason    string
	}{
		{0, 0, 2.5, "nothing over yet: until the first set is"},
		{0.1, 1, 2.5, "crossed in the first set"},
		{0.25, 1, 3, "reached at the end of the first set, kept until the point 3"},
		{0.25 + 1e-10, 1, 3, "the same within 1e-9"},
		{0.25 + 1e-8, 3, 3, "crossed at the point"},
		{0.4, 3, 3, "crossed at the point"},
		{0.5, 3, 6, "reached at the point, kept until (4, 6] is over"},
		{0.75, 4, inf, "reached in (4, 6], never passed for sure"},
		{0.9, 8, inf, "crossed in the open set"},
		{1, 8, inf, "all over: any time after"},
	} {
		lo, hi := c.Quantile(tt.p)
		require.Equal(t, [2]float64{tt.lo, tt.hi}, [2]float64{lo, hi}, "p = %v: %s", tt.p, tt.reason)
	}
	for _, p := range []float64{-0.1, 1.1, math.NaN()} {
		lo, hi := c.Quantile(p)
		require.True(t, math.IsNaN(lo) && math.IsNaN(hi), "p = %v", p)
	}
}

// n equal masses: their running sums miss k/n in the last digits, to either side, and Quantile must not care.
func TestQuantileRounding(t *testing.T) {
	for n := 2; n <= 30; n++ {
		var obs []survival.Interval
		for k := range n {
			obs = append(obs, survival.Interval{L: float64(2 * k), R: float64(2*k + 1)})
		}
		c := fit(t, obs, nil)
		for k := 1; k < n; k++ { // at the end of set k-1, until the end of set k
			lo, hi := c.Quantile(float64(k) / float64(n))
			require.Equal(t, [2]float64{float64(2*k - 2), float64(2*k + 1)}, [2]float64{lo, hi}, "%d/%d", k, n)
		}
	}
}

// What Quantile calls a quantile is what At says about F: F(t-) <= p <= F(t) for some agreeing curve.
func TestQuantileAgreesWithAt(t *testing.T) {
	c := fit(t, intervals(t, "bcos.csv", "treatment", "RadChem"), nil)
	for p := 0.013; p < 1; p += 0.05 {
		lo, hi := c.Quantile(p)
		before, _ := c.At(lo)
		require.GreaterOrEqual(t, before, 1-p, "before the quantile set S is still above")
		_, after := c.At(hi)
		require.LessOrEqual(t, after, 1-p, "after it S is below")
	}
}

func TestCurveCopies(t *testing.T) {
	c := fourSets(t)
	c.Sets()[0] = survival.Interval{L: 99, R: 99}
	c.Mass()[0] = 99
	require.Equal(t, 1.0, c.Sets()[0].L)
	require.InDelta(t, 0.25, c.Mass()[0], 1e-12)
	_, stopped := stopEarly(t)
	require.NotEmpty(t, stopped.Warnings())
	stopped.Warnings()[0] = nil
	require.NotNil(t, stopped.Warnings()[0])
}
