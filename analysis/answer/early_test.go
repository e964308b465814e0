package answer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// stopped are eight tasters who tasted no further after their first no.
var stopped = []string{"yn", "yyn", "yyn", "yyyn", "yyn", "yyyn", "yyn", "yyyyn"}

// Where fewer than half of those who turned away have a later reply, the headline reads the first no: log-normal limits on the
// intervals up to it, sharp and without slips, which is said. Half of them is enough for the reply model.
func TestEarlyFallback(t *testing.T) {
	for _, tt := range []struct {
		words []string
		early bool
	}{
		{stopped, true},
		{[]string{"ynn", "yynn", "yynn", "yyyn", "yyn", "yyyn", "yyn", "yyyyn"}, true},      // three of eight
		{[]string{"ynn", "yynn", "yynn", "yyynn", "yyn", "yyyn", "yyn", "yyyyn"}, false},    // four of eight
		{[]string{"ynn", "yyn", "yyn", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"}, true},       // one of three: who never turns away is not asked for
		{[]string{"ynyn", "yyny", "yyn", "yyyn", "yyyy", "yyyy", "yyyy", "yyyy"}, false},    // a yes is a later reply too
		{[]string{"yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"}, false},   // nobody turned away
		{[]string{"nyyn", "yyn", "yyyn", "yyn", "yyyyn", "yyn", "yyyn", "yyyyyn"}, true},    // the early no of one taster is followed
		{[]string{"n.yn", "nyyn", "nyyn", "nyyyn", "yyyn", "yyn", "yyyn", "yyyyyn"}, false}, // of four it is
	} {
		h := mustLife(t, evening(tt.words...)).Parts[0].Headline
		require.Equal(t, tt.early, h.Early, "%v", tt.words)
		require.Equal(t, map[bool]string{true: "lognormal", false: "replies"}[tt.early], h.Method)
	}
	require.False(t, mustLife(t, beside([]float64{4, 8}, "yn", "yn", "nn", "yn", "yn", "yy")).Parts[0].Headline.Early, "side by side nobody stops")
}

// The early headline is the log-normal model on the intervals, as the family fitted to them has it: the same likelihood and half;
// one in ten lies on the widened curve.
func TestEarlyHeadlineIsLogNormal(t *testing.T) {
	tasted := append(stopped[:7:7], "yynyn") // the last wavers: (4, 6] by the first no
	life := mustLife(t, evening(tasted...))
	h := life.Parts[0].Headline
	var rows []survival.Interval
	for _, w := range tasted {
		no := float64(2 * (1 + strings.Index(w, "n")))
		rows = append(rows, survival.Interval{L: no - 2, R: no})
	}
	fit, err := survival.Parametric{Family: survival.LogNormal}.Fit(rows, nil, nil)
	require.NoError(t, err)
	e, err := fit.Quantile(nil, 0, 0.5, survival.DeltaLog)
	require.NoError(t, err)
	require.InDelta(t, fit.LogLik, h.LogLik, 1e-6)
	require.InDelta(t, e.Value, h.Quantiles[0].From.Float(), 1e-4)
	require.Equal(t, []any{8, 16, 0, 0.0}, []any{h.Units, h.Replies, h.LeftOut, h.Slips}, "two ends each")
	require.True(t, h.ReplySD.Empty())
	require.Contains(t, words(life.Sentences[1]), "Most tasted no further after their first no, so every limit is read by that no: this is early")
	require.NotContains(t, strings.Join(life.Sentences, " "), "every one of them counts")
}

// Its rows have a method and a variant of their own, no key twice, no share of replies; the reply model stands beside as another
// choice, the log-normal by the first no does not, as it is the headline.
func TestEarlyRows(t *testing.T) {
	life := mustLife(t, evening(stopped...))
	require.Empty(t, twice(life.Rows))
	var headline []string
	for _, r := range life.Rows {
		if r.Variant == "first_no+sip_through" && r.Method == "lognormal" {
			headline = append(headline, r.Statistic)
			require.Equal(t, []int{8, 4, 27}, []int{r.Tasters, r.Batches, r.Tastes})
		}
		require.NotContains(t, r.Variant, "of_replies")
		require.NotEqual(t, "spread_replies", r.Statistic)
	}
	require.Equal(t, []string{"q50", "q25", "q10", "share", "share", "share", "share", "share", "loglik", "spread_limits"}, headline)
	var choices []string
	for _, c := range life.Parts[0].Sensitivity.Rows {
		choices = append(choices, c.Method+" "+c.Variant)
	}
	require.Equal(t, []string{"replies slips_0", "replies slips_5", "replies ", "exponential either_side", "weibull either_side", "lognormal either_side", "loglogistic either_side", "gamma either_side", "lognormal last_yes"}, choices)
	every := life.Parts[0].Sensitivity.Rows[2]
	fit, err := survival.ReplyModel{Slips: 0.02, Level: 0.95}.Fit(unitsOf(byTwo(5), false, stopped...))
	require.NoError(t, err)
	e, err := fit.Quantile(nil, 0.5)
	require.NoError(t, err)
	require.Equal(t, []any{"every reply counts", Of(e.From), Of(e.Lower), Of(e.Upper)}, []any{every.Words, every.Half.From, every.Half.Lower, every.Half.Upper})
}

// twice lists the keys of results.csv that stand more than once.
func twice(rows []Row) []Row {
	type key struct {
		question, session, style, serve, attribute, taster string
		age                                                Num
		statistic, method, variant                         string
	}
	seen := map[key]bool{}
	var out []Row
	for _, r := range rows {
		k := key{r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin, r.Statistic, r.Method, r.Variant}
		if seen[k] {
			out = append(out, r)
		}
		seen[k] = true
	}
	return out
}

// early are tasters of whom two began with a no.
var early = []string{"nyynn", "yyynn", "nynn", "yyynn", "yynn", "yyyynn", "yyynn", "yynn"}

// Said beforehand, improves_first leaves out the noes before a first yes; both versions are printed, each as a row, and how many
// replies were left out.
func TestImprovesFirst(t *testing.T) {
	q50 := func(skip bool) Num {
		fit, err := survival.ReplyModel{Slips: 0.02, Level: 0.95}.Fit(unitsOf(byTwo(6), skip, early...))
		require.NoError(t, err)
		e, err := fit.Quantile(nil, 0.5)
		require.NoError(t, err)
		return Of(e.From)
	}
	with, without := q50(false), q50(true)
	require.NotEqual(t, with, without)
	for _, said := range []bool{false, true} {
		in := evening(early...)
		in.Panel.Settings.ImprovesFirst = said
		life := mustLife(t, in)
		require.Empty(t, twice(life.Rows))
		h := life.Parts[0].Headline
		require.Equal(t, map[bool]int{false: 0, true: 2}[said], h.LeftOut)
		require.Equal(t, map[bool]int{false: 38, true: 36}[said], h.Replies)
		value := map[string]Num{}
		for _, r := range life.Rows {
			if r.Statistic == "q50" && r.Method == "replies" {
				value[r.Variant] = r.Value
			}
			if r.Variant == "sip_through+without_early" {
				require.True(t, r.Statistic == "loglik" || strings.HasPrefix(r.Statistic, "spread") || strings.Contains(r.Note, "without 2 rejections before a first acceptance"), "%s: %s", r.Statistic, r.Note)
			}
		}
		if said {
			require.Equal(t, []Num{without, with}, []Num{value["sip_through+without_early"], value["with_early+sip_through"]})
			require.NotContains(t, value, "sip_through")
		} else {
			require.Equal(t, []Num{with, without}, []Num{value["sip_through"], value["without_early+sip_through"]})
			require.NotContains(t, value, "sip_through+without_early")
		}
		act, err := NewServeBy(in, sour, life, nil)
		require.NoError(t, err)
		require.Equal(t, oneInTen, act.Basis)
		require.Equal(t, said, strings.Contains(words(strings.Join(act.Sentences, " ")), "Not counted: 2 no before a first yes (tasters a and c)."))
	}
	// Nobody began with a no: nothing is left out, and there is no other version.
	in := twelve()
	in.Panel.Settings.ImprovesFirst = true
	life := mustLife(t, in)
	require.Equal(t, mustLife(t, twelve()).Rows, life.Rows)
}

// Side by side too: the first no, in order of age, before a yes.
func TestImprovesFirstSideBySide(t *testing.T) {
	in := beside([]float64{3, 6, 9, 12}, "nyyn", "yynn", "yyyn", "yynn", "nyyn")
	in.Panel.Settings.ImprovesFirst = true
	life := mustLife(t, in)
	require.Equal(t, []any{2, 18}, []any{life.Parts[0].Headline.LeftOut, life.Parts[0].Headline.Replies})
	require.Equal(t, panel.SideBySide.String()+"+without_early", life.Parts[0].headVariant())
}
