package answer

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// actBeside is the act of a part made by hand beside a window made by hand.
func actBeside(t *testing.T, p LifetimePart, w *PrimeWindow) (act *ServeBy, said string) {
	t.Helper()
	act, err := NewServeBy(twelve(), sour, &Lifetime{Head: Head{Status: OK}, Basis: "verdict", Parts: []LifetimePart{p}}, w)
	require.NoError(t, err)
	return act, words(joinLines(act.Sentences))
}

// What stands beside an act that rests on the scores: who would still go on with it, up to the smallest L itself and where nobody began
// with a no; one in ten where it is told.
func TestWhatStandsBesideAnActOfScores(t *testing.T) {
	const all = "At 3 minutes all 8 tasters would still go on with it."
	p := made(tenthAt(5.2, 5.2))
	act, said := actBeside(t, p, best(1, 5, Of(3)))
	require.Equal(t, []any{Of(3), atItsBest, Of(3)}, []any{act.Act, act.Basis, act.SmallestL})
	require.Contains(t, said, all)
	require.Contains(t, said, "One in ten drinkers like these would leave the rest at about 5 min")
	p.Early, p.EarlyBy = 1, []string{"c"}
	_, said = actBeside(t, p, best(1, 5, Of(3)))
	require.NotContains(t, said, all)
	beyond := tenthAt(12, math.Inf(1))
	beyond.Status, beyond.Beyond = BeyondLastAge, true
	_, said = actBeside(t, made(beyond), best(1, 5, Of(3)))
	require.NotContains(t, said, "One in ten")
}

// A window that never ends is an answer too.
func TestActOfAWindowWithoutEnd(t *testing.T) {
	w := best(1, 5, Of(3.2))
	w.Status, w.Main.Status, w.Main.To, w.Main.ToUpper = Always, Always, Num{}, inf()
	act, _ := actBeside(t, made(tenthAt(5.2, 5.2)), w)
	require.Equal(t, []any{Of(3), atItsBest}, []any{act.Act, act.Basis})
}

// Rounding in the last digits moves no half minute and no tenth.
func TestHandOverAndTenthsAgainstRounding(t *testing.T) {
	w := best(math.Nextafter(2, 3), 9, Of(4))
	act, _ := actBeside(t, made(tenthAt(5.2, 5.2)), w)
	require.Equal(t, Of(2), act.HandOverAfter)
	for _, x := range []float64{0.3, 0.7, 3.3, 4.1} {
		require.Equal(t, math.Round(10*x)/10, floorTenth(math.Nextafter(x, 0)), "%v", x)
		require.InDelta(t, x-0.1, floorTenth(x-0.001), 1e-12)
	}
}

// On the ribbon a window that is open at the youngest age step, a mean of ages, begins at the youngest age tasted.
func TestRibbonWindowBeginsAtTheYoungestAge(t *testing.T) {
	w := best(1, 9, Of(6))
	got := w.fromFirst(0.8)
	require.Equal(t, []Num{Of(0.8), Of(0), Of(0.8)}, []Num{got.From, got.FromLower, got.FromUpper})
	require.Equal(t, Of(1), w.Main.From, "the answer keeps its own")
	w.Main.FromUpper = inf()
	got = w.fromFirst(0.8)
	require.Equal(t, []Num{Of(0.8), inf()}, []Num{got.From, got.FromUpper})
	w.Main.FromUpper = Of(1.4)
	require.Equal(t, Of(1.4), w.fromFirst(0.8).FromUpper)
	late := best(1.5, 9, Of(6)).fromFirst(0.8)
	require.Equal(t, []Num{Of(1.5), Of(1.5)}, []Num{late.From, late.FromUpper})
}
