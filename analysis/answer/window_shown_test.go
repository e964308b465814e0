package answer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// wildFresh: six tasters who lie apart fresh and agree afterwards, near 9 to the last age.
func wildFresh() Input {
	in := liked([]float64{1, 3, 5, 7}, []float64{4, 9.2, 8.8, 8.9}, []float64{10, 8.7, 9.1, 8.6}, []float64{5, 9, 8.5, 9},
		[]float64{10, 9.1, 9, 8.8}, []float64{9, 8.6, 8.9, 9.2}, []float64{9, 9.3, 9.2, 8.7})
	in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit, in.Panel.Settings.Unclear = true, 7, "either_side"
	in.Quick = true
	return in
}

// What is shown begins where the lower limit is at or above the limit, on the page as in the act.
func TestWindowShownFromLaterOn(t *testing.T) {
	in := wildFresh()
	w := mustWindow(t, in, sour)
	require.Equal(t, Always, w.Status)
	require.Less(t, w.Fresh.Lower, 7.0)
	require.Equal(t, Of(7), w.Main.AtLeastUntil)
	from, late := w.shownFrom()
	require.True(t, late)
	require.GreaterOrEqual(t, curveAt(w, from).Lower, 7.0)
	require.Less(t, curveAt(w, from-gridStep).Lower, 7.0)
	require.InDelta(t, w.Main.FromUpper.Float(), from, gridStep)
	said := words(strings.Join(w.Sentences, " "))
	require.Contains(t, said, "These scores show that for every age from "+Age(ceilTenth(from))+" min to the last tasted (97.5 % at each), not for younger ones.")
	require.NotContains(t, said, "every age up to")
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	act, err := NewServeBy(in, sour, life, w)
	require.NoError(t, err)
	require.Contains(t, words(strings.Join(act.Sentences, " ")), "would score it 7 or better from "+Age(ceilTenth(from))+" to 7 min")

	low := wildFresh() // the same where low is better
	low.Panel.Attributes[0].Better, low.Panel.Settings.PrimeLimit = panel.BetterLow, 3
	for i := range low.Panel.Tastes {
		low.Panel.Tastes[i].Scores[0].Value = 10 - low.Panel.Tastes[i].Scores[0].Value
	}
	mirrored, late := mustWindow(t, low, sour).shownFrom()
	require.True(t, late)
	require.InDelta(t, from, mirrored, 1e-9)

	for i := range in.Panel.Tastes { // it ends before the last age, too
		if x := &in.Panel.Tastes[i]; x.Age > panel.Age(6) {
			x.Scores[0].Value -= 4
		}
	}
	w = mustWindow(t, in, sour)
	require.Equal(t, OK, w.Status)
	_, late = w.shownFrom()
	require.True(t, late)
	require.Contains(t, words(strings.Join(w.Sentences, " ")), "min (97.5 % at either end), not before.")

	_, late = mustWindow(t, scored(8, sixAges, -0.3, 7), sour).shownFrom()
	require.False(t, late)
	_, late = mustWindow(t, scored(8, sixAges, -0.3, 9.5), sour).shownFrom()
	require.False(t, late, "nothing is shown")
}

// An estimate below the limit at every age rules a window out only where the limits do, too.
func TestNeverIsAnEstimate(t *testing.T) {
	in := scored(8, sixAges, -0.3, 8.3)
	w := mustWindow(t, in, sour)
	require.Equal(t, Never, w.Status)
	require.Greater(t, w.Fresh.Upper, 8.3)
	reach, ok := w.reach()
	require.True(t, ok)
	require.Equal(t, w.Curve[0].AgeMin, reach.From)
	require.GreaterOrEqual(t, curveAt(w, reach.To).Upper, 8.3)
	require.Less(t, curveAt(w, reach.To+gridStep).Upper, 8.3)
	require.Equal(t, "That it was there is not ruled out: its limits reach 8.3 at ages from 1 to "+Age(reach.To)+" min.", words(w.Sentences[1]))
	_, ok = mustWindow(t, scored(8, sixAges, -0.3, 9.5), sour).reach()
	require.False(t, ok)
}
