package figure_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// acts are the minutes of the act ticks of a comparison, from the top row down.
func (d *drawing) acts() (out []float64) {
	for _, p := range d.with("stroke-dasharray", actDash) {
		out = append(out, d.minutes(p.x[0]))
	}
	return out
}

func TestCompareRows(t *testing.T) {
	bothWidths(t, comparisons()["compare_three"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{0, 3.5}, {0, 5.5}, {0, 9}}, d.with("fill", windowInk), "solid to the act of each")
		d.requireSpans([][2]float64{{3.5, 6}, {5.5, 8}, {9, 11}}, d.outlines(), "dotted to the lower limit of half")
		require.InDeltaSlice(t, []float64{9, 5.5, 3.5}, d.acts(), .012, "one act a row, the latest first")
		edges := map[float64][2]float64{720: {168, 704}, 360: {44, 348}}[d.width]
		require.InDelta(t, 0, d.minutes(edges[0]), .012)
		require.InDelta(t, 17, d.minutes(edges[1]), .012, "1.3 times the longest (half at 13) is 16.9")
		solid := d.with("fill", windowInk)
		pitch := 36.0
		if d.width == figure.Narrow {
			pitch += 18
		}
		require.InDelta(t, pitch, solid[0].y[0]-solid[1].y[0], .01)
		require.InDelta(t, pitch, solid[1].y[0]-solid[2].y[0], .01)
		require.InDelta(t, 22, solid[0].y[1]-solid[0].y[0], .01, "px of a strip")
	})
	// half at 8 of the third decides the axis: 1.3 x 8 = 10.4; what lies beyond is an arrow at its end.
	bothWidths(t, comparisons()["compare_small_panels"], func(t *testing.T, d *drawing) {
		right := map[float64]float64{720: 704, 360: 348}[d.width]
		require.InDelta(t, 10, d.minutes(right), .012, "1.3 times half at 7.5, up to a whole minute")
		beyond := 0
		for _, p := range d.with("fill", leavingInk) {
			if len(p.points) == 3 && p.x[1] > right-1 {
				beyond++
			}
		}
		require.Equal(t, 3, beyond, "arrows: a taster of the first, a pour of the second, the upper limit of the third")
		require.Len(t, d.with("stroke", leavingInk, "stroke-width", "1.8", "fill", "none"), 8, "a thin bar for each taster or pour")
		require.NotContains(t, d.words(), "one in ten")
	})
}

// Always stands on top and never last, whatever their acts; between them the latest act comes first.
func TestCompareOrder(t *testing.T) {
	a := comparisons()["compare_eight"].(*answer.Compare)
	first := a.Styles[0].Ribbon.Label
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		require.InDeltaSlice(t, []float64{10, 9, 8, 5.5, 3.5, 2, 2}, d.acts(), .012)
		var names []string
		for _, tx := range d.texts {
			for _, known := range []string{"water", "stirred", "on the rock", "sour", "egg-white sour", "spritz"} {
				if tx.s == known {
					names = append(names, tx.s)
				}
			}
		}
		require.Equal(t, []string{"water", "stirred", "on the rock", "sour", "egg-white sour", "spritz"}, names)
		require.Contains(t, d.words(), "never reached 7; highest 6.4 at 2\u00a0min")
		require.Contains(t, d.words(), "still at its best at 12")
		require.Contains(t, d.words(), "no age can be told")
		require.NotContains(t, d.words(), "<b>asked</b> enough\n<", "text stays text")
	})
	require.Equal(t, first, a.Styles[0].Ribbon.Label, "the answer keeps its order")
}

// A comparison says of each window what its marks cannot, when to hand a late drink over, and what its marks mean.
func TestCompareWindows(t *testing.T) {
	bothWidths(t, comparisons()["compare_windows"], func(t *testing.T, d *drawing) {
		for _, w := range []string{"after 2, by 8½\u00a0min", "after 6½, by 12\u00a0min", "still at its best at 16", "later than 16", "never reached 7; highest 6.4 at 2\u00a0min",
			"empty: not yet, or again", "dotted: undecided, or surely more than half would", "tick: begins or ends, at the estimate"} {
			require.Contains(t, d.words(), w)
		}
		require.Equal(t, 3, strings.Count(d.words(), "still at its best at 16"))
		d.requireSpans([][2]float64{{0, 3}, {0, 6}, {0, 6}, {0, 9}, {0, 11}, {0, 16}, {3, 8.5}, {8, 16}}, boxes(d.with("fill", windowInk)), "solid where it is sure")
	})
	f, err := figure.Of(comparisons()["compare_windows"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "late: serve by 8½; hand it over after 2; at its best from 2.0 (1.0 to 3.0) until 10 (8½ to 13)")
}

// boxes keeps areas with four corners.
func boxes(paths []path) (out []path) {
	for _, p := range paths {
		if len(p.points) == 5 && p.arcs == 0 {
			out = append(out, p)
		}
	}
	return out
}
