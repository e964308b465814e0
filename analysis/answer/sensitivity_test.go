package answer

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// choice finds another choice of a lifetime.
func choice(t *testing.T, life *Lifetime, method, variant string) Choice {
	t.Helper()
	for _, c := range life.Parts[0].Sensitivity.Rows {
		if c.Method == method && c.Variant == variant {
			return c
		}
	}
	t.Fatalf("no choice %s %s", method, variant)
	return Choice{}
}

// slips_0 and slips_5 are the reply model at no and at 5 % slips, for half and one in ten, with rows of their own.
func TestOtherSlips(t *testing.T) {
	life := mustLife(t, nine())
	for variant, slips := range map[string]float64{"slips_0": 0, "slips_5": 0.05} {
		fit, err := survival.ReplyModel{Slips: slips, Level: 0.95}.Fit(unitsOf(byTwo(8), false, "yynynn", "ynn", "yyynn", "yynn", "yyyynynn", "yyynn", "nyynn", "yyyyynn", "yynn"))
		require.NoError(t, err)
		c := choice(t, life, "replies", variant)
		require.Equal(t, Of(fit.LogLik), c.LogLik)
		require.True(t, c.AIC.Empty())
		require.Equal(t, smallPanelNote, c.Note)
		for _, q := range []Quantile{c.Half, c.Tenth} {
			e, err := fit.Quantile(nil, q.P)
			require.NoError(t, err)
			require.Equal(t, Quantile{P: q.P, From: Of(e.From), To: Of(e.To), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: 0.95, Status: OK}, q)
		}
		require.Equal(t, []float64{0.5, 0.1}, []float64{c.Half.P, c.Tenth.P})
		n := 0
		for _, r := range life.Rows {
			if r.Method == "replies" && r.Variant == variant+"+sip_through" {
				n++
				require.Equal(t, map[string]Num{"q50": c.Half.From, "q10": c.Tenth.From, "loglik": c.LogLik}[r.Statistic], r.Value)
				require.Equal(t, []int{9, 5, 47}, []int{r.Tasters, r.Batches, r.Tastes})
			}
		}
		require.Equal(t, 3, n)
	}
}

// Without slips a rejection of the fresh drink cannot be: it is left out there, counted and named; the headline keeps it.
func TestFreshRejectionWithoutSlips(t *testing.T) {
	in := evening("yyynn", "yyynn", "yynn", "yyynn", "yyyynn")
	for i, no := range []bool{false, true, false, true, false} {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: i, Mode: panel.SipThrough, Verdict: map[bool]panel.Verdict{true: panel.Reject, false: panel.Accept}[no]})
	}
	in.Name = strings.ToUpper
	life := mustLife(t, in)
	require.Equal(t, 30, life.Parts[0].Headline.Replies, "5 fresh ones and 25 others")
	require.Equal(t, smallPanelNote+"; without 2 rejections at age 0 (tasters B and D), which slips alone could explain", words(choice(t, life, "replies", "slips_0").Note))
	require.Equal(t, smallPanelNote, choice(t, life, "replies", "slips_5").Note)
}

// The families stand on the either_side intervals, one row a glass, and on those of the other readings for the log-normal. Where
// every taster has one row, limits are profile limits at the small-panel cut.
func TestFamiliesAreThose(t *testing.T) {
	life := mustLife(t, wavering())
	rows := map[string][]survival.Interval{ // as in TestThreeReadingsByHand
		"either_side": {{L: 4, R: 10}, {L: 2, R: 10}, {L: 6, R: 8}, {L: 6, R: 12}, {L: 8, R: 14}, {L: 4, R: 6}},
		"first_no":    {{L: 4, R: 6}, {L: 2, R: 4}, {L: 6, R: 8}, {L: 6, R: 8}, {L: 8, R: 10}, {L: 4, R: 6}},
		"last_yes":    {{L: 8, R: 10}, {L: 8, R: 10}, {L: 6, R: 8}, {L: 10, R: 12}, {L: 12, R: 14}, {L: 4, R: 6}},
	}
	cut := likelihood.SmallPanelCut(6, 5, 0.95)
	n := 0
	for _, x := range []struct {
		family  survival.Family
		method  string
		reading string
	}{
		{survival.Exponential, "exponential", "either_side"}, {survival.Weibull, "weibull", "either_side"}, {survival.LogNormal, "lognormal", "either_side"},
		{survival.LogLogistic, "loglogistic", "either_side"}, {survival.Gamma, "gamma", "either_side"}, {survival.LogNormal, "lognormal", "first_no"}, {survival.LogNormal, "lognormal", "last_yes"},
	} {
		fit, err := survival.Parametric{Family: x.family}.Fit(rows[x.reading], nil, nil)
		require.NoError(t, err)
		e, err := fit.ProfileQuantile(nil, 0, 0.5, cut)
		require.NoError(t, err)
		c := choice(t, life, x.method, x.reading)
		n++
		require.Equal(t, []Num{Of(fit.LogLik), Of(fit.AIC)}, []Num{c.LogLik, c.AIC})
		require.Equal(t, Quantile{P: 0.5, From: Of(e.Value), To: Of(e.Value), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: 0.95, Status: OK}, c.Half, x.method)
		require.Zero(t, c.Tenth.P, "six tasters")
		require.Equal(t, smallPanelNote, c.Note)
	}
	require.Len(t, life.Parts[0].Sensitivity.Rows, n+2, "and the two of other slips; no generalised gamma below 50 informative rows")
	require.Zero(t, choice(t, mustLife(t, evening("yynn", "yyynn", "ynn", "yyyynn", "yynn", "yyynn", "yynn")), "weibull", "either_side").Tenth.P, "seven tasters")
	require.Equal(t, 0.1, choice(t, mustLife(t, nine()), "weibull", "either_side").Tenth.P)
}

