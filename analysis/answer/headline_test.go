package answer

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// nine tasters waver; g begins with a no.
func nine() Input {
	return evening("yynynn", "ynn", "yyynn", "yynn", "yyyynynn", "yyynn", "nyynn", "yyyyynn", "yynn")
}

// unitsOf writes the replies of a word list down for the estimator itself; skip leaves out noes before a first yes.
func unitsOf(ages []float64, skip bool, words ...string) []survival.ReplyUnit {
	var out []survival.ReplyUnit
	for i, w := range words {
		u := survival.ReplyUnit{Subject: i}
		begun := !skip || !strings.Contains(w, "y")
		for k, c := range w {
			begun = begun || c == 'y'
			if c != '.' && begun {
				u.Replies = append(u.Replies, survival.Reply{Age: ages[k], Reject: c == 'n'})
			}
		}
		out = append(out, u)
	}
	return out
}

func byTwo(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(2 + 2*i)
	}
	return out
}

// The headline is the reply model with 2 % slips on every reply, whatever the tasting mode: quantiles, shares at the age steps,
// shares of replies, spreads. The spread of limits is sqrt(n/(n-1)) wider than the model's, and one in ten and a quarter lie on it.
func TestHeadlineIsTheReplyModel(t *testing.T) {
	side := []float64{4, 7, 11, 15}
	for name, tt := range map[string]struct {
		in    Input
		units []survival.ReplyUnit
		ages  []float64
		wide  float64
	}{
		"twelve":   {twelve(), unitsOf(byTwo(8), false, "ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyynn", "yyyyynn", "yyyyyynn"), byTwo(8), math.Sqrt(12.0 / 11)},
		"nine":     {nine(), unitsOf(byTwo(8), false, "yynynn", "ynn", "yyynn", "yynn", "yyyynynn", "yyynn", "nyynn", "yyyyynn", "yynn"), byTwo(8), math.Sqrt(9.0 / 8)},
		"beside":   {beside(side, "yyyn", "yynn", "ynnn", "ynyn", "yyyn", "yynn"), unitsOf(side, false, "yyyn", "yynn", "ynnn", "ynyn", "yyyn", "yynn"), side, math.Sqrt(6.0 / 5)},
		"three":    {evening("yynn", "yyynn", "yynynn"), unitsOf(byTwo(6), false, "yynn", "yyynn", "yynynn"), byTwo(6), math.Sqrt(3.0 / 2)},
		"one gap":  {evening("y.nn", "yyynn", "yy.nynn"), unitsOf(byTwo(7), false, "y.nn", "yyynn", "yy.nynn"), byTwo(7), math.Sqrt(3.0 / 2)},
		"no yes":   {evening("nnn", "yyynn", "yynynn", "ynn"), unitsOf(byTwo(6), false, "nnn", "yyynn", "yynynn", "ynn"), byTwo(6), math.Sqrt(4.0 / 3)},
		"open end": {evening("yyyy", "yyynn", "yynn", "ynn"), unitsOf(byTwo(5), false, "yyyy", "yyynn", "yynn", "ynn"), byTwo(5), math.Sqrt(4.0 / 3)},
	} {
		t.Run(name, func(t *testing.T) {
			fit, err := survival.ReplyModel{Slips: 0.02, Level: 0.95}.Fit(tt.units)
			require.NoError(t, err)
			require.Equal(t, survival.ReplyInterior, fit.Kind)
			h := mustLife(t, tt.in).Parts[0].Headline
			require.Equal(t, []any{"replies", false, 0.02, OK, 0}, []any{h.Method, h.Early, h.Slips, h.Status, h.LeftOut})
			require.Equal(t, []any{fit.LogLik, fit.Units, fit.Replies}, []any{h.LogLik, h.Units, h.Replies})
			require.Equal(t, []Num{Of(fit.Coef[0]), Of(fit.Sigma * tt.wide), Of(fit.Tau), {}, {}}, []Num{h.LogMedian, h.LogSD, h.ReplySD, h.TasterSD, h.GlassSD})
			var ps []float64
			for _, q := range h.Quantiles {
				ps = append(ps, q.P)
				e, err := fit.Quantile(nil, q.P)
				require.NoError(t, err)
				if q.Status == OK {
					require.Equal(t, []Num{Of(e.From), Of(e.To), Of(e.Lower), Of(e.Upper), Of(e.Level)}, []Num{q.From, q.To, q.Lower, q.Upper, Of(q.Level)})
				}
				if z, ok := map[float64]float64{0.5: 0, 0.25: -0.6744897501960817, 0.1: -1.2815515655446004}[q.P]; ok && q.Status == OK { // qnorm
					require.InDelta(t, h.LogMedian.Float()+z*h.LogSD.Float(), math.Log(q.From.Float()), 1e-9, "on the widened curve")
				}
			}
			require.Equal(t, []float64{0.5, 0.25, 0.1}[:1+min(1, len(tt.units)/6)+min(1, len(tt.units)/8)], ps)
			require.Len(t, h.Shares, len(tt.ages))
			for i, s := range h.Shares {
				e, err := fit.Share(nil, tt.ages[i])
				require.NoError(t, err)
				require.Equal(t, ModelShare{tt.ages[i], e.From, e.Lower, e.Upper, 0.95, fit.OfReplies(nil, tt.ages[i])}, s)
			}
		})
	}
}

