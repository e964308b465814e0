package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// full asks for what draws again, too.
func full(in Input) Input {
	in.Quick = false
	return in
}

// drinks makes an evening of several styles, a list of words each as in evening. Taster k of each style is the k-th of the
// alphabet, after as many letters as skip says for that style.
func drinks(skip []int, words ...[]string) Input {
	in := evening(slices.Concat(words...)...)
	i := 0
	for s, list := range words {
		for k := range list {
			in.Panel.Pours[i].Style = []string{"sour", "stirred", "highball"}[s]
			in.Panel.Pours[i].Taster = string(rune('a' + skip[s] + k))
			i++
		}
	}
	for j := range in.Panel.Tastes {
		in.Panel.Tastes[j].Taster = in.Panel.Pours[in.Panel.Tastes[j].Pour].Taster
	}
	return in
}

var (
	shorter  = []string{"yynn", "yyynn", "yynn", "yyynn", "ynn", "yynn", "yyynn"}
	longer   = []string{"yyyynn", "yyyyynn", "yyyynn", "yyyynn", "yyynn", "yyyyynn", "yyyyynn"}
	middling = []string{"yyynn", "yyynn", "yyynn", "yyyynn", "yynn", "yyyynn", "yyynn"}
)

func mustDiffer(t *testing.T, in Input) *Differences {
	t.Helper()
	d, err := NewDifferences(in)
	require.NoError(t, err)
	require.Empty(t, twice(d.Rows))
	return d
}

// paired fits the reply model to both drinks, each with a half of its own, and to both with one half; by the same tasters or not.
func paired(t *testing.T, same bool, a, b []string) (apart, alike *survival.ReplyFit) {
	t.Helper()
	both := append(unitsOf(byTwo(8), false, b...), unitsOf(byTwo(8), false, a...)...)
	for i := range both {
		if !same {
			both[i].Subject = i
		}
	}
	alike, err := survival.ReplyModel{Slips: 0.02}.Fit(both)
	require.NoError(t, err)
	for i := range both {
		both[i].X = []float64{map[bool]float64{true: 1}[i >= len(b)]}
	}
	apart, err = survival.ReplyModel{Slips: 0.02}.Fit(both)
	require.NoError(t, err)
	return apart, alike
}

// A is the drink that keeps longer, whichever came first; the ratio is its half over B's, with the limits of the reply model, and
// p is that of the likelihood ratio.
func TestRatioOrientation(t *testing.T) {
	apart, alike := paired(t, false, longer, shorter)
	e, err := apart.Ratio(1)
	require.NoError(t, err)
	lr := 2 * (apart.LogLik - alike.LogLik)
	for _, x := range []struct {
		in        Input
		long, low string
	}{{drinks([]int{0, 7}, shorter, longer), "stirred, coupe", "sour, coupe"}, {drinks([]int{0, 7}, longer, shorter), "sour, coupe", "stirred, coupe"}} {
		d := mustDiffer(t, x.in)
		require.Len(t, d.Pairs, 1)
		p := d.Pairs[0]
		require.Equal(t, []string{x.long, x.low, "sip_through", OK}, []string{p.A, p.B, p.Mode, p.Status})
		require.Greater(t, p.Ratio.From.Float(), 1.2)
		for _, v := range [][2]float64{{e.From, p.Ratio.From.Float()}, {e.To, p.Ratio.To.Float()}, {e.Lower, p.Ratio.Lower.Float()}, {e.Upper, p.Ratio.Upper.Float()}} {
			require.InEpsilon(t, v[0], v[1], 1e-4)
		}
		require.Equal(t, 0.95, p.Ratio.Level)
		require.InEpsilon(t, likelihood.SmallPanelP(lr, 14, 12), p.P.Float(), 1e-3, "14 tasters, two halves of different ones")
		require.Equal(t, p.P, p.PAdj, "one pair")
		require.Equal(t, []any{0, 14, 74, false}, []any{p.Both, p.Tasters, p.Rows, p.Evenings}, "30 and 44 replies")
		require.True(t, strings.HasPrefix(words(d.Sentences[0]), upperFirst(x.long)+" keeps 1."), d.Sentences[0])
		require.Contains(t, words(d.Sentences[0]), "times (95 % limits ")
		require.Contains(t, words(d.Sentences[0]), " as long as "+x.low+", p")
		require.Contains(t, d.Sentences[0], "; by different tasters.")
		require.NotContains(t, strings.Join(d.Sentences, " "), "Holm", "one pair needs no adjustment")
		row := d.Rows[0]
		require.Equal(t, x.long+"/"+x.low+"+sip_through", row.Variant)
		require.Equal(t, []Num{p.Ratio.From, p.Ratio.Lower, p.Ratio.Upper, Of(0.95)}, []Num{row.Value, row.Lower, row.Upper, row.Level})
	}
}