// Side by side each reply is a row, tasters have several, and so the families have no limits.
func TestFamiliesSideBySideHaveNoLimits(t *testing.T) {
	life := mustLife(t, beside([]float64{4, 8, 12}, "yyy", "yyn", "yyn", "ynn", "ynn", "nnn"))
	var rows []survival.Interval
	for _, x := range []struct {
		age     float64
		yes, no int
	}{{4, 5, 1}, {8, 3, 3}, {12, 1, 5}} {
		for range x.yes {
			rows = append(rows, survival.Interval{L: x.age, R: math.Inf(1)})
		}
		for range x.no {
			rows = append(rows, survival.Interval{L: 0, R: x.age})
		}
	}
	fit, err := survival.Parametric{Family: survival.Weibull}.Fit(rows, nil, nil)
	require.NoError(t, err)
	e, err := fit.Quantile(nil, 0, 0.5, survival.DeltaLog)
	require.NoError(t, err)
	c := choice(t, life, "weibull", "either_side")
	require.InDelta(t, e.Value, c.Half.From.Float(), 1e-6)
	require.Equal(t, []any{Num{}, Num{}, 0.0, OK, ""}, []any{c.Half.Lower, c.Half.Upper, c.Half.Level, c.Status, c.Note})
	require.Len(t, life.Parts[0].Sensitivity.Rows, 7, "readings are for glasses tasted again and again")
	for _, r := range life.Rows {
		if r.Method == "weibull" && r.Statistic == "q50" {
			require.Equal(t, []string{"", "", ""}, []string{r.Lower.String(), r.Upper.String(), r.Level.String()})
		}
	}
}

// A family whose likelihood has no maximum is not enough, with the reason as a note, and has no number. The others stay.
func TestFamilyWithoutMaximum(t *testing.T) {
	for _, words := range [][]string{{"yyyy", "yyyy", "yyyy"}, {"yynn", "yynn", "yynn"}} {
		life := mustLife(t, evening(words...))
		c := choice(t, life, "weibull", "either_side")
		require.Equal(t, NotEnough, c.Status)
		require.NotEmpty(t, c.Note)
		require.Equal(t, []any{Quantile{}, Quantile{}, Num{}, Num{}}, []any{c.Half, c.Tenth, c.LogLik, c.AIC})
		n := 0
		for _, r := range life.Rows {
			if r.Method == "weibull" {
				n++
				require.Equal(t, []string{"q50", "", "", "", NotEnough}, []string{r.Statistic, r.Value.String(), r.Lower.String(), r.Upper.String(), r.Status})
				require.Equal(t, c.Note, r.Note)
			}
		}
		require.Equal(t, 1, n)
	}
	require.Equal(t, OK, choice(t, mustLife(t, evening("yynn", "yynn", "yynn")), "exponential", "either_side").Status)
}

