package answer

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

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
