package figure_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// Whiskers stand at their ages between their limits, discs and rings at the differences, the mark under the axis at the first
// age that is surely worse, the dark part of the band between fresh and the age up to which it is the same.
func TestAgeDifferencesPositions(t *testing.T) {
	for _, name := range []string{"since_usual", "since_margin", "since_low"} {
		a := ageDifferenceCases()[name].(*answer.AgeDifferences)
		bothWidths(t, a, func(t *testing.T, d *drawing) {
			rails := d.with("stroke", muteInk, "stroke-width", "", "stroke-dasharray", "")
			require.NotEmpty(t, rails)
			zero := rails[0].y[0]
			var upright []path
			for _, p := range d.with("stroke", windowInk, "stroke-width", "1.4") {
				if p.x[0] == p.x[1] {
					upright = append(upright, p)
				}
			}
			require.Len(t, upright, len(a.Steps)-1)
			st := a.Steps[1]
			unit := (upright[0].y[1] - upright[0].y[0]) / (st.Upper - st.Lower) // px of a point
			for i, p := range upright {
				st := a.Steps[i+1]
				require.InDelta(t, st.AgeMin, d.minutes(p.x[0]), .02)
				require.InDelta(t, st.Lower*unit, p.y[0]-zero, .05)
				require.InDelta(t, st.Upper*unit, p.y[1]-zero, .05)
			}
			marks := d.with("stroke", inkInk, "stroke-width", "2")
			require.Len(t, marks, map[bool]int{true: 1, false: 0}[a.FirstSure.Finite()])
			if len(marks) == 1 {
				require.InDelta(t, a.FirstSure.Float(), d.minutes(marks[0].x[0]), .02)
			}
		})
	}
}

func TestAgeDifferencesWords(t *testing.T) {
	wide := func(name string) string { return draw(t, ageDifferenceCases()[name], figure.Wide).words() }
	require.Contains(t, wide("since_usual"), "liking: points above or below fresh")
	require.Contains(t, wide("since_usual"), "as fresh  0")
	require.Contains(t, wide("since_margin"), "the same: within 0.5")
	require.NotContains(t, wide("since_usual"), "the same")
	require.NotContains(t, wide("since_unshown"), "surely different")
	require.Contains(t, wide("since_unshown"), "not told apart")
	for name, want := range map[string]string{
		"since_usual":   "-0.4 (-1.2 to 0.4) at 3; -1.4 (-2.3 to -0.5) at 6, surely different; -2.9 (-4.1 to -1.7) at 10, surely different",
		"since_margin":  "The same within 0.5 up to 3.",
		"since_unshown": "The same within 1: not shown at any age.",
		"since_few":     "Above 0 is further from its best.",
	} {
		f, err := figure.Of(ageDifferenceCases()[name], 0)
		require.NoError(t, err)
		require.Contains(t, f.Alt(), want)
	}
}

func TestAgeDifferencesRefuses(t *testing.T) {
	_, err := figure.Of(&answer.AgeDifferences{}, 0)
	require.ErrorIs(t, err, figure.ErrNoFigure)
	bad := since(nil, [2]float64{-1, 1})
	bad.Steps[1].Upper = math.NaN()
	_, err = figure.Of(bad, 0)
	require.ErrorContains(t, err, "an age step is NaN")
}

// Round numbers stand where they belong, 0 always among them, whatever the scale.
func TestAgeDifferencesAxis(t *testing.T) {
	for _, size := range []float64{.2, 1, 7, 45, 3000} {
		a := since(nil, [2]float64{-.3 * size, .4 * size}, [2]float64{-size, .5 * size})
		for i := range a.Own {
			a.Own[i].Score = -size / 2
		}
		for _, width := range widths {
			d := draw(t, a, width)
			d.lettersApart("axis")
			at := map[float64]float64{}
			for _, tx := range d.texts {
				if v, err := strconv.ParseFloat(strings.TrimPrefix(tx.s, "as fresh  "), 64); err == nil && tx.x < d.zero-5 {
					at[v] = tx.y
				}
			}
			require.Contains(t, at, 0.0)
			require.Greater(t, len(at), 2)
			require.Less(t, len(at), 9)
			var unit float64
			for v, y := range at {
				if v == 0 {
					continue
				}
				if unit == 0 {
					unit = (y - at[0]) / v
				}
				require.InEpsilon(t, unit, (y-at[0])/v, 1e-3)
			}
		}
	}
}