// One taster's limits for both drinks go together: they are one subject, whose deviation is shared.
func TestRatioWithinTasters(t *testing.T) {
	apart, alike := paired(t, true, longer, shorter)
	require.Equal(t, []any{7, 14, true}, []any{apart.Subjects, apart.Units, apart.Apart})
	e, err := apart.Ratio(1)
	require.NoError(t, err)
	d := mustDiffer(t, drinks([]int{0, 0}, shorter, longer))
	p := d.Pairs[0]
	require.Equal(t, []any{OK, "stirred, coupe", 7, 7}, []any{p.Status, p.A, p.Both, p.Tasters})
	for _, v := range [][2]float64{{e.From, p.Ratio.From.Float()}, {e.Lower, p.Ratio.Lower.Float()}, {e.Upper, p.Ratio.Upper.Float()}} {
		require.InEpsilon(t, v[0], v[1], 1e-4)
	}
	require.InEpsilon(t, likelihood.SmallPanelP(2*(apart.LogLik-alike.LogLik), 7, 6), p.P.Float(), 1e-3)
	require.NotContains(t, d.Sentences[0], "tasters had both")
	require.NotContains(t, d.Sentences[0], "different tasters")
	wide := mustDiffer(t, drinks([]int{0, 7}, shorter, longer)).Pairs[0].Ratio
	require.Greater(t, wide.Upper.Float()/wide.Lower.Float(), p.Ratio.Upper.Float()/p.Ratio.Lower.Float(), "the pairing narrows the limits")
}

// Three drinks: every pair once, the surest difference first, p-values by Holm: sorted, times 3, 2, 1, never falling, 1 at most.
func TestHolmOverPairs(t *testing.T) {
	d := mustDiffer(t, full(drinks([]int{0, 7, 14}, shorter, longer, middling)))
	require.Len(t, d.Pairs, 3)
	for _, x := range []struct{ p, adj func(Pair) Num }{
		{func(p Pair) Num { return p.P }, func(p Pair) Num { return p.PAdj }},
		{func(p Pair) Num { return p.ScoreP }, func(p Pair) Num { return p.ScoreAdj }},
	} {
		ps := slices.Clone(d.Pairs)
		slices.SortFunc(ps, func(a, b Pair) int { return int(math.Copysign(1, x.p(a).Float()-x.p(b).Float())) })
		want := 0.0
		for i, p := range ps {
			want = max(want, min(1, float64(3-i)*x.p(p).Float()))
			require.InDelta(t, want, x.adj(p).Float(), 1e-15)
		}
	}
	require.Equal(t, []string{"stirred, coupe/sour, coupe", "stirred, coupe/highball, coupe", "highball, coupe/sour, coupe"}, []string{name(d.Pairs[0]), name(d.Pairs[1]), name(d.Pairs[2])})
	require.True(t, d.Pairs[0].Ratio.Lower.Float() > d.Pairs[1].Ratio.Lower.Float() && d.Pairs[1].Ratio.Lower.Float() > d.Pairs[2].Ratio.Lower.Float())
	require.Contains(t, words(strings.Join(d.Sentences, " ")), "p-values are after Holm over all 3 pairs that have one.")
	for _, p := range d.Pairs {
		require.Equal(t, []string{"between tasters"}, []string{p.ScoreMethod})
		require.True(t, p.WilcoxonP.Finite() && p.SmallestP.Finite())
		require.GreaterOrEqual(t, p.ScoreP.Float(), p.SmallestP.Float())
	}
	statistics := map[string]int{}
	for _, r := range d.Rows {
		statistics[r.Statistic+" "+r.Method]++
		require.Equal(t, []string{"difference", "", "", "", ""}, []string{r.Question, r.Style, r.Serve, r.Taster, r.Session})
		require.Equal(t, []int{14, 0}, []int{r.Tasters, r.Batches})
	}
	require.Equal(t, map[string]int{"time_ratio replies": 3, "p replies": 3, "p_adjusted replies": 3, "p score_logrank": 3, "p_adjusted score_logrank": 3, "p_smallest score_logrank": 3, "p score_wilcoxon": 3}, statistics)
}

