package figure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// scoreOf gives the score at a height, by the numbers at the ends of the scale, which stand 4 px below them.
func (d *drawing) scoreOf(low, high string, from, to float64) func(y float64) float64 {
	at := map[string]float64{}
	for _, tx := range d.texts {
		if tx.x+8 < d.zero {
			at[tx.s] = tx.y + 4
		}
	}
	return func(y float64) float64 { return from + (to-from)*(y-at[low])/(at[high]-at[low]) }
}

// crossings are the minutes at which a line passes a score.
func (d *drawing) crossings(line path, score func(float64) float64, level float64) (out []float64) {
	for i := 1; i < len(line.points); i++ {
		a, b := line.points[i-1], line.points[i]
		if sa, sb := score(a[1])-level, score(b[1])-level; sa >= 0 != (sb >= 0) {
			out = append(out, d.minutes(a[0]+sa/(sa-sb)*(b[0]-a[0])))
		}
	}
	return out
}

// centres are the minutes of the middles of round marks.
func (d *drawing) centres(paths []path) (out []float64) {
	for _, p := range paths {
		if p.arcs > 0 {
			out = append(out, d.minutes((p.x[0]+p.x[1])/2))
		}
	}
	return out
}

// The average taster's curve passes the limit where the window's ends are marked and printed; limits and surety are drawn at
// their minutes, and every taster and score is there.
func TestAgeCurve(t *testing.T) {
	a := ages()["age_late"].(*answer.PrimeWindow)
	m := a.Main
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		score := d.scoreOf("0", "10", 0, 10)
		curve := d.with("stroke", windowInk, "stroke-width", "2.2")[:1] // the next is in a label
		cross := d.crossings(curve[0], score, 7)
		require.Len(t, cross, 2)
		require.InDelta(t, m.From.Float(), cross[0], .015)
		require.InDelta(t, m.To.Float(), cross[1], .015)
		require.InDeltaSlice(t, []float64{m.From.Float(), m.To.Float(), m.From.Float(), m.To.Float()}, d.centres(d.with("fill", windowInk)), .012, "dots on the limit, and on the rail")
		window := d.with("stroke", windowInk, "stroke-width", "4")
		d.requireSpans([][2]float64{{m.From.Float(), m.To.Float()}}, window, "the window on the limit")
		require.InDelta(t, 7, score(window[0].y[0]), .01)
		d.requireSpans([][2]float64{{m.FromLower.Float(), m.FromUpper.Float()}, {m.ToLower.Float(), m.ToUpper.Float()}}, flat(d.with("stroke", windowInk, "stroke-width", "1.6")), "limits")
		d.requireSpans([][2]float64{{m.FromUpper.Float(), m.AtLeastUntil.Float()}}, boxes(d.with("fill", windowInk, "fill-opacity", "")), "at least until")
		tasters := d.with("stroke", windowInk, "stroke-width", "0.8", "stroke-opacity", "0.4")
		require.Len(t, tasters, len(a.Lines)+1, "each taster, and one in the label")
		for i, l := range a.Lines {
			p := tasters[i].points
			require.InDelta(t, l.Means[0], score(p[0][1]), .02)
			require.InDelta(t, l.Means[len(l.Means)-1], score(p[len(p)-1][1]), .02)
		}
		raw := d.with("fill", darkInk, "fill-opacity", "0.30196")
		require.Len(t, raw, 1)
		require.Equal(t, len(a.Points), raw[0].moves)
		band := d.with("fill", windowInk, "fill-opacity", "0.16078")
		require.Len(t, band, 1)
		require.InDelta(t, a.Curve[60].Upper, score(band[0].y[1]), .02)
		for _, w := range []string{"2 (1 to 3)", "10½ (9 to 11½)", "average taster", "each taster", "liking, 0 to 10"} {
			require.Contains(t, d.words(), w)
		}
		require.NotContains(t, d.words(), "not shown")
	})
}

