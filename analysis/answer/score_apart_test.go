package answer

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// onEvenings puts every taste on the evening that of names for its age step.
func onEvenings(in Input, steps int, of func(k int) string) Input {
	p := in.Panel
	glasses := p.Pours
	at := map[string]int{}
	p.Sessions, p.Pours = nil, nil
	for j := range p.Tastes {
		x := &p.Tastes[j]
		x.Session = of(j % steps)
		name := x.Session + x.Taster
		if _, ok := at[name]; !ok {
			at[name] = len(p.Pours)
			g := glasses[x.Pour]
			g.Session, g.Batch = x.Session, ""
			p.Pours = append(p.Pours, g)
		}
		x.Pour = at[name]
	}
	for k := range steps {
		p.Sessions = append(p.Sessions, panel.Session{Name: of(k)})
	}
	return in
}

// Ages that share no evening are tied by the curve alone: the window says so, and differences are not answered. One age on both
// evenings ties them.
func TestAgesOnEveningsApart(t *testing.T) {
	for name, tt := range map[string]struct {
		of   func(k int) string
		said bool
	}{
		"two evenings":              {func(k int) string { return fmt.Sprint(k / 3) }, true},
		"six evenings":              {func(k int) string { return fmt.Sprint(k) }, true},
		"two evenings, alternating": {func(k int) string { return fmt.Sprint(k % 2) }, true},
		"one evening":               {func(int) string { return "0" }, false},
	} {
		in := onEvenings(scored(8, sixAges, -0.3, 7), len(sixAges), tt.of)
		w := mustWindow(t, in, sour)
		require.True(t, w.answered(), name)
		require.Equal(t, tt.said, strings.Contains(strings.Join(w.Warnings, " "), "No evening joins"), name)
		require.Equal(t, tt.said, agesOf(t, in).Status == NotEnough, name)
	}
	in := onEvenings(scored(8, sixAges, -0.3, 7), len(sixAges), func(k int) string { return fmt.Sprint(k / 3) })
	for j := range in.Panel.Tastes { // three tasters have their third age on the other evening
		if x := &in.Panel.Tastes[j]; j%6 == 2 && j/6 < 3 {
			x.Session, x.Pour = "1", in.Panel.Tastes[j+1].Pour
		}
	}
	require.NotContains(t, strings.Join(mustWindow(t, in, sour).Warnings, " "), "No evening joins")
	require.Equal(t, OK, agesOf(t, in).Status)
}

// Tasters who fall along lines of their own leave no scatter. That is no reason to take them to fall alike: limits of the mean
// would be those of 25 scores, not of five tasters.
func TestOwnLinesAreNotTakenToBeAlike(t *testing.T) {
	var rows [][]float64
	for i := range 5 {
		var row []float64
		for _, a := range sixAges {
			row = append(row, 9-0.1*float64(i+1)*a)
		}
		rows = append(rows, row)
	}
	in := liked(sixAges, rows...)
	in.Quick = true
	in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit, in.Panel.Settings.SameMargin = true, 7, 1
	w := mustWindow(t, in, sour)
	require.Equal(t, NotEnough, w.Status)
	require.NotContains(t, w.Warnings, alikeNote)
	a := agesOf(t, in)
	require.Equal(t, []string{NotEnough, whyNothing}, []string{a.Status, a.Unsaid})
	in.Panel.Tastes[7].Scores[0].Value += 0.2 // a scatter
	in.Panel.Tastes[16].Scores[0].Value -= 0.1
	require.Equal(t, OK, agesOf(t, in).Status)
	require.Equal(t, OK, mustWindow(t, in, sour).Status)
}

// A fit that did not settle says so of sameness, too.
func TestSameUpToOfAFitThatDidNotSettle(t *testing.T) {
	a := &AgeDifferences{Head: Head{Status: NotConverged}, Better: "high", Margin: Of(1), SameStatus: BeyondLastAge, SameUpTo: Of(6), Steps: []AgeDifference{{AgeMin: 1}, {AgeMin: 6}}}
	a.tabulate()
	require.Equal(t, []string{"same_up_to", NotConverged}, []string{a.Rows[len(a.Rows)-1].Statistic, a.Rows[len(a.Rows)-1].Status})
}

// Side by side nobody leaves: fewer tasters at an age were given none of it.
func TestFewerTastersSideBySide(t *testing.T) {
	in := scored(8, sixAges, -0.3, 7)
	in.Panel.Tastes = in.Panel.Tastes[:len(in.Panel.Tastes)-1]
	require.Contains(t, words(strings.Join(agesOf(t, in).Warnings, " ")), "7 of 8 tasters are left")
	for j := range in.Panel.Tastes {
		in.Panel.Tastes[j].Mode = panel.SideBySide
	}
	said := words(strings.Join(agesOf(t, in).Warnings, " "))
	require.Contains(t, said, "min rests on 7 of 8 tasters.")
	require.NotContains(t, said, "are left")
}