func name(p Pair) string { return p.A + "/" + p.B }

// Sure means: limits above 1, and p below 0.05 after Holm where there is one.
func TestSureWords(t *testing.T) {
	pair := func(lower, adj float64) Pair {
		p := Pair{A: "sour", B: "stirred", Status: OK, Both: 8, Tasters: 8, Ratio: Quantile{From: Of(1.44), To: Of(1.44), Lower: Of(lower), Upper: Of(2.1), Level: 0.95}}
		if adj > 0 {
			p.P, p.PAdj = Of(adj), Of(adj)
		}
		return p
	}
	require.Equal(t, "Sour keeps 1.44 times (95 % limits 1.10 to 2.1) as long as stirred, p = 0.041.", words(pair(1.1, 0.0412).words()))
	require.Equal(t, "Sour keeps 1.44 times (95 % limits 1.10 to 2.1) as long as stirred.", words(pair(1.1, 0).words()), "few tasters have no p")
	require.Equal(t, "Not sure: sour 1.44 times (95 % limits 1.10 to 2.1) as long as stirred, p = 0.06.", words(strings.ReplaceAll(pair(1.1, 0.0600001).words(), "0.060", "0.06")))
	require.True(t, pair(1.1, 0.0499).sure())
	require.False(t, pair(1.1, 0.0501).sure())
	require.False(t, pair(1, 0.01).sure())
	require.False(t, pair(0.99, 0).sure())
	p := pair(0.9, 0.31)
	p.Both, p.ScoreMethod, p.ScoreP, p.ScoreAdj, p.SmallestP = 5, "within tasters", Of(0.2), Of(0.4), Of(0.0625)
	require.Equal(t, "Not sure: sour 1.44 times (95 % limits 0.90 to 2.1) as long as stirred, p = 0.31; without an assumed curve p = 0.40, the smallest that it can be with these tasters is 0.062; 5 of 8 tasters had both.", words(p.words()))
	p.Ratio.From, p.Ratio.To, p.Ratio.Lower, p.Ratio.Upper = Of(1.2), Of(1.81), Of(0), inf()
	require.Equal(t, "between 1.20 and 1.81 times (95 % limits open to open)", words(p.Ratio.timesWords()))
	require.Equal(t, []string{"1.00", "1.99", "2.0", "9.9", "10", "0.05"}, []string{Times(1), Times(1.9949), Times(1.995), Times(9.9499), Times(9.95), Times(0.05)})
	require.Equal(t, []string{"= 0.05", "= 0.10", "= 0.001", "< 0.001"}, []string{words(pWords(0.05))[:6], words(pWords(0.0995)), words(pWords(0.001)), words(pWords(0.00099))})
}

