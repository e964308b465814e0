package endpoint

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

func attribute(name string, better panel.Direction, limit float64) panel.Attribute {
	return panel.Attribute{Name: name, Ranged: true, High: 10, Better: better, Best: 5, Limit: limit}
}

// scoresOf makes one glass of a taster: one word per attribute, the scores at 2, 4, 6 ... minutes; "." is no score.
func scoresOf(p *panel.Panel, mode panel.Mode, taster, pour, batch string, words ...string) {
	p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: pour, Taster: taster, Style: sour.Style, Serve: sour.Serve, Batch: batch})
	cells := make([][]string, len(words))
	for k, w := range words {
		cells[k] = strings.Fields(w)
	}
	for i := range cells[0] {
		t := panel.Taste{Session: "one", Taster: taster, Pour: len(p.Pours) - 1, Mode: mode, Age: panel.Age(float64(2 + 2*i)), Scores: make([]panel.Score, len(p.Attributes))}
		for k := range words {
			if v, err := strconv.ParseFloat(cells[k][i], 64); err == nil {
				t.Scores[k] = panel.Score{Value: v, Given: true}
			}
		}
		p.Tastes = append(p.Tastes, t)
	}
}

func threeScores() *panel.Panel {
	return &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Overall: "liking", HasLimits: true, RejectLimit: 4},
		Attributes: []panel.Attribute{attribute("bubbles", panel.BetterHigh, 4), attribute("liking", panel.BetterHigh, 4), attribute("warmth", panel.BetterLow, 6), attribute("sourness", panel.BetterMiddle, 3)}}
}

// At the limit nothing has failed; a moved limit asks a point more, or less, of the drink whichever end is better, and stays
// on its scale.
func TestPast(t *testing.T) {
	high, low, middle := attribute("a", panel.BetterHigh, 4), attribute("b", panel.BetterLow, 6), attribute("c", panel.BetterMiddle, 3)
	for _, tt := range []struct {
		a         panel.Attribute
		score, by float64
		past      bool
		reason    string
	}{
		{high, 4, 0, false, "at the limit"}, {high, 3.9, 0, true, "below it"}, {high, 5, 1, false, "at the raised limit"}, {high, 4.9, 1, true, "below the raised one"},
		{high, 3, -1, false, "at the lowered limit"}, {high, 2.9, -1, true, "below the lowered one"},
		{low, 6, 0, false, "at the limit"}, {low, 6.1, 0, true, "above it"}, {low, 5, 1, false, "stricter: at 5"}, {low, 5.1, 1, true, "stricter: above 5"}, {low, 7, -1, false, "laxer: at 7"}, {low, 7.1, -1, true, "laxer: above 7"},
		{middle, 8, 0, false, "three away"}, {middle, 1.9, 0, true, "more than three away"}, {middle, 7, 1, false, "two away"}, {middle, 7.1, 1, true, "more than two away"}, {middle, 9, -1, false, "four away"}, {middle, .9, -1, true, "more than four away"},
		{attribute("d", panel.BetterHigh, 9.5), 10, 1, false, "the best score never fails"}, {attribute("e", panel.BetterLow, .5), 0, 1, false, "the best score never fails"},
		{attribute("f", panel.BetterMiddle, .5), 5, 1, false, "the best score never fails"}, {attribute("f", panel.BetterMiddle, .5), 5.1, 1, true, "no distance is left"},
		{panel.Attribute{Ranged: true, High: 10, Better: panel.BetterMiddle, Best: 5.3, Limit: .3}, 5, 0, false, "rounding of 5.3 - 5 is no failure"},
	} {
		require.Equal(t, tt.past, Past(tt.a, tt.score, tt.by), "%v at %v moved by %v: %s", tt.a, tt.score, tt.by, tt.reason)
	}
}

