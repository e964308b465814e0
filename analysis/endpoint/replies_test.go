package endpoint

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// small makes a panel of one style, liking 0 to 10, reject limit 4.
func small(mode panel.Mode, rows ...panel.Taste) *panel.Panel {
	p := &panel.Panel{
		Sessions:   []panel.Session{{Name: "one"}},
		Attributes: []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Limit: 4}},
		Settings:   panel.Settings{Overall: "liking", HasLimits: true, PrimeLimit: 7, RejectLimit: 4, Unclear: "either_side"},
		Pours:      []panel.Pour{{Session: "one", ID: "p1", Style: "sour"}, {Session: "one", ID: "p2", Style: "sour", Made: 60e9}},
	}
	for i, r := range rows {
		r.Session, r.Mode, r.Origin = "one", mode, panel.Origin{File: "tastes.csv", Line: i + 2}
		if r.Scores == nil {
			r.Scores = make([]panel.Score, 1)
		}
		p.Tastes = append(p.Tastes, r)
	}
	return p
}

func taste(taster string, pour int, age float64, v panel.Verdict) panel.Taste {
	return panel.Taste{Taster: taster, Pour: pour, Age: panel.Age(age), Verdict: v}
}

func scored(taster string, age, score float64) panel.Taste {
	t := taste(taster, 0, age, panel.NoVerdict)
	t.Scores = []panel.Score{{Value: score, Given: true}}
	return t
}

var sour = Drink{Style: "sour"}

func TestScoreAtLimitIsNoRejection(t *testing.T) {
	p := small(panel.SipThrough, scored("a", 2, 4.1), scored("a", 4, 4), scored("a", 6, 3.9))
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, ByScore, r.Basis)
	require.Equal(t, []bool{false, false, true}, rejects(r.Glasses[0]))

	p.Attributes[0].Better, p.Settings.RejectLimit = panel.BetterLow, 6
	r, err = RepliesOf(small(panel.SipThrough), sour, panel.SipThrough)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	require.Nil(t, r)

	p.Tastes[0].Scores[0].Value, p.Tastes[1].Scores[0].Value, p.Tastes[2].Scores[0].Value = 5.9, 6, 6.1
	r, err = RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, []bool{false, false, true}, rejects(r.Glasses[0]))

	p.Attributes[0].Better, p.Attributes[0].Best, p.Attributes[0].Limit = panel.BetterMiddle, 5, 1
	r, err = RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, []bool{false, false, true}, rejects(r.Glasses[0]))
}

func rejects(g Glass) []bool {
	var out []bool
	for _, r := range g.Replies {
		out = append(out, r.Reject)
	}
	return out
}

// One verdict anywhere in the style makes verdicts the basis; rows without one are left out and counted.
func TestVerdictsAndScoresNeverMixed(t *testing.T) {
	p := small(panel.SipThrough, scored("a", 2, 9), taste("b", 0, 2, panel.Accept))
	both := taste("b", 0, 4, panel.Accept)
	both.Scores = []panel.Score{{Value: 1, Given: true}}
	both.Session, both.Mode = "one", panel.SipThrough
	p.Tastes = append(p.Tastes, both)
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, ByVerdict, r.Basis)
	require.Len(t, r.Glasses, 1)
	require.Equal(t, []panel.LeftOut{{Reason: "no verdict", Rows: 1}}, r.LeftOut)
	require.Equal(t, 1, r.Both)
	require.Equal(t, 1, r.Disagree)
	require.Equal(t, 2, r.Rows)
}

func TestOtherReasonsEndWithoutRejection(t *testing.T) {
	full := taste("a", 0, 6, panel.Reject)
	full.Why = panel.WhyFull
	p := small(panel.SipThrough, taste("a", 0, 2, panel.Accept), taste("a", 0, 4, panel.Accept), full, taste("a", 0, 8, panel.Reject))
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, []bool{false, false}, rejects(r.Glasses[0]))
	require.Len(t, r.LeftOut, 2)
	l := EitherSide.Limit(r.Glasses[0].Replies)
	require.Equal(t, 4.0, l.L)
	require.Equal(t, inf, l.R)

	dead := full
	dead.Why = panel.WhyDrink
	p = small(panel.SipThrough, taste("a", 0, 2, panel.Accept), dead)
	r, err = RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Equal(t, []bool{false, true}, rejects(r.Glasses[0]))
}

// Glasses of one taster stand in the order in which they were made, whatever the order of the rows; every reply keeps
// its place.
func TestGlassesInOrderOfMaking(t *testing.T) {
	p := small(panel.SipThrough, taste("b", 1, 2, panel.Accept), taste("a", 1, 3, panel.Reject), taste("a", 1, 1, panel.Accept), taste("a", 0, 2, panel.Accept))
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	require.Len(t, r.Glasses, 3)
	require.Equal(t, []string{"a p1", "a p2", "b p2"}, []string{r.Glasses[0].Taster + " " + r.Glasses[0].Pour, r.Glasses[1].Taster + " " + r.Glasses[1].Pour, r.Glasses[2].Taster + " " + r.Glasses[2].Pour})
	require.Equal(t, []bool{false, true}, rejects(r.Glasses[1]), "replies in order of age")
	require.Equal(t, panel.Origin{File: "tastes.csv", Line: 3}, r.Glasses[1].Replies[1].Origin)
}

func TestSideBySideRows(t *testing.T) {
	p := small(panel.SideBySide, taste("a", 0, 2, panel.Accept), taste("a", 1, 6, panel.Reject), taste("b", 0, 2, panel.Reject))
	r, err := RepliesOf(p, sour, panel.SideBySide)
	require.NoError(t, err)
	require.Len(t, r.Glasses, 2, "one unit per taster")
	rows := r.StatusRows()
	require.Len(t, rows, 3)
	require.Equal(t, 6.0, rows[1].Time)
	require.True(t, rows[1].Over)
	require.Equal(t, []panel.Mode{panel.SideBySide}, Modes(p, sour))
}
