package answer

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// Where limits lie too far apart, no age is told, and no share that was not seen.
func TestDividedLimits(t *testing.T) {
	for _, in := range []Input{beside([]float64{4}, "y", "y", "y", "n", "n", "n", "n", "n"), beside([]float64{4, 8}, "yy", "yy", "yy", "nn", "nn", "nn", "nn", "nn")} {
		life := mustLife(t, in)
		require.Equal(t, NotEnough, life.Status)
		h := life.Parts[0].Headline
		require.Empty(t, h.Shares)
		require.Len(t, h.Quantiles, 3)
		for _, q := range h.Quantiles {
			require.Equal(t, []Num{{}, {}}, []Num{q.From, q.To})
			require.Equal(t, []any{NotEnough, false, false}, []any{q.Status, q.Beyond, q.Before})
		}
		require.True(t, h.LogMedian.Empty() && h.LogSD.Empty())
		require.Contains(t, words(life.Sentences[0]), "Half of drinkers like these would leave the rest at an age that cannot be told: the tasters' limits lie too far apart, before the first age and past the last (95 % limits open at both ends).")
		for _, r := range life.Rows {
			if r.Method == "replies" && strings.HasPrefix(r.Statistic, "q") && !strings.Contains(r.Variant, "without_never") {
				require.Equal(t, []string{"", NotEnough}, []string{r.Value.String(), r.Status}, r.Variant)
				require.NotContains(t, r.Statistic, "_")
			}
		}
		act, err := NewServeBy(in, sour, life, nil)
		require.NoError(t, err)
		require.Equal(t, leastOfAllLs, act.Basis, "an act rests on no such estimate")
		require.Equal(t, Of(0), act.Act)
	}
}

// A quarter that would lie before the first age tasted, though half does not: nobody saw it.
func TestBeforeFirstAge(t *testing.T) {
	life := mustLife(t, evening("nn", "nn", "nn", "ynn", "yynn", "yyynn"))
	qs := life.Parts[0].Headline.Quantiles
	require.Equal(t, []string{OK, BeforeFirstAge}, []string{qs[0].Status, qs[1].Status})
	require.Equal(t, []Num{Of(0), Of(2)}, []Num{qs[1].From, qs[1].To})
	require.True(t, qs[1].Before && !qs[1].Beyond)
	// Accepted fresh by anyone, it was seen.
	in := evening("nn", "nn", "nn", "ynn", "yynn", "yyynn")
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "f", Pour: 5, Mode: panel.SipThrough, Verdict: panel.Accept})
	qs = mustLife(t, in).Parts[0].Headline.Quantiles
	require.Equal(t, []string{OK, OK}, []string{qs[0].Status, qs[1].Status})
	require.True(t, 0 < qs[1].From.Float() && qs[1].From.Float() < 2)
}

// An estimate past the oldest age is only said to lie there.
func TestBeyondLastAge(t *testing.T) {
	life := mustLife(t, evening("yyyyy", "yyyyy", "yyyyy", "yyyyy", "yyynn", "yyyyn", "yyyyy", "yyyyy", "yyyyy", "yyyyy"))
	qs := life.Parts[0].Headline.Quantiles
	require.Equal(t, []string{BeyondLastAge, BeyondLastAge, OK}, []string{qs[0].Status, qs[1].Status, qs[2].Status})
	require.Equal(t, []Num{Of(10), inf()}, []Num{qs[0].From, qs[0].To})
	require.True(t, qs[0].Beyond)
	require.Equal(t, BeyondLastAge, life.Status)
	require.Contains(t, words(life.Sentences[0]), "later than 10 min, when those still going on were last asked (")
	// It is about limits, not about replies: of these, more than one in ten is a no at the last age already.
	h := mustLife(t, evening("yyyyyy", "yyyyyy", "yyyyyy", "yyyyyy", "yyyyny", "yyyyny", "yynyyy", "yyyyyy")).Parts[0].Headline
	q, ok := h.Quantile(0.1)
	require.True(t, ok && q.Beyond)
	require.Less(t, h.Shares[5].OfReplies, 0.9)
}

// Everyone goes on, or nobody ever: shares of all and none, with limits; no spread.
func TestNobodyAndEveryoneRejects(t *testing.T) {
	for _, tt := range []struct {
		word   string
		share  float64
		status string
	}{{"yyyy", 1, BeyondLastAge}, {"nnnn", 0, BeforeFirstAge}} {
		life := mustLife(t, evening(slices.Repeat([]string{tt.word}, 8)...))
		h := life.Parts[0].Headline
		require.Equal(t, tt.status, life.Status)
		require.True(t, h.LogMedian.Empty() && h.LogSD.Empty())
		require.Len(t, h.Quantiles, 3)
		for _, q := range h.Quantiles {
			require.Equal(t, tt.status, q.Status)
		}
		for _, s := range h.Shares {
			require.Equal(t, tt.share, s.Share)
			require.True(t, s.Lower < s.Upper && 0 <= s.Lower && s.Upper <= 1 && (s.Lower == tt.share || s.Upper == tt.share))
			require.InDelta(t, 0.02+0.96*tt.share, s.OfReplies, 1e-9, "slips remain")
		}
		for _, c := range life.Parts[0].Sensitivity.Rows {
			require.NotEqual(t, OK, c.Status, c.Words)
		}
		require.True(t, life.Parts[0].Sensitivity.From.Empty())
		require.NotContains(t, strings.Join(life.Sentences, " "), "Under other choices")
	}
}

// Where the likelihood puts all limits at the very last age, more noes than yeses there say that half is reached by then, and more
// yeses that it is not.
func TestLimitsAtTheLastAge(t *testing.T) {
	for _, age := range []int{3, 4, 5, 6, 7} {
		yes, no := strings.Repeat("y", age), strings.Repeat("y", age-1)+"n"
		half := mustLife(t, evening(no, no, no, no, no, yes)).Parts[0].Headline.Quantiles[0]
		require.Equal(t, OK, half.Status, "%d", 2*age)
		require.InDelta(t, float64(2*age), half.From.Float(), 1e-6)
		half = mustLife(t, evening(yes, yes, yes, yes, no, yes)).Parts[0].Headline.Quantiles[0]
		require.Equal(t, BeyondLastAge, half.Status, "%d", 2*age)
		require.Equal(t, []Num{Of(float64(2 * age)), inf()}, []Num{half.From, half.To})
		two := mustLife(t, evening(yes, yes, yes, yes, no, no)).Parts[0].Headline.Quantiles
		require.Equal(t, []string{BeyondLastAge, OK}, []string{two[0].Status, two[1].Status}, "two of six: a quarter is reached")
	}
}