// One in ten needs eight tasters, a quarter six; pours of one taster never give one in ten.
func TestTenthFromEightTasters(t *testing.T) {
	ps := func(in Input) []float64 {
		var out []float64
		for _, q := range mustLife(t, in).Parts[0].Headline.Quantiles {
			out = append(out, q.P)
		}
		return out
	}
	all := []string{"yynn", "yyynn", "ynn", "yyyynn", "yynn", "yyynn", "yynn", "yyynn"}
	require.Equal(t, []float64{0.5}, ps(evening(all[:5]...)))
	require.Equal(t, []float64{0.5, 0.25}, ps(evening(all[:6]...)))
	require.Equal(t, []float64{0.5, 0.25}, ps(evening(all[:7]...)))
	require.Equal(t, []float64{0.5, 0.25, 0.1}, ps(evening(all...)))
	in := evening(all...)
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Taster, in.Panel.Pours[i].Batch = "a", fmt.Sprint(i)
	}
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Taster = "a"
	}
	life := mustLife(t, in)
	require.Equal(t, []any{"pour", 8}, []any{life.Parts[0].Unit, life.Parts[0].Units})
	require.Equal(t, []float64{0.5, 0.25}, ps(in))
	for _, r := range life.Rows {
		require.False(t, r.Method != "turnbull" && strings.HasPrefix(r.Statistic, "q10"), "%s %s %s", r.Statistic, r.Method, r.Variant)
	}
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	require.Equal(t, leastOfAllLs, act.Basis)
}

// twenty tasters: (2,4] twice, (4,6] three times, (6,8] and (8,10] five times each, (10,12] three times, (12,14] twice.
var twenty = []string{"ynn", "ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyynn", "yyyynn", "yyyynn", "yyyynn", "yyyyynn", "yyyyynn", "yyyyynn", "yyyyyynn", "yyyyyynn"}

// Below names whoever had surely reached their limit by the one-in-ten estimate: R at or below it. With fewer than two it is read
// off the curve's shape, which sentence, row and act say.
func TestReadOffTheShape(t *testing.T) {
	const shape = "read off the curve's shape, not seen"
	for _, tt := range []struct {
		words []string
		below []string
	}{
		{[]string{"ynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyyynn"}, nil},
		{[]string{"ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyynn", "yyyyynn", "yyyyyynn"}, []string{"a"}},
		{twenty, []string{"a", "b"}},
	} {
		in := evening(tt.words...)
		life := mustLife(t, in)
		h := life.Parts[0].Headline
		q, ok := h.Quantile(0.1)
		require.True(t, ok)
		var want []string
		for i, w := range tt.words {
			if float64(2*(1+strings.Index(w, "n"))) <= q.From.Float() {
				want = append(want, string(rune('a'+i)))
			}
		}
		require.Equal(t, tt.below, want, "the case is what it says: %v", q.From)
		require.Equal(t, tt.below, h.Below)
		few := len(tt.below) < 2
		act, err := NewServeBy(in, sour, life, nil)
		require.NoError(t, err)
		require.Equal(t, few, strings.Contains(strings.Join(life.Sentences, " "), shape))
		require.Equal(t, few, strings.Contains(strings.Join(act.Sentences, " "), "The one in ten is read off the curve's shape, not seen: fewer than two"))
		for _, r := range life.Rows {
			if r.Method == "replies" && r.Variant == "sip_through" {
				require.Equal(t, few && r.Statistic == "q10", strings.Contains(r.Note, shape), r.Statistic)
			}
		}
	}
}

// The names in Below are those shown, not those written.
func TestBelowShowsNames(t *testing.T) {
	in := evening(twenty...)
	in.Name = strings.ToUpper
	require.Equal(t, []string{"A", "B"}, mustLife(t, in).Parts[0].Headline.Below)
}

// The reply about a fresh drink counts as a reply, and no share is told at age 0.
func TestFreshRepliesCount(t *testing.T) {
	in := twelve()
	for i := range 12 {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: i, Mode: panel.SipThrough, Verdict: panel.Accept})
	}
	h, without := mustLife(t, in).Parts[0].Headline, mustLife(t, twelve()).Parts[0].Headline
	require.Equal(t, 12+without.Replies, h.Replies)
	require.InDelta(t, without.LogLik+12*math.Log(0.98), h.LogLik, 1e-9, "each says yes with probability 1 - s, whatever the limit")
	require.Equal(t, without.Shares[0].AgeMin, h.Shares[0].AgeMin)
	r, err := endpoint.RepliesOf(in.Panel, sour, panel.SipThrough)
	require.NoError(t, err)
	rows, skipped := r.OwnLimits(false)
	require.Equal(t, []int{12, 0}, []int{len(rows), skipped})
}
