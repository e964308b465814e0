package figure_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// Styles by which marks are known in the file.
const (
	leavingInk = "#D55E00"
	windowInk  = "#0072B2"
	actDash    = "5,3"
	boxDash    = "2,2"
)

// bothWidths runs a test on the wide and the narrow drawing of an answer.
func bothWidths(t *testing.T, a answer.Answer, check func(t *testing.T, d *drawing)) {
	t.Helper()
	for name, width := range widths {
		t.Run(name, func(t *testing.T) { check(t, draw(t, a, width)) })
	}
}

// The act is one dashed line through every panel of every figure, at the act's minute, and minutes stand above minutes.
func TestActLineThroughEveryFigure(t *testing.T) {
	for suffix, width := range widths {
		zero, scale := -1.0, 0.0
		for name, a := range cases() {
			switch a.(type) {
			case *answer.Compare, *answer.Differences: // several drinks stand on an axis of their own
				continue
			}
			d := draw(t, a, width)
			if zero < 0 {
				zero, scale = d.zero, d.scale
				edges := map[int][2]float64{figure.Wide: {168, 704}, figure.Narrow: {44, 348}}[width]
				require.InDelta(t, edges[0], d.zero, .01, "the data area begins at the look's left edge")
				require.InDelta(t, edges[1], d.zero+16*d.scale, .01, "and ends at its right")
			}
			require.Equal(t, zero, d.zero, "%s %s: left edge", name, suffix)
			require.InDelta(t, scale, d.scale, 1e-3, "%s %s: width of a minute", name, suffix)
			lines := d.with("stroke-dasharray", actDash)
			act := a.Common().Act
			if !act.Finite() {
				require.Empty(t, lines, name)
				continue
			}
			panels := 1
			switch a := a.(type) {
			case *answer.Lifetime:
				panels = len(a.Parts)
			case *answer.Rejections:
				panels = len(a.Parts)
			case *answer.Scores:
				panels = len(a.Attributes)
			case *answer.GoesFirst:
				panels = 0
				for _, p := range a.Parts {
					panels += len(p.Attributes)
				}
			case *answer.Readings:
				panels = len(a.Series)
			}
			require.Len(t, lines, panels, "%s: a line through every panel", name)
			for _, l := range lines {
				require.InDelta(t, act.Float(), d.minutes(l.points[0][0]), .012, name)
				require.Equal(t, l.x[0], l.x[1], "%s: upright", name)
				require.Equal(t, "#1F2328", l.style["stroke"], name)
			}
		}
	}
}

func TestRibbonStrip(t *testing.T) {
	bothWidths(t, serveBy(nil), func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{0, 3.5}}, d.with("fill", windowInk), "solid to the act")
		d.requireSpans([][2]float64{{3.5, 6}}, d.with("stroke", windowInk, "stroke-width", "", "fill", "none"), "outline of the screen to the lower limit of half")
		require.Contains(t, d.words(), "serve by 3½")
		require.Contains(t, d.words(), "half: 7½ (6 to 9½)")
	})
	bothWidths(t, ribbons()["ribbon_not_tasted"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{2, 3.5}}, d.with("fill", windowInk), "no ink where nobody tasted")
		d.requireSpans([][2]float64{{0, 2}, {12, 16}}, d.with("stroke-width", "0.8"), "hatching")
	})
	bothWidths(t, ribbons()["ribbon_starts_late"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{2, 5}}, d.with("fill", windowInk), "begins when it may be handed over")
	})
	bothWidths(t, ribbons()["ribbon_never"], func(t *testing.T, d *drawing) {
		require.Empty(t, d.with("fill", windowInk), "nothing is promised")
		require.Contains(t, d.words(), "serve at once")
	})
}

