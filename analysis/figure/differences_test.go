package figure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

func pair(a, b string, from, lower, upper float64) answer.Pair {
	return answer.Pair{A: a, B: b, Mode: "sip_through", Status: answer.OK, Both: 12, Tasters: 12,
		Ratio: answer.Quantile{P: .5, From: n(from), To: n(from), Lower: n(lower), Upper: n(upper), Level: .95, Status: answer.OK}}
}

func unanswered(a, b, why string) answer.Pair {
	return answer.Pair{A: a, B: b, Mode: "sip_through", Status: answer.NotEnough, Why: why}
}

func differences(pairs ...answer.Pair) *answer.Differences {
	return &answer.Differences{Head: answer.Head{Question: "difference", Title: "the drinks", Status: answer.OK, AxisEnd: 16, Invented: true}, Pairs: pairs}
}

func differenceCases() map[string]answer.Answer {
	ranged := pair("stirred, stem glass", "highball, tall glass", 1.3, .9, 2.2)
	ranged.Ratio.To = n(1.6)
	later := pair("stirred, stem glass", "sour, coupe", 2.6, 1.4, math.Inf(1))
	later.Ratio.To = openEnd
	elsewhere := pair("highball, tall glass", "sour, coupe", 1.2, .8, 1.9)
	elsewhere.Evenings = true
	var many []answer.Pair
	for i := range 28 {
		r := math.Exp(.09 * float64(i%20))
		many = append(many, pair(fmt.Sprintf("drink %d, tall glass", i), "egg-white sour, coupe", r, r*.6, r*1.8))
		if i > 24 {
			many[i] = unanswered(fmt.Sprintf("drink %d", i), "sour", "tasted by nobody in common")
		}
	}
	long := strings.Repeat("a drink whose name no list would print in full ", 2)
	return map[string]answer.Answer{
		"differences_three": differences(pair("highball, tall glass", "sour, coupe", 1.4, 1.1, 1.8), pair("stirred, stem glass", "sour, coupe", 2.1, 1.4, 3.2), ranged),
		"differences_one":   differences(pair("stirred", "sour", 1.08, .97, 1.21)),
		"differences_open":  differences(later, pair("stirred", "sour", 1.9, 0, 4), pair("still", "sour", 1.5, .5, 400), elsewhere, pair("frozen", "sour", 24, 3, 90)),
		"differences_unanswered": differences(unanswered("sour, coupe", "highball, tall glass", "no taster tasted both in one manner, and with fewer than five of either nothing can be told of drinkers at large; ask six tasters to taste both on the same evening, at the same ages"),
			pair("stirred, stem glass", "sour, coupe", 2.1, 1.4, 3.2), answer.Pair{A: "x", B: "y", Status: answer.NotConverged}),
		"differences_many":    differences(many...),
		"differences_ten":     differences(many[:10]...),
		"differences_hostile": differences(pair(long, "</svg><script>alert(1)</script>", 3, 1.2, 7), unanswered(long, long, long+long+long+long)),
	}
}