// Worked by hand: bubbles fail below 4, warmth above 6, sourness more than 3 from 5. Steps 0, 1, 2 ... are 2, 4, 6 ... min.
func TestFirstByHand(t *testing.T) {
	for _, tt := range []struct {
		name     string
		words    [3]string // bubbles, warmth, sourness
		rule     FailRule
		step     int
		which    []int
		atOnce   []int
		unseen   []int
		until    int
		reversed []bool
	}{
		{"bubbles alone", [3]string{"8 5 3 2", "1 3 5 7", "5 5 5 9"}, FailRule{}, 2, []int{0}, nil, nil, 3, []bool{false, false, false}},
		{"two tied", [3]string{"8 5 3 2", "1 3 7 7", "5 5 5 9"}, FailRule{}, 2, []int{0, 1}, nil, nil, 3, []bool{false, false, false}},
		{"all tied, at once", [3]string{"3 2", "9 9", "9 9"}, FailRule{}, 0, []int{0, 1, 2}, []int{0, 1, 2}, nil, 1, []bool{false, false, false}},
		{"nothing", [3]string{"8 4", "1 6", "5 2"}, FailRule{}, -1, nil, nil, nil, 1, []bool{false, false, false}},
		{"a missing step is no failure, and is told", [3]string{"8 . 3 2", "1 7 7 7", "5 . 9 9"}, FailRule{}, 1, []int{1}, nil, []int{0, 2}, 3, []bool{false, false, false}},
		{"failed before, missing then", [3]string{"8 3 . 2", "1 3 7 7", "5 5 5 5"}, FailRule{}, 1, []int{0}, nil, nil, 3, []bool{false, false, false}},
		{"first scored late and past", [3]string{"8 8 8 8", ". . 7 7", "5 5 5 5"}, FailRule{}, 2, []int{1}, []int{1}, nil, 3, []bool{false, false, false}},
		{"one attribute is followed no further", [3]string{"8 8 8 8", "1 1 . .", "5 5 5 5"}, FailRule{}, -1, nil, nil, nil, 1, []bool{false, false, false}},
		{"came back: the first crossing counts", [3]string{"8 3 5 3", "1 3 7 7", "5 5 5 5"}, FailRule{}, 1, []int{0}, nil, nil, 3, []bool{true, false, false}},
		{"for good: the last crossing", [3]string{"8 3 5 3", "1 3 7 7", "5 5 5 5"}, FailRule{ForGood: true}, 2, []int{1}, nil, nil, 3, []bool{true, false, false}},
		{"for good: never, as the last is within", [3]string{"8 3 5 5", "1 7 7 6", "5 9 5 5"}, FailRule{ForGood: true}, -1, nil, nil, nil, 3, []bool{true, true, true}},
		{"stricter", [3]string{"8 4.5 3", "1 3 5", "5 5 5"}, FailRule{Stricter: 1}, 1, []int{0}, nil, nil, 2, []bool{false, false, false}},
		{"laxer", [3]string{"8 3.5 2", "1 3 7.5", "5 5 5"}, FailRule{Stricter: -1}, 2, []int{0, 1}, nil, nil, 2, []bool{false, false, false}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := threeScores()
			scoresOf(p, panel.SipThrough, "a", "g", "", tt.words[0], strings.Repeat("0 ", 4), tt.words[1], tt.words[2])
			h, err := HistoriesOf(p, sour, panel.SipThrough)
			require.NoError(t, err)
			require.Len(t, h.Units, 1)
			require.Equal(t, "pour", h.Unit, "one taster")
			got := h.First(&h.Units[0], tt.rule)
			require.Equal(t, First{Step: tt.step, Which: tt.which, AtOnce: tt.atOnce, Unseen: tt.unseen, Until: tt.until, Reversed: tt.reversed}, got)
		})
	}
}

// Two tastes of one glass at one age step are one look: past its limit once is failed by the first crossing, within it once is
// not yet for good.
func TestTwoTastesOfOneStep(t *testing.T) {
	p := threeScores()
	scoresOf(p, panel.SipThrough, "a", "g", "", "8 3 3", "9 9 9", "1 1 1", "5 5 5")
	again := p.Tastes[1]
	again.Age += panel.Age(.2)
	again.Scores = []panel.Score{{Value: 6, Given: true}, {}, {}, {}}
	p.Tastes = append(p.Tastes, again)
	h, err := HistoriesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, 4, h.Rows)
	first := h.First(&h.Units[0], FailRule{})
	require.Equal(t, 1, first.Step)
	require.True(t, first.Reversed[0])
	require.Equal(t, 2, h.First(&h.Units[0], FailRule{ForGood: true}).Step)
}

