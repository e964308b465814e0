package figure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// scaleOf gives the share at a height: the half line stands at .5, the words all and none four px below 1 and 0.
func (d *drawing) scaleOf() (share func(y float64) float64) {
	at := map[string]float64{}
	for i := len(d.texts) - 1; i >= 0; i-- { // the first panel's stand
		at[d.texts[i].s] = d.texts[i].y + 4
	}
	return func(y float64) float64 { return (y - at["none"]) / (at["all"] - at["none"]) }
}

// crossingOf is the minute at which a line comes down to a share.
func (d *drawing) crossingOf(line path, share func(float64) float64, level float64) float64 {
	for i := 1; i < len(line.points); i++ {
		a, b := line.points[i-1], line.points[i]
		if share(a[1]) >= level && share(b[1]) <= level {
			f := 0.0
			if a[1] != b[1] {
				f = (share(a[1]) - level) / (share(a[1]) - share(b[1]))
			}
			return d.minutes(a[0] + f*(b[0]-a[0]))
		}
	}
	return math.NaN()
}

// whiskerAt gives the line of a whisker at a share.
func (d *drawing) whiskerAt(share func(float64) float64, level float64) (out []path) {
	for _, p := range d.with("stroke", leavingInk, "stroke-width", "1.6") {
		if p.y[0] == p.y[1] && abs(share(p.y[0])-level) < .003 {
			out = append(out, p)
		}
	}
	return out
}

// The curve of the headline leads: it crosses the half line at the half that is printed and nine in ten at the one in ten,
// where the dot and the ring stand, and goes from the making to the last age.
func TestHeadlineCurve(t *testing.T) {
	a := told(headline(nil), nil)
	h := a.Parts[0].Headline
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		share := d.scaleOf()
		lines := d.with("stroke", leavingInk, "stroke-width", "2.2")
		require.Len(t, lines, 1, "no other line is as strong")
		curve := lines[0]
		d.requireSpans([][2]float64{{0, 16}}, lines, "from the making to the last age")
		for _, pt := range curve.points[1:] {
			require.InDelta(t, going(h.LogMedian.Float(), h.LogSD.Float(), d.minutes(pt[0]), 0), share(pt[1]), 2e-3)
		}
		require.InDelta(t, 7.5, d.crossingOf(curve, share, .5), .01)
		require.InDelta(t, h.Quantiles[1].From.Float(), d.crossingOf(curve, share, .9), .012)

		var dots, rings []path
		for _, p := range d.paths {
			switch {
			case p.arcs == 0:
			case p.style["fill"] == leavingInk:
				dots = append(dots, p)
			case p.style["stroke"] == leavingInk:
				rings = append(rings, p)
			}
		}
		for name, m := range map[string]struct {
			at  []path
			age float64
			y   float64
		}{"half": {dots, 7.5, .5}, "one in ten": {rings, h.Quantiles[1].From.Float(), .9}} {
			require.Len(t, m.at, 1, name)
			require.InDelta(t, m.age, d.minutes((m.at[0].x[0]+m.at[0].x[1])/2), .012, name)
			require.InDelta(t, m.y, share((m.at[0].y[0]+m.at[0].y[1])/2), 3e-3, name)
		}
		d.requireSpans([][2]float64{{6, 9.5}}, d.whiskerAt(share, .5), "limits of half")
		d.requireSpans([][2]float64{{3, 6}}, d.whiskerAt(share, .9), "limits of one in ten")
		require.Contains(t, d.words(), "half: 7½ (6 to 9½)")
		require.Contains(t, d.words(), "one in ten: 4½ (3 to 6)")

		boxes := d.with("stroke-dasharray", boxDash)
		d.requireSpans([][2]float64{{3.9, 6}, {6.1, 8}, {10, 12}}, boxes, "the curve without a family keeps its boxes")
		for _, b := range boxes {
			require.Equal(t, "none", b.style["fill"])
		}
		for _, p := range d.with("fill", leavingInk) {
			require.NotEqual(t, 5, len(p.points), "and they are not filled")
		}
	})
}