// What there is no end to see of is told in words, and nothing is marked as seen.
func TestAgeCurveStates(t *testing.T) {
	for name, want := range map[string]struct {
		words []string
		dots  int // on the limit and on the rail
		ring  bool
	}{
		"age_never":         {[]string{"never reached 7; highest 6.9 at 2\u00a0min"}, 0, true},
		"age_always":        {[]string{"still at its best at 16, the last age tasted", "16"}, 0, false},
		"age_always_unsure": {[]string{"later than 16 (from 6½)", "6.6"}, 0, false},
		"age_beyond":        {[]string{"later than 16 (from 6½)", "6.6"}, 0, false},
		"age_open":          {[]string{"6 (up to 16)", "not shown by this panel"}, 2, false},
		"age_again":         {[]string{"3.0 (2.3 to 3.6)", "9.9 to 14.9"}, 2, false},
		"age_low":           {[]string{"off taste, 0 to 10", "6 (4 to 8½)"}, 2, false},
		"age_lost":          {[]string{"never reached 7", "one point lost by", "9½ (from 7)", "the fit did not settle"}, 1, true},
		"age_one_taster":    {[]string{"this taster"}, 2, false},
		"age_no_limit":      {nil, 0, false},
	} {
		bothWidths(t, ages()[name], func(t *testing.T, d *drawing) {
			for _, w := range want.words {
				require.Contains(t, d.words(), w, name)
			}
			require.Len(t, d.centres(d.with("fill", windowInk)), want.dots, name)
			rings := d.centres(d.with("stroke", windowInk, "stroke-width", "2.2"))
			require.Equal(t, want.ring, len(rings) > 0, name)
			for _, p := range d.paths {
				if s := p.style; s["stroke"] == windowInk && (s["stroke-width"] == "2.2" || s["stroke-width"] == "0.8" && s["stroke-opacity"] == "0.4") {
					require.LessOrEqual(t, p.y[1], d.height-31+.01, "%s: no curve leaves the scale", name)
				}
			}
		})
	}
	require.Empty(t, draw(t, ages()["age_no_limit"], 0).with("stroke", windowInk, "stroke-width", "4"))
	d, run := draw(t, ages()["age_again"], 0), ages()["age_again"].(*answer.PrimeWindow).Main.Others[0]
	d.requireSpans([][2]float64{{run.From, run.To}, {run.From, run.To}}, append(d.with("stroke", windowInk, "stroke-width", "4", "stroke-opacity", "0.50196"), d.outlines()...), "the further run on the limit and on the rail")
}

func TestAgeCurveAlt(t *testing.T) {
	for name, want := range map[string][]string{
		"age_late":  {"Age curve of highball, on the rock: expected liking of an average taster", "at its best from 2 (1 to 3) until 10½ (9 to 11½). At least until: 8.9.", "curves of the 8 tasters", "serve by 8½ minutes"},
		"age_never": {"The limit is 7 or more: never reached 7; highest 6.9 at 2"},
		"age_lost":  {"One point lost since fresh by: 9½ (from 7).", "did not settle"},
		"age_low":   {"The limit is 3 or less: at its best until 6 (4 to 8½)."},
		"age_again": {"Again at its best: 9.9 to 14.9."},
	} {
		f, err := figure.Of(ages()[name], 0)
		require.NoError(t, err)
		for _, w := range want {
			require.Contains(t, f.Alt(), w, name)
		}
	}
	f, err := figure.Of(ages()["age_no_limit"], 0)
	require.NoError(t, err)
	require.NotContains(t, f.Alt(), "limit is")
}

func TestAgeCurveRefuses(t *testing.T) {
	a := ages()["age_usual"].(*answer.PrimeWindow)
	a.Curve[4].Upper = math.NaN()
	_, err := figure.Of(a, 0)
	require.ErrorContains(t, err, "the age curve or its limits is NaN")
	a = ages()["age_usual"].(*answer.PrimeWindow)
	a.Lines[2].Means = a.Lines[2].Means[:7]
	_, err = figure.Of(a, 0)
	require.ErrorContains(t, err, "the curve of C has 7 points: want 161")
	for _, change := range []func(*answer.PrimeWindow){
		func(a *answer.PrimeWindow) { a.Curve = nil }, func(a *answer.PrimeWindow) { a.Curve = a.Curve[:1] },
	} {
		a = ages()["age_usual"].(*answer.PrimeWindow)
		change(a)
		_, err = figure.Of(a, 0)
		require.ErrorIs(t, err, figure.ErrNoFigure)
	}
}