// Who and what is compared.
func TestHistories(t *testing.T) {
	p := threeScores()
	p.Attributes = append(p.Attributes, panel.Attribute{Name: "texture"}, attribute("smoke", panel.BetterHigh, 4))
	fine := []string{"8 3", "9 9", "1 1", "5 5"}
	scoresOf(p, panel.SipThrough, "b", "g10", "", fine...)
	scoresOf(p, panel.SipThrough, "b", "g2", "", "8 2", "9 9", "1 1", "5 5") // made before g10
	scoresOf(p, panel.SipThrough, "a", "g1", "", "8 3", "9 9", ". .", "5 5") // not whole
	scoresOf(p, panel.SipThrough, "a", "g3", "", fine...)
	scoresOf(p, panel.SipThrough, "c", "g4", "", "8 3", "9 9", ". .", ". .")
	scoresOf(p, panel.SipThrough, "d", "g5", "", ". .", "9 9", ". .", ". .") // liking alone
	scoresOf(p, panel.SipThrough, "e", "g6", "", "8 3", "9 9", "1 1", "5 5", "3 3", "7 7")
	h, err := HistoriesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	var names, units []string
	for _, a := range h.Attributes {
		names = append(names, a.Name)
	}
	for _, u := range h.Units {
		units = append(units, u.Taster+" "+u.Pour)
	}
	require.Equal(t, []string{"bubbles", "warmth", "sourness"}, names, "the overall score takes no part")
	require.Equal(t, []string{"texture"}, h.NoLimit)
	require.Equal(t, []Seldom{{"smoke", 1, 4}}, h.Seldom)
	require.Equal(t, []string{"a g3", "b g2", "e g6"}, units, "each once: the glass made first that has a score of everything")
	require.Equal(t, []Missing{{"c", []string{"warmth", "sourness"}}}, h.Missing)
	require.Equal(t, 6, h.Rows)
	require.Equal(t, []panel.LeftOut{
		{Reason: "a further glass of a taster who is counted once", Rows: 4},
		{Reason: "no score of an attribute that is compared", Rows: 2},
		{Reason: "of a taster who left out an attribute that is compared", Rows: 2},
	}, h.LeftOut)
	require.Equal(t, len(p.Tastes), h.Rows+8, "every row is used or left out")

	_, err = HistoriesOf(p, sour, panel.SideBySide)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	p.Attributes[2].Ranged, p.Attributes[3].Ranged = false, false
	h, err = HistoriesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Empty(t, h.Units, "one attribute is no race")
	require.Equal(t, []string{"warmth", "sourness", "texture"}, h.NoLimit)
}

// Side by side the first glass of each age step counts, and all glasses of a taster are one history.
func TestHistoriesSideBySide(t *testing.T) {
	p := threeScores()
	for _, taster := range []string{"a", "b"} {
		for i, w := range [][]string{{"8", "9", "1", "5"}, {"3", "9", "1", "5"}, {"8", "9", "1", "9"}} {
			scoresOf(p, panel.SideBySide, taster, fmt.Sprint(taster, i), "", w...)
			p.Tastes[len(p.Tastes)-1].Age = panel.Age([]float64{2, 6.1, 6}[i])
		}
	}
	h, err := HistoriesOf(p, sour, panel.SideBySide)
	require.NoError(t, err)
	require.Equal(t, "taster", h.Unit)
	require.Len(t, h.Units, 2)
	require.Len(t, h.Units[0].Looks, 2)
	first := h.First(&h.Units[0], FailRule{})
	require.Equal(t, 1, first.Step)
	require.Equal(t, []int{2}, first.Which, "the glass at 6 min, not that at 6.1")
	require.Equal(t, []panel.LeftOut{{Reason: "a further glass of one age step", Rows: 2}}, h.LeftOut)
	require.Equal(t, 4, h.Rows)
}

// One taster: each batch is one pour; a glass without a known batch stands for itself.
func TestHistoriesOfOneTaster(t *testing.T) {
	p := threeScores()
	fine := []string{"8 3", "9 9", "1 1", "5 5"}
	for i, batch := range []string{"x", "x", "y", "", ""} {
		scoresOf(p, panel.SipThrough, "a", fmt.Sprint("g", i), batch, fine...)
	}
	scoresOf(p, panel.SipThrough, "a", "g9", "z", "8 3", "9 9", ". .", "5 5")
	h, err := HistoriesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, "pour", h.Unit)
	var pours []string
	for _, u := range h.Units {
		pours = append(pours, u.Pour)
	}
	require.Equal(t, []string{"g0", "g2", "g3", "g4"}, pours)
	require.Equal(t, []panel.LeftOut{{Reason: "a further glass of a batch that is counted once", Rows: 2}, {Reason: "of a glass in which an attribute that is compared was left out", Rows: 2}}, h.LeftOut)
}
