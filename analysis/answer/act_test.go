package answer

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// made is a part with a one-in-ten estimate of its own, of eight tasters whose intervals begin at 3 min or later.
func made(tenth Quantile) LifetimePart {
	tenth.P = 0.1
	h := &Headline{Method: "replies", Status: OK, Slips: Slips, Quantiles: []Quantile{{P: 0.5, From: Of(7), To: Of(7), Lower: Of(5), Upper: Of(9), Level: Level, Status: OK}, tenth}}
	p := LifetimePart{Mode: panel.SipThrough.String(), Unit: "taster", Units: 8, Status: OK, Method: "turnbull", Headline: h, Counts: Counts{Tasters: 8, Batches: 8, RowsUsed: 40, OwnBatch: true, Evenings: 1}}
	for i := range 8 {
		iv := Interval{Taster: string(rune('a' + i)), L: Of(float64(3 + i)), R: Of(float64(4 + i)), Counted: true}
		p.Whole, p.Intervals = append(p.Whole, iv), append(p.Intervals, iv)
	}
	return p
}

func actOf(t *testing.T, p LifetimePart) *ServeBy {
	t.Helper()
	life := &Lifetime{Head: Head{Status: OK}, Basis: "verdict", Parts: []LifetimePart{p}}
	act, err := NewServeBy(twelve(), sour, life, nil)
	require.NoError(t, err)
	require.Empty(t, twice(act.Rows))
	return act
}

func tenthAt(from, to float64) Quantile {
	return Quantile{From: Of(from), To: Of(to), Lower: Of(1), Upper: Of(6), Level: Level, Status: OK}
}

// The act is the one-in-ten estimate rounded down to half a minute: what is a half minute stays one, also where rounding in the
// last digits left it a shade below.
func TestActFloorsToHalfMinutes(t *testing.T) {
	for _, x := range [][2]float64{{4.2594, 4}, {4.4999, 4}, {4.5, 4.5}, {math.Nextafter(4.5, 0), 4.5}, {4.7, 4.5}, {4.99, 4.5}, {5, 5}, {math.Nextafter(5, 0), 5}, {5.01, 5}, {0.5, 0.5}, {0.49, 0}, {0.01, 0}, {0, 0}} {
		act := actOf(t, made(tenthAt(x[0], x[0])))
		require.Equal(t, Of(x[1]), act.Act, "%v", x[0])
		require.Equal(t, oneInTen, act.Basis)
		require.Equal(t, []any{Of(x[1]), "one_in_ten", "sip_through", OK}, []any{act.Rows[0].Value, act.Rows[0].Method, act.Rows[0].Variant, act.Rows[0].Status})
	}
	act := actOf(t, made(tenthAt(4.6, 5.8)))
	require.Equal(t, Of(4.5), act.Act, "of a range of ages the begin")
	require.Equal(t, "Good for 4½ minutes from the making, the walk to the table included.", words(act.Sentences[0]))
	require.Equal(t, "One in ten drinkers like these would leave the rest at some age between 4½ and 6 min (95 % limits 1 to 6 min); rounded down to half a minute.", words(act.Sentences[1]))
	act = actOf(t, made(tenthAt(0.3, 0.3)))
	require.Equal(t, "Have it drunk at once: not even half a minute is shown for nine in ten.", act.Sentences[0])
	require.Equal(t, "Good for 1 minute from the making, the walk to the table included.", words(actOf(t, made(tenthAt(1.3, 1.3))).Sentences[0]))
}

