package endpoint

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// glassesOf lists a taster's glasses in the order of their making. Every pour is tasted once by a, in the order given.
func glassesOf(t *testing.T, sessions []panel.Session, pours ...panel.Pour) []string {
	t.Helper()
	p := &panel.Panel{Sessions: sessions, Pours: pours}
	for i := range pours {
		pours[i].Style = "sour"
		p.Tastes = append(p.Tastes, panel.Taste{Session: pours[i].Session, Taster: "a", Pour: i, Mode: panel.SipThrough, Age: panel.Age(2), Verdict: panel.Accept})
	}
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	var out []string
	for _, g := range r.Glasses {
		out = append(out, g.Session+"/"+g.Pour)
	}
	return out
}

func pour(session, id string, made time.Duration) panel.Pour {
	return panel.Pour{Session: session, ID: id, Made: made, HasMade: made > 0}
}

// The glass made first: the evening's date decides, whatever the names of evenings and the hours of making; then the name of
// the evening; then the time of making; then the name of the pour as people count.
func TestGlassMadeFirst(t *testing.T) {
	dated := []panel.Session{{Name: "alpha", Date: "2026-03-09"}, {Name: "beta", Date: "2026-03-02"}}
	require.Equal(t, []string{"beta/p9", "alpha/p1"}, glassesOf(t, dated, pour("alpha", "p1", time.Hour), pour("beta", "p9", 20*time.Hour)), "dates before names and hours")
	require.Equal(t, []string{"beta/p9", "alpha/p1"}, glassesOf(t, dated, pour("beta", "p9", 0), pour("alpha", "p1", 0)))
	same := []panel.Session{{Name: "eve 10", Date: "2026-03-02"}, {Name: "eve 2", Date: "2026-03-02"}}
	require.Equal(t, []string{"eve 2/p1", "eve 10/p1"}, glassesOf(t, same, pour("eve 10", "p1", time.Hour), pour("eve 2", "p1", 2*time.Hour)), "evenings of one date by name, as people count")
	one := []panel.Session{{Name: "one"}}
	require.Equal(t, []string{"one/p9", "one/p1"}, glassesOf(t, one, pour("one", "p1", 2*time.Hour), pour("one", "p9", time.Hour)), "made before names")
	require.Equal(t, []string{"one/p2", "one/p10"}, glassesOf(t, one, pour("one", "p10", 0), pour("one", "p2", 0)), "p2 before p10")
	require.Equal(t, []string{"one/p2", "one/p10"}, glassesOf(t, one, pour("one", "p10", time.Hour), pour("one", "p2", time.Hour)), "made at one time")
	require.Equal(t, []string{"one/p2", "one/p10"}, glassesOf(t, one, pour("one", "p10", time.Hour), pour("one", "p2", 0)), "one time unknown")
	require.Equal(t, []string{"one/p2", "one/p10"}, glassesOf(t, one, pour("one", "p10", 0), pour("one", "p2", time.Hour)), "the other time unknown")
}

func TestNatural(t *testing.T) {
	ordered := []string{"", "2", "10", "p", "p2", "p2b", "p10", "p10a", "q1"}
	for i, a := range ordered {
		for j, b := range ordered {
			want := 0
			if i < j {
				want = -1
			} else if i > j {
				want = 1
			}
			require.Equal(t, want, natural(a, b), "%q and %q", a, b)
		}
	}
}

// A rejection at age 0 side by side is left out and counted; an acceptance at 0, and a rejection later, stay. About one glass
// tasted again and again it stays in.
func TestRejectedFreshSideBySide(t *testing.T) {
	rows := []panel.Taste{taste("a", 0, 0, panel.Reject), taste("a", 1, 6, panel.Reject), taste("b", 0, 0, panel.Accept), taste("c", 0, 0, panel.Reject)}
	r, err := RepliesOf(small(panel.SideBySide, rows...), sour, panel.SideBySide)
	require.NoError(t, err)
	require.Equal(t, []panel.LeftOut{{Reason: "rejected fresh, which says nothing about ageing", Rows: 2}}, r.LeftOut)
	require.Equal(t, 2, r.Rows)
	require.Len(t, r.Glasses, 2, "c has nothing left")
	require.Equal(t, []float64{6, 0}, []float64{r.Glasses[0].Replies[0].AgeMin, r.Glasses[1].Replies[0].AgeMin})
	require.Len(t, r.StatusRows(), 2)

	r, err = RepliesOf(small(panel.SipThrough, rows...), sour, panel.SipThrough)
	require.NoError(t, err)
	require.Empty(t, r.LeftOut)
	require.Equal(t, 4, r.Rows)
}