// Where limits of all tasters agree, every ratio in a range is as likely: the row's value is empty, from and to stand beside.
func TestRatioThatIsARange(t *testing.T) {
	in := drinks([]int{0, 0}, slices.Repeat([]string{"yynn"}, 6), slices.Repeat([]string{"yyyynn"}, 6))
	d := mustDiffer(t, in)
	p := d.Pairs[0]
	require.Equal(t, []any{OK, "stirred, coupe", 6, 6}, []any{p.Status, p.A, p.Both, p.Tasters})
	// 4 to 6 min against 8 to 10 min.
	require.True(t, 8.0/6 < p.Ratio.From.Float() && p.Ratio.From.Float() < p.Ratio.To.Float() && p.Ratio.To.Float() < 10.0/4)
	require.Equal(t, []string{"time_ratio", "time_ratio_from", "time_ratio_to"}, []string{d.Rows[0].Statistic, d.Rows[1].Statistic, d.Rows[2].Statistic})
	require.Equal(t, []Num{{}, p.Ratio.From, p.Ratio.To}, []Num{d.Rows[0].Value, d.Rows[1].Value, d.Rows[2].Value})
	require.Equal(t, []Num{p.Ratio.Lower, p.Ratio.Upper}, []Num{d.Rows[0].Lower, d.Rows[0].Upper})
	require.Regexp(t, `^Stirred, coupe keeps between 1\.\d\d and 2\.\d times`, words(d.Sentences[0]))
}

// One drink: nothing to compare. Two tasters: not enough. Nobody left one of them: no ratio. Nobody was asked: not asked.
func TestPairsWithoutAnAnswer(t *testing.T) {
	d := mustDiffer(t, evening(shorter...))
	require.Equal(t, NotAsked, d.Status)
	require.Empty(t, d.Pairs)
	require.Empty(t, d.Rows)
	require.Equal(t, []string{"One drink alone was tasted: there is nothing to compare it with."}, d.Sentences)

	for _, tt := range []struct {
		reason      string
		in          Input
		status, why string
	}{
		{"two tasters of both", drinks([]int{0, 0}, shorter[:2], longer[:2]), NotEnough, "fewer than three tasters of each"},
		{"two of one, five of the other", drinks([]int{0, 7}, shorter[:2], longer[:5]), NotEnough, "fewer than three tasters of each"},
		{"nobody left one", drinks([]int{0, 7}, shorter, slices.Repeat([]string{"yyyy"}, 7)), BeyondLastAge, "one of the two was left by nobody, or by everyone at once"},
		{"everyone left one at once", drinks([]int{0, 7}, slices.Repeat([]string{"nnnn"}, 7), longer), BeyondLastAge, "one of the two was left by nobody, or by everyone at once"},
	} {
		d := mustDiffer(t, tt.in)
		require.Equal(t, NotEnough, d.Status, tt.reason)
		require.Equal(t, []string{tt.status, tt.why}, []string{d.Pairs[0].Status, d.Pairs[0].Why}, tt.reason)
		require.Equal(t, []string{"No two drinks can be compared.", "Sour, coupe and stirred, coupe: " + tt.why + "."}, d.Sentences, tt.reason)
		require.Len(t, d.Rows, 1)
		r := d.Rows[0]
		require.Equal(t, []string{"time_ratio", "", "", "", tt.status, tt.why}, []string{r.Statistic, r.Value.String(), r.Lower.String(), r.Upper.String(), r.Status, r.Note})
	}

	in := drinks([]int{0, 7}, shorter, longer)
	for i := range in.Panel.Tastes {
		if in.Panel.Pours[in.Panel.Tastes[i].Pour].Style == "stirred" {
			in.Panel.Tastes[i].Verdict = panel.NoVerdict
		}
	}
	d = mustDiffer(t, in)
	require.Equal(t, []string{NotAsked, "nobody was asked whether they would go on with both"}, []string{d.Pairs[0].Status, d.Pairs[0].Why})
}

// Modes differ: side by side and again and again cannot be compared.
func TestPairsOfDifferentModes(t *testing.T) {
	in := drinks([]int{0, 7}, shorter, longer)
	for i := range in.Panel.Tastes {
		if in.Panel.Pours[in.Panel.Tastes[i].Pour].Style == "stirred" {
			in.Panel.Tastes[i].Mode = panel.SideBySide
		}
	}
	d := mustDiffer(t, in)
	require.Equal(t, []string{NotAsked, ""}, []string{d.Pairs[0].Status, d.Pairs[0].Mode})
	require.Contains(t, d.Pairs[0].Why, "never tasted in the same mode")
	require.Equal(t, "sour, coupe/stirred, coupe", d.Rows[0].Variant)
}

