package survival

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival/internal/law"
)

// What would have been seen of a row had its time been another: by hand.
func TestWatch(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	rows := []Interval{{L: 2, R: 6}, {L: 0, R: 4}, {L: 8, R: math.Inf(1)}, {L: 4, R: math.Inf(1)}, {L: 5, R: 5}}
	d, err := newDesign(Parametric{Family: Weibull}, rows, nil, nil)
	require.NoError(t, err)
	see := func(w *watch, k int, time float64) Interval {
		o := w.see(k, d.rows[k], math.Log(time), rng)
		return Interval{L: math.Round(1e6*math.Exp(o.Lo)) / 1e6, R: math.Round(1e6*math.Exp(o.Hi)) / 1e6}
	}
	w := newWatch(d, nil) // looks at 2, 4, 6, 8
	for _, tt := range []struct {
		row  int
		time float64
		want Interval
	}{
		{0, 1, Interval{0, 2}}, {0, 2, Interval{0, 2}}, {0, 3, Interval{2, 6}}, {0, 5, Interval{2, 6}}, {0, 7, Interval{6, 8}}, {0, 9, Interval{8, math.Inf(1)}}, // no look at 4
		{1, 1, Interval{0, 4}}, {1, 5, Interval{4, 6}}, // none at 2
		{2, 3, Interval{2, 4}}, {2, 20, Interval{8, math.Inf(1)}}, {3, 3, Interval{2, 4}}, {3, 7, Interval{4, math.Inf(1)}}, // none after 4
		{4, 3.5, Interval{3.5, 3.5}}, // watched throughout
	} {
		require.Equal(t, tt.want, see(w, tt.row, tt.time), "row %d, time %v", tt.row, tt.time)
	}
	w = newWatch(d, [][]float64{{3}, {1, 5}, nil, nil, {4, 6}})
	require.Equal(t, Interval{3, math.Inf(1)}, see(w, 0, 4))
	require.Equal(t, Interval{1, 5}, see(w, 1, 4))
	require.Equal(t, Interval{7, 7}, see(w, 2, 7), "watched to its end at 8")
	require.Equal(t, Interval{4, math.Inf(1)}, see(w, 3, 7))
	require.Equal(t, Interval{4, 6}, see(w, 4, 5))

	rows = []Interval{{L: 2, R: 2}, {L: 3, R: math.Inf(1)}, {L: 5, R: 5}, {L: 6, R: math.Inf(1)}, {L: 7, R: 7}}
	d, err = newDesign(Parametric{Family: Weibull}, rows, nil, nil)
	require.NoError(t, err)
	w = newWatch(d, nil) // censoring leaves 1 to 3, 3/4 to 6, 3/8 after
	counts := map[Interval]int{}
	for range 4000 {
		counts[see(w, 0, 20)]++
	}
	require.Len(t, counts, 3)
	require.InDelta(t, 1000, counts[Interval{3, math.Inf(1)}], 110) // four standard deviations
	require.InDelta(t, 1500, counts[Interval{6, math.Inf(1)}], 125)
	require.InDelta(t, 1500, counts[Interval{20, 20}], 125)
	for range 50 { // beyond its own 5, half at 6 and half never
		require.NotEqual(t, Interval{3, math.Inf(1)}, see(w, 2, 20))
	}
	require.Equal(t, Interval{6, math.Inf(1)}, see(w, 3, 20))
	require.Equal(t, law.Exact, w.see(3, d.rows[3], 1, rng).Kind)
}