// Another reason than the drink ends the glass it was said of, and no other; an acceptance said with it counts. Side by side it
// takes out that one reply.
func TestAnotherReasonEndsOneGlass(t *testing.T) {
	for _, why := range []panel.Why{panel.WhyFull, panel.WhyBored, panel.WhyLeft} {
		left := taste("a", 0, 4, panel.Reject)
		left.Why = why
		rows := []panel.Taste{taste("a", 0, 2, panel.Accept), left, taste("a", 1, 2, panel.Accept), taste("a", 1, 6, panel.Reject), taste("b", 0, 8, panel.Reject)}
		reason := "ended for another reason than the drink (" + why.String() + ")"
		r, err := RepliesOf(small(panel.SipThrough, rows...), sour, panel.SipThrough)
		require.NoError(t, err)
		require.Len(t, r.Glasses, 3)
		require.Equal(t, [][]bool{{false}, {false, true}, {true}}, [][]bool{rejects(r.Glasses[0]), rejects(r.Glasses[1]), rejects(r.Glasses[2])})
		require.Equal(t, []panel.LeftOut{{Reason: reason, Rows: 1}}, r.LeftOut)

		r, err = RepliesOf(small(panel.SideBySide, rows...), sour, panel.SideBySide)
		require.NoError(t, err)
		require.Equal(t, [][]bool{{false, false, true}, {true}}, [][]bool{rejects(r.Glasses[0]), rejects(r.Glasses[1])})
		require.Equal(t, []panel.LeftOut{{Reason: reason, Rows: 1}}, r.LeftOut)

		rows[1].Verdict = panel.Accept
		r, err = RepliesOf(small(panel.SipThrough, append(rows, taste("a", 0, 6, panel.Reject))...), sour, panel.SipThrough)
		require.NoError(t, err)
		require.Equal(t, []bool{false, false}, rejects(r.Glasses[0]))
		require.Equal(t, []panel.LeftOut{{Reason: "after the taster had ended for another reason than the drink", Rows: 1}}, r.LeftOut)
	}
}

// A reply's step is the mean actual age of its tastes in full, to the nearest nanosecond: of 2, 2.1 and 2.3 min 128 s; of
// 120 s twice and 2 ns more once, 1 ns more than 120 s (2/3 rounded).
func TestStepIsTheMean(t *testing.T) {
	at := func(ages ...time.Duration) []Reply {
		var rows []panel.Taste
		for i, age := range ages {
			x := taste(string(rune('a'+i)), 0, 0, panel.Accept)
			x.Age = age
			rows = append(rows, x)
		}
		r, err := RepliesOf(small(panel.SipThrough, rows...), sour, panel.SipThrough)
		require.NoError(t, err)
		require.Len(t, r.Steps, 1)
		var out []Reply
		for _, g := range r.Glasses {
			out = append(out, g.Replies...)
			require.Equal(t, g.Replies[0].StepMin, g.OnSteps()[0].AgeMin)
		}
		return out
	}
	got := at(120*time.Second, 126*time.Second, 138*time.Second)
	for i, want := range []float64{2, 2.1, 2.3} {
		require.Equal(t, want, got[i].AgeMin)
		require.Equal(t, panel.Minutes(128*time.Second), got[i].StepMin)
	}
	require.Equal(t, panel.Minutes(120*time.Second+1), at(120*time.Second, 120*time.Second, 120*time.Second+2)[0].StepMin)
}
