package answer

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// Five tasters have no p-value of any kind, nor words about Holm; six have.
func TestPValuesFromSixTasters(t *testing.T) {
	for _, n := range []int{5, 6} { // three of each, or three and four; few enough that no difference is sure
		d := mustDiffer(t, full(drinks([]int{0, 3}, []string{"yynn", "yyynn", "yynn"}, []string{"yyynn", "yyyynn", "yynn"}[:n-3])))
		if n == 5 { // 3 + 2: not even that
			require.Equal(t, NotEnough, d.Pairs[0].Status)
			continue
		}
		require.True(t, d.Pairs[0].P.Finite() && d.Pairs[0].ScoreP.Finite())
	}
	in := full(drinks([]int{0, 0}, slices.Repeat([]string{"yynn"}, 5), slices.Repeat([]string{"yyyynn"}, 5)))
	d := mustDiffer(t, in)
	p := d.Pairs[0]
	require.Equal(t, []any{OK, 5, ""}, []any{p.Status, p.Both, p.ScoreMethod})
	require.True(t, p.P.Empty() && p.PAdj.Empty() && p.ScoreP.Empty() && p.SmallestP.Empty() && p.WilcoxonP.Empty())
	require.NotContains(t, strings.Join(d.Sentences, " "), "p =")
	require.NotContains(t, strings.Join(d.Sentences, " "), "Holm")
	for _, r := range d.Rows {
		require.True(t, strings.HasPrefix(r.Statistic, "time_ratio"), r.Statistic)
	}
	// Three drinks of five tasters: pairs, but nothing that Holm adjusts.
	d = mustDiffer(t, full(drinks([]int{0, 0, 0}, slices.Repeat([]string{"yynn"}, 5), slices.Repeat([]string{"yyyynn"}, 5), slices.Repeat([]string{"yyynn"}, 5))))
	require.Len(t, d.Pairs, 3)
	require.NotContains(t, strings.Join(d.Sentences, " "), "Holm")
}

// A quick answer has the score tests too: relabelling takes milliseconds.
func TestQuickHasScoreTests(t *testing.T) {
	in := drinks([]int{0, 7}, shorter, longer)
	quick, all := mustDiffer(t, in).Pairs[0], mustDiffer(t, full(in)).Pairs[0]
	require.Equal(t, "between tasters", all.ScoreMethod)
	require.Equal(t, all, quick)
}

// The score test is that of the estimator, on one either_side interval a taster: within tasters where both were tasted on the same
// steps, between tasters where nobody had both, none where the ages differ or some had both and some had one.
func TestScoreTestOfPairs(t *testing.T) {
	interval := func(list []string) []survival.Interval {
		var out []survival.Interval
		for _, w := range list {
			yes := float64(2 * strings.Count(w, "y"))
			out = append(out, survival.Interval{L: yes, R: yes + 2})
		}
		return out
	}
	rows := append(interval(shorter), interval(middling)...)
	group, apart := make([]int, 14), make([]int, 14)
	for i := range rows {
		group[i], apart[i] = i/7, i
	}
	test := survival.ScoreTest{Seed: 5}
	want, err := test.Between(rows, group, apart)
	require.NoError(t, err)
	in := full(drinks([]int{0, 7}, shorter, middling))
	in.Seed = 5
	p := mustDiffer(t, in).Pairs[0]
	require.Equal(t, []any{"between tasters", Of(want.P), Of(want.SmallestP), want.Draws}, []any{p.ScoreMethod, p.ScoreP, p.SmallestP, p.Draws})
	test.Scores = survival.WilcoxonScores
	other, err := test.Between(rows, group, apart)
	require.NoError(t, err)
	require.NotEqual(t, want.P, other.P)
	require.Equal(t, Of(other.P), p.WilcoxonP)

	// A second glass of one drink counts in the ratio, not in the test, which takes one interval a taster.
	second := in
	more := *in.Panel
	second.Panel = &more
	more.Pours = append(slices.Clone(more.Pours), panel.Pour{Session: "one", ID: "second", Taster: "a", Style: "sour", Serve: sour.Serve, Batch: "b9"})
	more.Tastes = slices.Clone(more.Tastes)
	for k, v := range []panel.Verdict{panel.Accept, panel.Accept, panel.Accept, panel.Accept, panel.Reject, panel.Reject} {
		more.Tastes = append(more.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 14, Mode: panel.SipThrough, Age: panel.Age(float64(2 + 2*k)), Verdict: v})
	}
	q := mustDiffer(t, second).Pairs[0]
	require.Equal(t, []Num{p.ScoreP, p.WilcoxonP}, []Num{q.ScoreP, q.WilcoxonP})
	require.NotEqual(t, p.Ratio.From, q.Ratio.From)
	require.Equal(t, p.Rows+6, q.Rows)

	same := drinks([]int{0, 0}, slices.Repeat([]string{"yynn"}, 6), slices.Repeat([]string{"yyyynn"}, 6))
	p = mustDiffer(t, full(same)).Pairs[0]
	require.Equal(t, "within tasters", p.ScoreMethod)
	require.Equal(t, []Num{Of(2.0 / 64), Of(2.0 / 64)}, []Num{p.ScoreP, p.SmallestP}, "six pairs, all one way: 2 of 2^6 labellings")

	for _, in := range []Input{in, full(same)} { // other ages for one drink
		for i := range in.Panel.Tastes {
			if in.Panel.Pours[in.Panel.Tastes[i].Pour].Style == "stirred" {
				in.Panel.Tastes[i].Age += panel.Age(0.75)
			}
		}
		p = mustDiffer(t, in).Pairs[0]
		require.Equal(t, []any{OK, ""}, []any{p.Status, p.ScoreMethod})
		require.True(t, p.P.Finite())
	}
	p = mustDiffer(t, full(drinks([]int{0, 5}, shorter, middling))).Pairs[0]
	require.Equal(t, []any{OK, 2, ""}, []any{p.Status, p.Both, p.ScoreMethod}, "two of twelve had both")
}