// Whiskers, dots and the line of no difference stand at their ratios; the largest ratio comes first.
func TestDifferences(t *testing.T) {
	bothWidths(t, differenceCases()["differences_three"], func(t *testing.T, d *drawing) {
		require.True(t, d.ratios)
		whiskers := flat(d.with("stroke", leavingInk, "stroke-width", "1.6"))
		require.Len(t, whiskers, 3)
		for i, want := range [][2]float64{{1.4, 3.2}, {1.1, 1.8}, {.9, 2.2}} {
			require.InDelta(t, want[0], d.minutes(whiskers[i].x[0]), .01)
			require.InDelta(t, want[1], d.minutes(whiskers[i].x[1]), .02)
			if i > 0 {
				require.Less(t, whiskers[i].y[0], whiskers[i-1].y[0], "one below the other")
			}
		}
		var dots []float64
		for _, p := range d.with("fill", leavingInk) {
			if p.arcs > 0 {
				dots = append(dots, d.minutes((p.x[0]+p.x[1])/2))
			} else if len(p.points) == 5 {
				require.InDelta(t, 1.3, d.minutes(p.x[0]), .01)
				require.InDelta(t, 1.6, d.minutes(p.x[1]), .01)
			}
		}
		require.InDeltaSlice(t, []float64{2.1, 1.4}, dots, .01)
		var alike []path
		for _, p := range d.with("stroke", "#5D636B", "stroke-width", "", "stroke-dasharray", "") {
			if p.x[0] == p.x[1] {
				alike = append(alike, p)
			}
		}
		require.Len(t, alike, 1)
		require.InDelta(t, 1, d.minutes(alike[0].x[0]), 1e-3)
		for _, w := range []string{"2.1 times (1.40 to 3.2)", "1.40 times (1.10 to 1.80)", "1.30 to 1.60 times (0.90 to 2.2)", "1½", "alike", "times as long"} {
			require.Contains(t, d.words(), w)
		}
		require.NotContains(t, d.words(), "minutes")
	})
}

// An open limit, or one past the axis, is an arrow; a ratio that is open says so.
func TestDifferencesOpen(t *testing.T) {
	bothWidths(t, differenceCases()["differences_open"], func(t *testing.T, d *drawing) {
		for _, w := range []string{"more than 2.6 times (from 1.40)", "1.90 times (up to 4.0)", "1.50 times (0.50 to 400)", "24 times (3.0 to 90)"} {
			require.Contains(t, d.words(), w)
		}
		arrows := 0
		for _, p := range d.with("fill", leavingInk) {
			if p.arcs == 0 && len(p.points) <= 4 {
				arrows++
			}
		}
		require.Equal(t, 3, arrows, "open above, open below, past the axis")
	})
}

func TestDifferencesNotAnswered(t *testing.T) {
	bothWidths(t, differenceCases()["differences_unanswered"], func(t *testing.T, d *drawing) {
		require.Len(t, flat(d.with("stroke", leavingInk, "stroke-width", "1.6")), 1)
		require.Contains(t, d.words(), "no taster tasted both")
		require.Contains(t, d.words(), "not told: not converged")
		y := map[string]float64{}
		for _, tx := range d.texts {
			y[tx.s] = tx.y
		}
		require.Greater(t, y["2.1 times (1.40 to 3.2)"], y["not told: not converged"], "what is answered stands first")
	})
	for name, a := range map[string]*answer.Differences{"none": differences(), "none answered": differences(unanswered("a", "b", "why"))} {
		_, err := figure.Of(a, 0)
		require.ErrorIs(t, err, figure.ErrNoFigure, name)
	}
}

// Of more than fifteen pairs the fifteen largest ratios are drawn, and the rest is counted.
func TestDifferencesMany(t *testing.T) {
	a := differenceCases()["differences_many"]
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		require.Len(t, flat(d.with("stroke", leavingInk, "stroke-width", "1.6")), 15)
		require.Contains(t, d.words(), "and 13 more: in the table")
		require.Contains(t, d.words(), "drink 19, tall glass", "the largest")
		require.NotContains(t, d.words(), "drink 0,", "the smallest")
	})
	f, err := figure.Of(a, 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "And 13 more in the table.")
	require.Equal(t, 15, strings.Count(f.Alt(), " over "))
}

func TestDifferencesAlt(t *testing.T) {
	f, err := figure.Of(differenceCases()["differences_unanswered"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "stirred, stem glass over sour, coupe: 2.1 times (1.40 to 3.2).")
	require.Contains(t, f.Alt(), "sour, coupe over highball, tall glass: not answered, no taster tasted both")
	f, err = figure.Of(differenceCases()["differences_open"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "highball, tall glass over sour, coupe: 1.20 times (0.80 to 1.90), on different evenings.")
	f, err = figure.Of(differenceCases()["differences_one"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "1.08 times (0.97 to 1.21)")
}
