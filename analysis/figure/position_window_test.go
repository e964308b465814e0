package figure_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/figure"
)

const (
	tellingInk = "#CC79A7"
	readingInk = "#009E73"
	darkInk    = "#1F2328"
)

// outlines are the 1 px edges of stretches: closed boxes, and those that are open to the right.
func (d *drawing) outlines() []path {
	return d.with("stroke", windowInk, "stroke-width", "", "fill", "none")
}

func (d *drawing) estimates() [][2]float64 {
	return d.spans(d.with("stroke", darkInk, "stroke-width", "2", "stroke-dasharray", ""))
}

// Where a window is solid, dotted, outlined, hatched, where its estimates stand and what is said, in every state.
func TestWindowStrip(t *testing.T) {
	spans := func(ends ...float64) (out [][2]float64) {
		for i := 0; i < len(ends); i += 2 {
			out = append(out, [2]float64{ends[i], ends[i+1]})
		}
		return out
	}
	for name, tt := range map[string]struct {
		solid, edges, hatched [][2]float64
		ticks                 []float64
		dotted                bool
		arrows                int
		words                 string
	}{
		"window_usual":          {spans(0, 6), spans(6, 9.5), nil, []float64{7.5}, true, 0, "at its best until 7½ (6 to 9½)"},
		"window_never":          {nil, spans(0, 16), nil, nil, false, 0, "never reached 7; highest 6.4 at 2\u00a0min"},
		"window_always":         {spans(0, 16), nil, nil, nil, false, 0, "still at its best at 16, the last age tasted"},
		"window_beyond":         {spans(0, 11), spans(11, 14), spans(14, 16), nil, true, 1, "at its best until later than 14 (from 11)"},
		"window_open_lower":     {nil, spans(0, 9.5), nil, []float64{7.5}, true, 0, "at its best until 7½ (up to 9½)"},
		"window_open_upper":     {spans(0, 6), spans(6, 16), nil, []float64{12}, true, 1, "at its best until 12 (from 6)"},
		"window_starts_late":    {spans(3, 9), spans(0, 1, 1, 3, 9, 12), nil, []float64{2, 10.5}, true, 0, "at its best from 2.0 (1.0 to 3.0) until 10½ (9 to 12)"},
		"window_never_sure":     {nil, spans(0, 2, 2, 9.5), nil, []float64{4, 7.5}, true, 0, "at its best from 4 (2 to 8) until 7½ (6 to 9½)"},
		"window_second_run":     {spans(0, 6), spans(6, 9, 11, 13), nil, []float64{7.5}, true, 0, "at its best until 7½ (6 to 9)"},
		"window_not_tasted":     {spans(2, 6), spans(6, 9.5), spans(0, 2, 12, 16), []float64{7.5}, true, 0, "at its best until 7½ (6 to 9½)"},
		"window_from_first":     {spans(0, 6), spans(6, 9.5), nil, []float64{7.5}, true, 0, "at its best until 7½ (6 to 9½)"},
		"window_unsure_start":   {spans(2.5, 6), spans(0, 2.5, 6, 9.5), nil, []float64{7.5}, true, 0, "at its best from 0 (up to 2½) until 7½ (6 to 9½)"},
		"window_always_unsure":  {spans(0, 11), spans(11, 16), nil, nil, true, 1, "still at its best at 16 (from 11), the last age tasted"},
		"window_always_open":    {nil, spans(0, 16), nil, nil, true, 1, "still at its best at 16, the last age tasted; no age is sure"},
		"window_late_to_last":   {spans(3, 16), spans(0, 3), nil, []float64{2}, true, 0, "at its best from 2 (up to 3), still at 16, the last age tasted"},
		"window_late_beyond":    {spans(8, 13), spans(0, 5, 5, 8, 13, 16), nil, []float64{6.6}, true, 1, "at its best from 6½ (5 to 8) until later than 16 (from 13)"},
		"window_late_early_act": {spans(5.5, 6), spans(0, 2, 2, 5.5, 6, 9.5), nil, []float64{4, 7.5}, true, 0, "serve by 3"},
		"window_never_low":      {nil, spans(0, 16), nil, nil, false, 0, "never came down to 3; lowest 3.6 at 2\u00a0min"},
		"window_not_converged":  {spans(0, 3.5), spans(3.5, 9), nil, nil, true, 0, "dotted: surely more than half would"},
		"window_3_tasters":      {spans(0, 6), spans(6, 9.5), nil, []float64{7.5}, false, 0, "at its best until 7½ (6 to 9½)"},
		"window_1_taster":       {spans(0, 6), spans(6, 9.5), nil, []float64{7.5}, false, 0, "taster A only; at its best until 7½ (6 to 9½)"},
	} {
		t.Run(name, func(t *testing.T) {
			bothWidths(t, windows()[name], func(t *testing.T, d *drawing) {
				var filled, arrows []path
				for _, p := range d.with("fill", windowInk) {
					if len(p.points) == 3 {
						arrows = append(arrows, p)
						continue
					}
					filled = append(filled, p)
				}
				d.requireSpans(tt.solid, filled, "solid")
				require.Len(t, arrows, tt.arrows, "an arrow where it goes on past the last age")
				d.requireSpans(tt.edges, d.outlines(), "1 px outlines")
				d.requireSpans(tt.hatched, d.with("stroke-width", "0.8", "stroke", "#5D636B"), "hatched")
				require.Equal(t, tt.dotted, len(d.with("stroke", windowInk, "stroke-width", "1.7")) > 0, "dot screen")
				got := d.estimates()
				require.Len(t, got, len(tt.ticks), "ink ticks at the estimates")
				for i := range got {
					require.InDelta(t, tt.ticks[i], got[i][0], .012)
				}
				require.Contains(t, d.words(), tt.words)
			})
		})
	}
}