// Both modes in both drinks: side by side where five tasters had both so, else again and again.
func TestCommonMode(t *testing.T) {
	for _, n := range []int{4, 5} {
		in := drinks([]int{0, 7}, shorter, longer)
		for _, style := range []string{"sour", "stirred"} {
			for i := range 5 {
				if style == "stirred" && i >= n {
					continue
				}
				for _, age := range []float64{3, 6, 9} {
					in.see(string(rune('p'+i)), age, age > 5)
					in.Panel.Pours[len(in.Panel.Pours)-1].Style = style
				}
			}
		}
		all := in.Drinks()
		mode, some := in.commonMode(all[0], all[1])
		require.True(t, some)
		require.Equal(t, map[int]panel.Mode{4: panel.SipThrough, 5: panel.SideBySide}[n], mode)
	}
}

// Drinks of different evenings: the answer stands, with a warning.
func TestDifferentEvenings(t *testing.T) {
	in := drinks([]int{0, 7}, shorter, longer)
	require.Empty(t, mustDiffer(t, in).Warnings)
	in.Panel.Sessions = append(in.Panel.Sessions, panel.Session{Name: "two"})
	for i := range in.Panel.Pours {
		if in.Panel.Pours[i].Style == "stirred" {
			in.Panel.Pours[i].Session = "two"
		}
	}
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Session = in.Panel.Pours[in.Panel.Tastes[i].Pour].Session
	}
	d := mustDiffer(t, in)
	require.True(t, d.Pairs[0].Evenings)
	require.Equal(t, []string{"Stirred, coupe and sour, coupe were tasted on different evenings, so the drink cannot be told from the evening."}, d.Warnings)
	for i := range in.Panel.Tastes { // one evening in common is enough
		if in.Panel.Tastes[i].Taster == "h" {
			in.Panel.Tastes[i].Session = "one"
			in.Panel.Pours[in.Panel.Tastes[i].Pour].Session = "one"
		}
	}
	require.Empty(t, mustDiffer(t, in).Warnings)
}

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

// A list of more than six pairs points to the table.
func TestManyPairs(t *testing.T) {
	d := &Differences{}
	for i := range 9 {
		d.Pairs = append(d.Pairs, Pair{A: fmt.Sprint("a", i), B: "b", Status: OK, Tasters: 8, Both: 8, Ratio: Quantile{From: Of(2), To: Of(2), Lower: Of(1.5), Upper: Of(3), Level: 0.95}})
	}
	d.Pairs[8].Status, d.Pairs[8].Why = NotEnough, "too few"
	d.say(5)
	require.Len(t, d.Sentences, 9)
	require.Equal(t, "And 2 more: see the table.", d.Sentences[6])
	require.Equal(t, "1 of 9 pairs cannot be compared: too few.", d.Sentences[7])
	require.Contains(t, d.Sentences[8], "Batches are not known")
	d.Sentences = nil
	for i := range d.Pairs {
		d.Pairs[i].BatchesA, d.Pairs[i].BatchesB = 3, 1
	}
	d.say(5)
	require.Contains(t, d.Sentences[8], "all glasses came from one shake")
	d.Sentences = nil
	for i := range d.Pairs {
		d.Pairs[i].BatchesB = 2
	}
	d.say(5)
	require.Contains(t, d.Sentences[8], "the fewest shakes of one were 2")
	d.Sentences = nil
	for i := range d.Pairs {
		d.Pairs[i].OwnBatch = true
	}
	d.say(5)
	require.Len(t, d.Sentences, 8, "own shakes for everyone: nothing to add")
	for i := range d.Pairs {
		d.Pairs[i].Status, d.Pairs[i].Why = NotEnough, "few"
	}
	d.Sentences = nil
	d.say(5)
	require.Equal(t, []string{"No two drinks can be compared.", "A0 and b: few."}, d.Sentences[:2])
	require.Equal(t, "And 3 more pairs: see the table.", d.Sentences[7])
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