func TestRibbonHalf(t *testing.T) {
	whisker := func(d *drawing) (long, caps []path) {
		for _, p := range d.with("stroke", leavingInk, "stroke-width", "1.6") {
			if p.x[0] == p.x[1] {
				caps = append(caps, p)
			} else {
				long = append(long, p)
			}
		}
		return long, caps
	}
	for name, tt := range map[string]struct {
		line, estimate [2]float64
		caps           [][2]float64
		dots, bars     int
		words          string
	}{
		"ribbon_usual":      {[2]float64{6, 9.5}, [2]float64{7.5, 7.5}, [][2]float64{{6, 6}, {9.5, 9.5}}, 1, 0, "half: 7½ (6 to 9½)"},
		"ribbon_interval":   {[2]float64{6, 10.1}, [2]float64{7.1, 8.2}, [][2]float64{{6, 6}, {10.1, 10.1}}, 0, 1, "half: 7 to 8 (6 to 10)"},
		"ribbon_open_lower": {[2]float64{0, 9.5}, [2]float64{4.1, 6}, [][2]float64{{9.5, 9.5}}, 0, 1, "half: 4 to 6 (up to 9½)"},
		"ribbon_open_upper": {[2]float64{6, 16}, [2]float64{12, 14}, [][2]float64{{6, 6}}, 0, 1, "half: 12 to 14 (from 6)"},
		"ribbon_beyond":     {[2]float64{11, 14}, [2]float64{}, [][2]float64{{11, 11}}, 0, 0, "half: later than 14 (from 11)"},
		"ribbon_3_tasters":  {[2]float64{3.9, 12.2}, [2]float64{6.1, 8}, [][2]float64{{3.9, 3.9}, {12.2, 12.2}}, 0, 1, "half: 6 to 8 (4 to 12)"},
	} {
		t.Run(name, func(t *testing.T) {
			bothWidths(t, ribbons()[name], func(t *testing.T, d *drawing) {
				long, caps := whisker(d)
				d.requireSpans([][2]float64{tt.line}, long, "whisker")
				d.requireSpans(tt.caps, caps, "a stroke across where a limit is known, none where it is open")
				var dots, bars []path
				for _, p := range d.with("fill", leavingInk) {
					switch {
					case p.arcs > 0:
						dots = append(dots, p)
					case len(p.points) == 5:
						bars = append(bars, p)
					}
				}
				require.Len(t, dots, tt.dots, "a dot only where the estimate is a number")
				require.Len(t, bars, tt.bars)
				for _, dot := range dots {
					require.InDelta(t, tt.estimate[0], d.minutes((dot.x[0]+dot.x[1])/2), .012)
				}
				if tt.bars == 1 {
					d.requireSpans([][2]float64{tt.estimate}, bars, "estimate")
				}
				require.Contains(t, d.words(), tt.words)
			})
		})
	}
}

func TestRibbonOfSmallPanels(t *testing.T) {
	bars := func(d *drawing) []path { return d.with("stroke", leavingInk, "stroke-width", "5") }
	bothWidths(t, ribbons()["ribbon_5_tasters"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{0, 2}, {3.9, 6.1}, {6, 8}, {7.9, 10}, {14, 16}}, bars(d), "one bar a taster")
		require.Empty(t, d.with("stroke", windowInk, "stroke-width", "1.7"), "no dot screen")
	})
	bothWidths(t, ribbons()["ribbon_2_tasters"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{3.9, 6.1}, {8, 16}}, bars(d), "one bar a taster")
		require.NotContains(t, d.words(), "half", "two tasters have no median")
	})
	bothWidths(t, ribbons()["ribbon_1_taster"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{3.9, 6.1}, {6, 8}, {6.1, 16}}, bars(d), "one bar a pour")
		require.NotContains(t, d.words(), "half", "one taster speaks for themself")
		require.Contains(t, d.words(), "taster A only")
	})
}