func TestLateWindowSaysWhenToHandOver(t *testing.T) {
	wide, narrow := draw(t, windows()["window_starts_late"], figure.Wide), draw(t, windows()["window_starts_late"], figure.Narrow)
	require.Contains(t, wide.words(), "hand it over after 2, drunk by 9")
	require.Contains(t, narrow.words(), "after 2, by 9\u00a0min")
	require.Contains(t, narrow.words(), "serve by 9")
	f, err := figure.Of(windows()["window_starts_late"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "hand it over after 2")
}

// A drink is not handed over after the act, nor named late where it is to be drunk at once.
func TestHandOverBeforeTheAct(t *testing.T) {
	for _, name := range []string{"window_late_early_act", "window_at_once"} {
		bothWidths(t, windows()[name], func(t *testing.T, d *drawing) {
			require.NotContains(t, d.words(), "hand it over")
			require.NotContains(t, d.words(), "after")
		})
		f, err := figure.Of(windows()[name], 0)
		require.NoError(t, err)
		require.NotContains(t, f.Alt(), "hand it over")
	}
	bothWidths(t, windows()["window_no_rail"], func(t *testing.T, d *drawing) {
		require.NotContains(t, d.words(), "would leave the rest", "no name without marks")
		require.Less(t, d.height, draw(t, windows()["window_usual"], int(d.width)).height)
	})
}

// One in ten is a hollow ring, half a filled dot, noticing an open triangle whose tip points at its minute.
func TestMarksOfTheRail(t *testing.T) {
	bothWidths(t, windows()["window_noticed"], func(t *testing.T, d *drawing) {
		at := func(paths []path) (mid []float64) {
			for _, p := range paths {
				if p.arcs > 0 {
					mid = append(mid, d.minutes((p.x[0]+p.x[1])/2))
				}
			}
			return mid
		}
		rings, dots := at(d.with("stroke", leavingInk, "stroke-width", "1.8")), at(d.with("fill", leavingInk))
		require.Len(t, rings, 1)
		require.InDelta(t, 4.5, rings[0], .012)
		require.Len(t, dots, 1)
		require.InDelta(t, 10.5, dots[0], .012)
		tri := d.with("stroke", tellingInk)
		require.Len(t, tri, 1)
		tip := tri[0].points[0]
		require.InDelta(t, 5.5, d.minutes(tip[0]), .012)
		require.Equal(t, tri[0].y[0], tip[1], "the tip is its lowest point")
		require.Greater(t, tip[1], d.with("fill", windowInk)[0].y[1], "above the strip")
		require.Contains(t, d.words(), "told from a fresh one: 5½")
		require.Contains(t, d.words(), "one in ten: 4½ (2½ to 7)")
	})
	for _, name := range []string{"window_3_tasters", "window_1_taster"} {
		bothWidths(t, windows()[name], func(t *testing.T, d *drawing) {
			require.NotContains(t, d.words(), "one in ten", "%s: no ring for a small panel", name)
			require.Empty(t, d.with("stroke", leavingInk, "stroke-width", "1.8"))
		})
	}
}

func TestReadingPanels(t *testing.T) {
	a := measured(nil)
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		lines := d.with("stroke", readingInk)
		require.Len(t, lines, 5, "one line a glass: two of temperature, one of foam, two of CO2")
		dots := d.with("fill", readingInk)
		require.Len(t, dots, 5)
		for i, pt := range a.Series[0].Points[:6] {
			require.InDelta(t, pt.AgeMin, d.minutes(lines[0].points[i][0]), .012, "actual minutes")
			require.InDelta(t, pt.AgeMin, d.minutes(dots[0].points[3*i][0]-2.5), .012)
		}
		require.Equal(t, 6, dots[0].moves)
		// Heights against values, by the first and last number of the axis of the first panel.
		rise := (lines[0].points[5][1] - lines[0].points[0][1]) / (a.Series[0].Points[5].Value - a.Series[0].Points[0].Value)
		require.InDelta(t, rise*(a.Series[0].Points[3].Value-a.Series[0].Points[0].Value), lines[0].points[3][1]-lines[0].points[0][1], .02)
		for _, tx := range d.texts {
			if tx.s == "0" && tx.x < lines[0].x[0]-8 && tx.y > lines[0].y[0] {
				zero := lines[0].points[0][1] - rise*a.Series[0].Points[0].Value
				require.InDelta(t, zero-4, tx.y, .05, "0 °C stands at its height")
			}
		}
		require.Contains(t, d.words(), "temperature, °C (2 glasses)")
		require.Contains(t, d.words(), "foam, mm")
	})
}