// The band meets the limits of the headline's shares at each age step, and the curve never leaves it.
func TestHeadlineBand(t *testing.T) {
	a := told(headline(nil), nil)
	h := a.Parts[0].Headline
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		share := d.scaleOf()
		edges := d.with("stroke", leavingInk, "stroke-width", "", "fill", "none")
		require.Len(t, edges, 2)
		at := func(p path, age float64) float64 {
			for i := 1; i < len(p.points); i++ {
				a, b := p.points[i-1], p.points[i]
				if lo, hi := min(a[0], b[0]), max(a[0], b[0]); d.minutes(lo) <= age+1e-3 && d.minutes(hi) >= age-1e-3 && hi > lo {
					return share(a[1] + (d.zero+age*d.scale-a[0])/(b[0]-a[0])*(b[1]-a[1]))
				}
			}
			return math.NaN()
		}
		upper, lower := edges[0], edges[1]
		for _, s := range h.Shares {
			require.InDelta(t, s.Upper, at(upper, s.AgeMin), 3e-3)
			require.InDelta(t, s.Lower, at(lower, s.AgeMin), 3e-3)
		}
		for age := 2.; age <= 16; age += .25 {
			s := going(h.LogMedian.Float(), h.LogSD.Float(), age, 0)
			require.Greater(t, at(upper, age)+2e-3, s, "at %v", age)
			require.Less(t, at(lower, age)-2e-3, s, "at %v", age)
		}
	})
}

// A headline that is one fall stands in a box of the ages that the data leave open, or falls at its age.
func TestHeadlineOfOneFall(t *testing.T) {
	bothWidths(t, headlines()["headline_range"], func(t *testing.T, d *drawing) {
		share := d.scaleOf()
		fall := d.with("stroke-dasharray", "1.4,2.8")
		d.requireSpans([][2]float64{{6.1, 8}}, fall, "box")
		require.InDelta(t, 0, share(fall[0].y[0]), 3e-3)
		require.InDelta(t, 1, share(fall[0].y[1]), 3e-3)
		d.requireSpans([][2]float64{{0, 6.1}, {8, 16}}, d.with("stroke", leavingInk, "stroke-width", "2.2"), "all before it, none after it")
		require.Contains(t, d.words(), "half: 6 to 8 (4 to 12)")
	})
	bothWidths(t, headlines()["headline_fall"], func(t *testing.T, d *drawing) {
		curve := d.with("stroke", leavingInk, "stroke-width", "2.2")
		require.Len(t, curve, 1)
		require.InDelta(t, 7, d.crossingOf(curve[0], d.scaleOf(), .5), .012)
	})
}

// What lies past the last age is not drawn as seen, and limits past the axis are arrows whose number is printed.
func TestHeadlinePastTheLastAge(t *testing.T) {
	bothWidths(t, headlines()["headline_beyond"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "half: later than 16 (13 to 44)")
		for _, p := range d.with("fill", leavingInk) {
			require.Zero(t, p.arcs, "no dot for a half that nobody saw")
		}
		d.requireSpans([][2]float64{{13, 16}}, d.whiskerAt(d.scaleOf(), .5), "to an arrow at the last age")
	})
	bothWidths(t, headlines()["headline_far_limits"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "half: 7½ (6 to 38)")
		d.requireSpans([][2]float64{{6, 16}}, d.whiskerAt(d.scaleOf(), .5), "the axis is that of every other figure")
	})
	bothWidths(t, headlines()["headline_all_accept"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "half: later than 16")
		require.NotContains(t, d.words(), "in ten")
	})
}

// A fit that did not converge is not drawn: what stands without a family is.
func TestHeadlineNotConverged(t *testing.T) {
	bothWidths(t, headlines()["headline_not_converged"], func(t *testing.T, d *drawing) {
		require.NotContains(t, d.words(), "in ten")
		require.Contains(t, d.words(), "half: 6 to 8 (6 to 12)")
		require.Empty(t, d.with("stroke-opacity", "0.4"), "no band")
		d.requireSpans([][2]float64{{0, 3.9}, {6, 6.1}, {8, 10}, {12, 16}}, d.with("stroke", leavingInk, "stroke-width", "2.2"), "the curve without a family leads")
	})
}