// Where one in ten cannot be told the act falls back to the smallest L, said so: no estimate, past the last age, not converged,
// limits too far apart.
func TestActFallsBackToSmallestL(t *testing.T) {
	beyond := tenthAt(12, math.Inf(1))
	beyond.Status, beyond.Beyond = BeyondLastAge, true
	unfinished := tenthAt(4.6, 4.6)
	unfinished.Status = NotConverged
	divided := Quantile{Lower: Of(0), Upper: inf(), Level: Level, Status: NotEnough}
	none := made(tenthAt(4.6, 4.6))
	none.Headline.Quantiles = none.Headline.Quantiles[:1]
	without := none
	without.Headline = nil
	for name, p := range map[string]LifetimePart{"beyond": made(beyond), "not converged": made(unfinished), "divided": made(divided), "no one in ten": none, "no headline": without} {
		act := actOf(t, p)
		require.Equal(t, leastOfAllLs, act.Basis, name)
		require.Equal(t, []any{Of(3), Of(3), []string{"a"}}, []any{act.Act, act.SmallestL, act.Tasters}, name)
		require.Equal(t, "smallest_l", act.Rows[0].Method, name)
		require.Equal(t, "That is the last age, rounded down to half a minute, at which every one of the 8 tasters would go on with it (the first doubt: taster a).", words(act.Sentences[1]), name)
		require.Contains(t, act.Sentences, "It rests on these tasters alone: other drinkers may turn away earlier.")
	}
	// One that lies before the first age tasted is told: at once.
	before := tenthAt(0, 2)
	before.Status, before.Before = BeforeFirstAge, true
	act := actOf(t, made(before))
	require.Equal(t, []any{oneInTen, Of(0)}, []any{act.Basis, act.Act})
	require.Contains(t, words(act.Sentences[1]), "One in ten drinkers like these would leave the rest by 2 min, the first age tasted")
}