func TestLifetimeCurve(t *testing.T) {
	bothWidths(t, life(nil), func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{3.9, 6}, {6.1, 8}, {10, 12}}, d.with("stroke-dasharray", boxDash), "a box round each set")
		d.requireSpans([][2]float64{{0, 3.9}, {6, 6.1}, {8, 10}, {12, 16}}, d.with("stroke", leavingInk, "stroke-width", "2.2"), "a line where the data decide")

		// The heights: "none" and "all" give the scale of shares.
		half := d.with("stroke-dasharray", "2,4")[0].points[0][1]
		boxes := d.with("stroke-dasharray", boxDash)
		curve := d.with("stroke", leavingInk, "stroke-width", "2.2")
		all := curve[0].y[1]
		share := func(y float64) float64 { return .5 + .5*(y-half)/(all-half) }
		for i, want := range [][2]float64{{.75, 1}, {.5, .75}, {0, .375}} {
			require.InDelta(t, want[0], share(boxes[i].y[0]), 2e-3)
			require.InDelta(t, want[1], share(boxes[i].y[1]), 2e-3)
		}
		require.InDelta(t, .375, share(curve[2].y[0]), 2e-3, "a point mass falls at once")

		var limits [][3]float64 // age, lower, upper
		for _, p := range d.with("stroke", leavingInk, "stroke-width", "1.1") {
			if p.x[0] == p.x[1] {
				limits = append(limits, [3]float64{d.minutes(p.x[0]), share(p.y[0]), share(p.y[1])})
			}
		}
		require.Len(t, limits, 4)
		for i, want := range sharesAt() {
			require.InDelta(t, want.AgeMin, limits[i][0], .012)
			require.InDelta(t, want.Lower, limits[i][1], 2e-3)
			require.InDelta(t, want.Upper, limits[i][2], 2e-3)
		}
		for _, p := range d.with("stroke", leavingInk, "stroke-width", "1.6") {
			if p.y[0] == p.y[1] {
				require.InDelta(t, half, p.y[0], .02, "the median's limits stand on the half line")
				d.requireSpans([][2]float64{{6, 12}}, []path{p}, "the median's limits")
			}
		}
	})
	bothWidths(t, lifetimes()["lifetime_open"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{3.9, 6}, {6.1, 8}, {14, 16}}, d.with("stroke-dasharray", boxDash), "the last box runs to the last age")
		d.requireSpans([][2]float64{{0, 3.9}, {6, 6.1}, {8, 14}}, d.with("stroke", leavingInk, "stroke-width", "2.2"), "no line after it")
	})
}

func TestRejectionStrips(t *testing.T) {
	bothWidths(t, replies(nil), func(t *testing.T, d *drawing) {
		var rings, discs int
		rows := map[float64]int{}
		for _, p := range d.paths {
			switch {
			case p.arcs == 0:
			case p.style["stroke"] == "#1F2328":
				rings++
				rows[(p.y[0]+p.y[1])/2]++
			case p.style["fill"] == leavingInk:
				discs++
			}
		}
		// One of each stands in the key. Replies: 4+4+5 would go on, 3+3+3+1 would leave the rest.
		require.Equal(t, 14, rings)
		require.Equal(t, 11, discs)
		require.Len(t, rows, 4, "three strips with an acceptance, and the key")
		all := d.spans(d.with("stroke", leavingInk, "stroke-width", "5"))
		var bars [][2]float64
		for _, s := range all {
			if s[1]-s[0] > .5 && s[0] >= -.01 && s[1] != all[len(all)-1][1] {
				bars = append(bars, s)
			}
		}
		for _, want := range [][2]float64{{0, 2.2}, {3.9, 9.9}, {6.1, 8}} {
			found := false
			for _, got := range bars {
				found = found || abs(got[0]-want[0]) < .012 && abs(got[1]-want[1]) < .012
			}
			require.True(t, found, "interval %v among %v", want, bars)
		}
		require.Greater(t, all[len(all)-1][1], 16.0, "an open interval goes on after the last reply")
	})
}

func TestScorePanels(t *testing.T) {
	a := scoresOf(series("bubbles", false, 8, .4), series("liking", true, 8.5, .4))
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		liking := d.with("stroke", windowInk, "stroke-width", "2.2")
		require.Len(t, liking, 1)
		require.Len(t, liking[0].points, 5)
		for i, pt := range liking[0].points {
			require.InDelta(t, a.Attributes[1].Steps[i].AgeMin, d.minutes(pt[0]), .012)
		}
		other := d.with("stroke", "#5D636B", "stroke-width", "2")
		require.Len(t, other, 1)
		require.Greater(t, liking[0].y[0], other[0].y[1], "the overall score stands first")
		raw := d.with("fill-opacity", "0.30196")
		require.Len(t, raw, 2)
		require.Equal(t, 20, raw[0].moves, "every score of every taster")
		for i, pt := range a.Attributes[1].Points {
			require.InDelta(t, pt.AgeMin, d.minutes(raw[0].points[3*i][0]-2.1), .012, "no jitter")
		}
	})
}

func abs(x float64) float64 { return max(x, -x) }
