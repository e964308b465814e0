package figure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

// Tasters who had not left a drink when it was last seen are not drawn as having left it: the curve ends in an arrow at
// their share and never comes down to none.
func TestCurveOfThoseWhoNeverLeft(t *testing.T) {
	a := life(func(a *answer.Lifetime) {
		a.Parts[0].Curve.Sets = []answer.Set{{L: answer.Of(4), R: answer.Of(6), Mass: .5}, {L: answer.Of(16), R: answer.Of(math.Inf(1)), Mass: .5}}
		a.Parts[0].Shares = a.Parts[0].Shares[:1]
	})
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		lowest, right := math.Inf(1), 0.0
		for _, p := range d.with("stroke", leavingInk, "stroke-width", "2.2") {
			lowest, right = min(lowest, p.y[0]), max(right, p.x[1])
		}
		require.NotEmpty(t, d.with("stroke", leavingInk, "stroke-width", "2.2"))
		var half float64
		for _, tx := range d.texts {
			if tx.s == "half" {
				half = tx.y + 4
			}
		}
		require.InDelta(t, half, lowest, 4, "half of them are still going on at the end")
		require.Greater(t, d.minutes(right), 16.0, "and the curve points on")
	})
}

// The same taster in two evenings has two strips with names that tell them apart.
func TestStripsOfTwoEvenings(t *testing.T) {
	g := func(session string) answer.GlassReplies {
		x := glass("E", "p1", answer.Of(4), answer.Of(6), []float64{2, 4}, []float64{6})
		x.Session = session
		return x
	}
	a := replies(func(a *answer.Rejections) {
		a.Parts[0].Glasses = []answer.GlassReplies{g("mon"), g("tue"), glass("F", "p2", answer.Of(2), answer.Of(4), []float64{2}, []float64{4})}
	})
	words := draw(t, a, 720).words()
	require.Contains(t, words, "E, p1, mon")
	require.Contains(t, words, "E, p1, tue")
	require.Contains(t, words, "\nF\n")
}

// The arrow of an open upper limit is not covered by an estimate that reaches the last age tasted.
func TestOpenLimitBesideTheLastAge(t *testing.T) {
	q := half(answer.Of(4), answer.Of(12), answer.Of(16), answer.Of(math.Inf(1)))
	a := serveBy(func(a *answer.ServeBy) { a.Ribbon.Half, a.Ribbon.HasHalf = q, true })
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		right, arrow := 0.0, 0.0
		for _, p := range d.with("fill", leavingInk) {
			if len(p.points) <= 4 && p.moves == 1 && p.arcs == 0 && p.x[1]-p.x[0] <= 7 {
				arrow = max(arrow, p.x[1])
				continue
			}
			right = max(right, p.x[1])
		}
		require.Positive(t, right, "the bar of the estimate")
		require.Greater(t, arrow, right+5, "the arrow's tip stands past the bar")
		require.LessOrEqual(t, arrow, d.width)
	})
}