// The act never lies past the last age tasted, though the curve may put one in ten there.
func TestActNeverPastTheLastAge(t *testing.T) {
	for _, w := range [][]string{
		{"yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"},
		{"yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yynn", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"},
		{"yyyn", "yyyn", "yyyn", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"},
	} {
		in := evening(w...)
		life := mustLife(t, in)
		act, err := NewServeBy(in, sour, life, nil)
		require.NoError(t, err)
		require.LessOrEqual(t, act.Act.Float(), 8.0)
		q, ok := life.Parts[0].Headline.Quantile(0.1)
		require.True(t, ok)
		require.Equal(t, q.Beyond, act.Basis == leastOfAllLs)
	}
}

// Who had surely left it by the act is named; where nobody had, that all would go on, unless one of them said no before a yes.
func TestWhoHadLeftByTheAct(t *testing.T) {
	said := func(p LifetimePart) string { return words(strings.Join(actOf(t, p).Sentences, " ")) }
	require.Contains(t, said(made(tenthAt(2.7, 2.7))), "At 2½ minutes all 8 tasters would still go on with it.")
	require.Contains(t, said(made(tenthAt(3.2, 3.2))), "At 3 minutes all 8 tasters would still go on with it.", "up to the smallest L itself")
	require.Contains(t, said(made(tenthAt(4.1, 4.1))), "By 4 minutes taster a had left it.")
	require.Contains(t, said(made(tenthAt(5.1, 5.1))), "By 5 minutes tasters a and b had left it.")
	between := said(made(tenthAt(3.7, 3.7)))
	require.NotContains(t, between, "still go on")
	require.NotContains(t, between, "had left it.")
	p := made(tenthAt(2.7, 2.7))
	p.Early, p.EarlyBy = 1, []string{"c"}
	require.NotContains(t, said(p), "would still go on with it.")
	require.NotContains(t, said(p), "Not counted", "the model counts it")
	p.Headline.LeftOut = 1
	require.Contains(t, said(p), "Not counted: 1 no before a first yes (taster c).")
}

// Who wants to be sure is told the lower limit, rounded down, where it lies before the act and is no mere nothing.
func TestSurerAct(t *testing.T) {
	said := func(lower, at float64) string {
		q := tenthAt(at, at)
		q.Lower = Of(lower)
		s := actOf(t, made(q)).Sentences
		return words(strings.Join(s, " "))
	}
	require.Contains(t, said(2.9, 4.7), "An estimate is late about as often as early: in about half of such panels the true one in ten lies before it. To be surer, serve it within 2½ minutes.")
	require.NotContains(t, said(0.4, 4.7), "To be surer")
	require.NotContains(t, said(4.5, 4.7), "To be surer", "the act itself")
	require.NotContains(t, said(0, 4.7), "To be surer", "an open end")
	require.NotContains(t, words(strings.Join(actOf(t, made(Quantile{Status: NotEnough})).Sentences, " ")), "late about as often as early", "the smallest L is no such estimate")
}

// The act without those who never accepted it: from one in ten of the others, where that can be told, else from their smallest L,
// with a row of its own and its own basis.
func TestActWithoutNever(t *testing.T) {
	never := func() LifetimePart {
		p := made(tenthAt(2.2, 2.2))
		p.NeverTook, p.WithoutNeverCounts = []string{"a"}, Counts{Tasters: 7, Batches: 7, RowsUsed: 35}
		p.Whole[0].L, p.Intervals[0].L = Of(0), Of(0)
		return p
	}
	tenth := tenthAt(4.8, 4.8)
	p := never()
	p.WithoutNeverTenth = &tenth
	act := actOf(t, p)
	require.Equal(t, Of(2), act.Act)
	require.Contains(t, words(strings.Join(act.Sentences, " ")), "Without a, who never accepted it, it would be 4½ minutes.")
	require.Equal(t, "act one_in_ten sip_through+without_never - | 4.5 - - - | min ok 7 7 35", brief(act.Rows[2]))
	fallback := func(p LifetimePart) {
		t.Helper()
		act := actOf(t, p)
		require.NotContains(t, words(strings.Join(act.Sentences, " ")), "who never accepted it", "two rules are not compared in a sentence")
		require.Equal(t, "act smallest_l sip_through+without_never - | 4 - - - | min ok 7 7 35", brief(act.Rows[2]))
	}
	fallback(never())
	for _, status := range []string{NotConverged, NotEnough} {
		bad := tenth
		bad.Status = status
		p = never()
		p.WithoutNeverTenth = &bad
		fallback(p)
	}
	beyond := tenthAt(12, math.Inf(1))
	beyond.Beyond, beyond.Status = true, BeyondLastAge
	p = never()
	p.WithoutNeverTenth = &beyond
	fallback(p)
	p = never()
	for i := range p.Whole { // all of them
		p.NeverTook = append(p.NeverTook, p.Whole[i].Taster)
	}
	require.Len(t, actOf(t, p).Rows, 2)
	require.NotContains(t, strings.Join(actOf(t, p).Sentences, " "), "Without")
}

// From a real panel: the answer without the one who never accepted it is that of the others alone.
func TestWithoutNeverIsTheOthersAlone(t *testing.T) {
	in := twelve()
	for _, age := range []float64{2, 4, 6} {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "z", Pour: 12, Mode: panel.SipThrough, Age: panel.Age(age), Verdict: panel.Reject})
	}
	in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: "gz", Taster: "z", Style: sour.Style, Serve: sour.Serve, Batch: "b6"})
	life := mustLife(t, in)
	alone := mustLife(t, twelve())
	rows := func(life *Lifetime, suffix string) []string {
		var out []string
		for _, r := range life.Rows {
			half := strings.HasPrefix(r.Statistic, "q50") || strings.HasPrefix(r.Statistic, "q10") && r.Method == "replies"
			if variant, ok := strings.CutSuffix(r.Variant, suffix); ok && half && (exact(r) || r.Method == "replies") && (variant == "sip_through" || variant == "either_side+sip_through") {
				r.Variant = variant
				out = append(out, brief(r))
			}
		}
		return out
	}
	require.Len(t, rows(alone, ""), 5)
	require.Equal(t, rows(alone, ""), rows(life, "+without_never"))
}

// What stands on the ribbon of the act: one in ten and half of the headline.
func TestRibbonCarriesTheHeadline(t *testing.T) {
	in := twelve()
	life := mustLife(t, in)
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	require.True(t, act.Ribbon.HasHalf && act.Ribbon.HasTenth)
	require.Equal(t, life.Parts[0].Headline.Quantiles[0], act.Ribbon.Half)
	require.Equal(t, life.Parts[0].Headline.Quantiles[2], act.Ribbon.Tenth)
	in = evening("yynn", "yyynn", "yynn", "yyyynn", "yynn")
	act, err = NewServeBy(in, sour, mustLife(t, in), nil)
	require.NoError(t, err)
	require.True(t, act.Ribbon.HasHalf && !act.Ribbon.HasTenth)
	require.Len(t, act.Ribbon.Intervals, 5, "five tasters: each is shown")
}
