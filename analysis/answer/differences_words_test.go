package answer

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

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