// Thirty tasters on different ages are tested on large-sample limits, which draw nothing: Quick keeps that.
func TestClusteredFromThirty(t *testing.T) {
	for n, want := range map[int]string{14: "", 15: "clustered"} {
		var a, b []string
		for i := range 15 {
			a, b = append(a, shorter[i%7]), append(b, longer[i%7])
		}
		in := drinks([]int{0, 20}, a, b[:n])
		for i := range in.Panel.Tastes {
			if in.Panel.Pours[in.Panel.Tastes[i].Pour].Style == "stirred" {
				in.Panel.Tastes[i].Age += panel.Age(0.75)
			}
		}
		p := mustDiffer(t, in).Pairs[0]
		require.Equal(t, want, p.ScoreMethod, "%d tasters", 15+n)
		require.Equal(t, 15+n, p.Tasters)
		require.Equal(t, n == 15, p.ScoreP.Finite())
	}
}

// Steps are the same within half a minute, up to where the shorter evening ends.
func TestSameSteps(t *testing.T) {
	at := func(minutes ...float64) replySteps {
		var out replySteps
		for _, m := range minutes {
			out = append(out, m)
		}
		return out
	}
	for _, tt := range []struct {
		a, b replySteps
		want bool
	}{
		{at(2, 4, 6), at(2, 4, 6), true},
		{at(2, 4, 6), at(2.5, 3.5, 6.5), true},
		{at(2, 4, 6), at(2.51, 4, 6), false},
		{at(2, 4, 6), at(2, 4, 6.51), false},
		{at(2, 4, 6), at(2, 4, 6, 8, 10), true},
		{at(2, 4, 6), at(2, 4, 5, 6, 8), false},
		{at(2, 4, 6, 8), at(2, 4, 7), false},
		{at(2, 6), at(2, 4, 6), false},
		{at(0, 2, 4), at(2, 4), false},
	} {
		for _, x := range [][2]replySteps{{tt.a, tt.b}, {tt.b, tt.a}} {
			require.Equal(t, tt.want, sameSteps(x[0].replies(), x[1].replies()), "%v %v", x[0], x[1])
		}
	}
}

// The same seed gives the same bytes; drawn relabellings follow it, and the settings tell it.
func TestDifferencesSeed(t *testing.T) {
	var a, b []string
	for i := range 13 { // too many relabellings to list them all
		a, b = append(a, shorter[i%7]), append(b, middling[(i+2)%7])
	}
	draw := func(seed uint64) *Differences {
		in := full(drinks([]int{0, 13}, a, b))
		in.Seed = seed
		return mustDiffer(t, in)
	}
	first := draw(3)
	require.Positive(t, first.Pairs[0].Draws)
	require.Equal(t, first, draw(3))
	require.Equal(t, []Setting{{Name: "seed", Value: "3", Default: true}}, first.Settings)
	require.NotEqual(t, first.Pairs[0].ScoreP, draw(4).Pairs[0].ScoreP)
	for _, r := range first.Rows {
		if r.Method == "score_logrank" {
			require.Contains(t, r.Note, fmt.Sprintf("between tasters, %d draws, seed 3", first.Pairs[0].Draws))
		}
	}
}

// replySteps are ages of steps, in minutes.
type replySteps []float64

func (s replySteps) replies() *endpoint.Replies {
	r := &endpoint.Replies{}
	for _, m := range s {
		r.Steps = append(r.Steps, panel.Step{Mean: panel.Age(m)})
	}
	return r
}