// The bracket of other choices and the diamonds of evenings and batches stand at their minutes.
func TestHeadlineRail(t *testing.T) {
	bothWidths(t, headlines()["headline_groups"], func(t *testing.T, d *drawing) {
		var brackets []path
		for _, p := range d.with("stroke", darkInk, "stroke-width", "", "stroke-dasharray", "") {
			if p.x[1] > p.x[0] {
				brackets = append(brackets, p)
			}
		}
		d.requireSpans([][2]float64{{6.6, 8.1}}, brackets, "other choices")
		require.Contains(t, d.words(), "other choices")
		var diamonds [][2]float64
		none := d.scaleOf()
		for _, p := range d.with("fill", leavingInk) {
			if len(p.points) >= 6 && p.arcs == 0 && p.style["fill-opacity"] == "" {
				require.Less(t, none(p.y[1]), 0., "below the line of none")
				diamonds = append(diamonds, [2]float64{d.minutes(p.x[0] + 4.5), d.minutes(p.x[1] - 4.5)})
			}
		}
		want := [][2]float64{{7, 7}, {8.2, 8.2}, {6, 7.1}, {5.4, 5.4}, {6, 6}, {9, 9}, {7, 7}, {7.8, 7.8}, {7.4, 7.4}}
		require.Len(t, diamonds, len(want), "quiet has no half")
		for i := range want {
			require.InDelta(t, want[i][0], diamonds[i][0], .012)
			require.InDelta(t, want[i][1], diamonds[i][1], .012)
		}
		d.requireSpans([][2]float64{{0, 16}, {4, 10}, {4, 10.3}, {4.9, 11.2}, {5, 8}, {5, 9}, {6, 15.8}}, flat(d.with("stroke", leavingInk, "stroke-width", "1.2")), "limits")
		require.NotContains(t, d.words(), "471", "limits of two tasters say nothing")
		for _, w := range []string{"weeknight", "a saturday", "not told", "batches like these"} {
			require.Contains(t, d.words(), w)
		}
	})
	bothWidths(t, headlines()["headline_many_evenings"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "11 evenings")
		require.NotContains(t, d.words(), "batch", "only up to six are drawn")
	})
}

// flat keeps strokes that lie level.
func flat(paths []path) (out []path) {
	for _, p := range paths {
		if p.y[0] == p.y[1] {
			out = append(out, p)
		}
	}
	return out
}

func TestHeadlineAlt(t *testing.T) {
	for name, want := range map[string][]string{
		"headline_usual":       {"Half have reached their limit at 7½ (6 to 9½) minutes. One in ten have reached it at 4½ (3 to 6) minutes.", "Without a family: half at 6 to 8 (6 to 12) minutes.", "Under other choices half lies between 6.6 and 8.1 minutes."},
		"headline_small_panel": {"between 7.1 and 7.8 minutes, and is open or not told under 2"},
		"headline_early":       {"at 7½ (6 to 9½) minutes (this tends to be early)"},
		"headline_groups":      {"Half, evening by evening, in minutes: weeknight: 7 (5 to 9);", "quiet: not told", "batch by batch", "Over these: 7½ (5 to 11)."},
		"headline_beyond":      {"later than 16 (13 to 44)"},
	} {
		f, err := figure.Of(headlines()[name], 0)
		require.NoError(t, err)
		for _, w := range want {
			require.Contains(t, f.Alt(), w, name)
		}
	}
}

// A headline with a number that has no place is refused.
func TestHeadlineNotANumber(t *testing.T) {
	a := told(headline(func(h *answer.Headline) { h.Shares[1].Lower = math.NaN() }), nil)
	_, err := figure.Of(a, 0)
	require.ErrorContains(t, err, "a share of the headline, its age or its limit is NaN")
}