// A family's half past the last age, or before the first where nobody accepted it fresh, is marked as not seen.
func TestFamilyStatuses(t *testing.T) {
	require.Equal(t, BeyondLastAge, choice(t, mustLife(t, evening("yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "ynn", "yyynn")), "exponential", "either_side").Status)
	in := evening("nnn", "nnn", "nnn", "nnn", "nnn", "nnn", "nnn", "yyynn")
	require.Equal(t, BeforeFirstAge, choice(t, mustLife(t, in), "exponential", "either_side").Status)
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "h", Pour: 7, Mode: panel.SipThrough, Verdict: panel.Accept})
	require.Equal(t, OK, choice(t, mustLife(t, in), "exponential", "either_side").Status)
}

// A fit that does not reach its maximum has a status and no number, and the answer stands.
func TestFamilyNotConverged(t *testing.T) {
	life := mustLife(t, beside([]float64{4, 8}, "yy", "yy", "yy", "nn", "nn", "nn", "nn", "nn"))
	for _, c := range life.Parts[0].Sensitivity.Rows {
		if c.Status == NotConverged {
			require.True(t, c.Half.From.Empty() && c.Tenth.From.Empty(), c.Words)
		}
		if c.Half.From.Finite() {
			require.Greater(t, c.Half.From.Float(), 0.1, c.Words)
		}
	}
}

// The range by hand: the headline at 7; other choices at 6.5 to 8.4, 8 and 8.25; one open, one past the last age, one
// without a number; a family whose AIC is more than ten above the best, at 3, is left aside and named. That under another reading
// is compared with nothing.
func TestSensitivityRange(t *testing.T) {
	at := func(from, to float64) Quantile { return Quantile{P: 0.5, From: Of(from), To: Of(to), Status: OK} }
	beyond := at(12, math.Inf(1))
	beyond.Status = BeyondLastAge
	s := Sensitivity{Rows: []Choice{
		{Words: "no slips", Method: "replies", Variant: "slips_0", Half: at(6.5, 8.4), LogLik: Of(-5)},
		{Words: "Weibull lifetimes", Method: "weibull", Variant: "either_side", Half: at(8, 8), AIC: Of(20)},
		{Words: "log-normal lifetimes", Method: "lognormal", Variant: "either_side", Half: at(7.5, 7.5), AIC: Of(30)}, // ten above: still a choice
		{Words: "exponential lifetimes", Method: "exponential", Variant: "either_side", Half: at(3, 3), AIC: Of(30.01)},
		{Words: "log-normal lifetimes, read by the last yes", Method: "lognormal", Variant: "last_yes", Half: at(8.25, 8.25), AIC: Of(99)},
		{Words: "5 % slips", Method: "replies", Variant: "slips_5", Half: beyond},
		{Words: "open", Method: "replies", Variant: "x", Half: at(2, math.Inf(1))},
		{Words: "gamma lifetimes", Method: "gamma", Variant: "either_side", Status: NotEnough},
	}}
	h := &Headline{Quantiles: []Quantile{at(7, 7)}}
	for range 2 { // again with the joint fit
		s.spread(h)
		require.Equal(t, []Num{Of(6.5), Of(8.4)}, []Num{s.From, s.To})
		require.Equal(t, 3, s.Open)
		require.Equal(t, []string{"exponential lifetimes"}, s.Unfit)
	}
	p := LifetimePart{Headline: h, Sensitivity: s}
	require.Equal(t, "Under other choices of curve, reading and slips the half lies between 6½ and 8½ min; under 3 of 9 choices the half cannot be told or lies past the ages tasted (exponential lifetimes left aside, which the replies rule out).", words(p.choiceWords()))
	// The headline is one of the choices: at 9 it is the last, open it is one more open.
	s.spread(&Headline{Quantiles: []Quantile{at(9, 9)}})
	require.Equal(t, []Num{Of(6.5), Of(9)}, []Num{s.From, s.To})
	s.spread(&Headline{Quantiles: []Quantile{beyond}})
	require.Equal(t, []any{Of(6.5), Of(8.4), 4}, []any{s.From, s.To, s.Open})
	// All open: no range, and no sentence.
	s = Sensitivity{Rows: []Choice{{Half: beyond}}}
	s.spread(&Headline{Quantiles: []Quantile{beyond}})
	require.True(t, s.From.Empty() && s.To.Empty())
	p.Sensitivity = s
	require.Empty(t, p.choiceWords())
}

// The range of a real panel holds every choice that counts.
func TestRangeHoldsAllChoices(t *testing.T) {
	p := mustLife(t, nine()).Parts[0]
	s := p.Sensitivity
	require.Zero(t, s.Open)
	low, high := p.Headline.Quantiles[0].From.Float(), p.Headline.Quantiles[0].From.Float()
	for _, c := range s.Rows {
		if strings.HasPrefix(c.Words, "exponential") && len(s.Unfit) > 0 {
			continue
		}
		low, high = min(low, c.Half.From.Float()), max(high, c.Half.To.Float())
	}
	require.Equal(t, []Num{Of(low), Of(high)}, []Num{s.From, s.To})
	require.Less(t, low, high)
}

// The generalised gamma is fitted from 50 rows up that bound a limit from above.
func TestGeneralisedGammaFromFiftyRows(t *testing.T) {
	has := func(informative int) bool {
		in := evening()
		for i := range 52 {
			w := []string{"yynn", "yyynn", "yyyynn"}[i%3]
			if i >= informative {
				w = "yyyy"
			}
			addTaster(in, w)
		}
		for _, c := range mustLife(t, in).Parts[0].Sensitivity.Rows {
			if strings.HasPrefix(c.Words, "generalised gamma") {
				return true
			}
		}
		return false
	}
	require.False(t, has(49))
	require.True(t, has(50))
}
