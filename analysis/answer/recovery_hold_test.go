package answer_test

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/survival"
)

// printed is a line of the committed table: percentages as fractions, NaN where empty.
type printed struct {
	half, tenth printedLimits
	late        float64
	rejects     float64 // comparisons only
	notes       string
}

type printedLimits struct{ bias, covers, width, open float64 }

// readRecovery reads the lines of a committed table by group, world, tasters and method.
func readRecovery(t *testing.T, table string) map[string]printed {
	t.Helper()
	text, err := os.ReadFile(table)
	require.NoError(t, err)
	number := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		x, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return x
	}
	limits := func(c []string) printedLimits {
		return printedLimits{number(c[0]) / 100, number(c[1]) / 100, number(c[2]), number(c[3]) / 100}
	}
	out, group := map[string]printed{}, ""
	for _, line := range strings.Split(string(text), "\n") {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			group = name
		}
		c := cells(line)
		if len(c) < 4 {
			continue
		}
		if _, err := strconv.Atoi(c[2]); err != nil {
			continue
		}
		key := strings.Join([]string{group, c[1], c[2], c[3]}, "|")
		require.NotContains(t, out, key, "a line stands twice in the table")
		switch {
		case group == groupCompare && len(c) == 11:
			out[key] = printed{half: limits(c[4:8]), rejects: number(c[8]) / 100, notes: c[9]}
		case len(c) == 15:
			out[key] = printed{half: limits(c[4:8]), tenth: limits(c[8:12]), late: number(c[12]) / 100, notes: c[13]}
		}
	}
	return out
}

// sameShare holds a share of a small run against the committed one, as far as the Monte Carlo errors of both allow.
func sameShare(t *testing.T, what string, got, want float64, panels, committed int) {
	t.Helper()
	if math.IsNaN(want) {
		return
	}
	se := math.Sqrt(max(want*(1-want), 0.0025) * (1/float64(panels) + 1/float64(committed)))
	require.InDelta(t, want, got, 4*se, "%s differs from the committed table", what)
}

// same holds an estimate of a small run against the committed line.
func (r recovered) same(t *testing.T, what string, want printedLimits, panels, committed int) {
	t.Helper()
	require.Equal(t, r.asked, !math.IsNaN(want.covers), "%s: asked", what)
	if !r.asked {
		return
	}
	sameShare(t, what+": covers", r.covers, want.covers, panels, committed)
	sameShare(t, what+": open", r.open, want.open, panels, committed)
	require.Equal(t, math.IsNaN(r.bias), math.IsNaN(want.bias), "%s: bias", what)
	if !math.IsNaN(want.bias) && !math.IsInf(want.bias, 0) {
		require.InDelta(t, want.bias, r.bias, 5*r.error+0.02, "%s: bias differs from the committed table", what)
	}
}

func (l recoveryLine) same(t *testing.T, want printed) {
	t.Helper()
	l.half.same(t, l.key()+": half", want.half, checkPanels, recoveryPanels)
	l.tenth.same(t, l.key()+": q10", want.tenth, checkPanels, recoveryPanels)
	sameShare(t, l.key()+": act late", l.late, want.late, checkPanels, recoveryPanels)
}

// beyond is two Monte Carlo standard errors of a share.
func beyond(share float64, panels int) float64 {
	return 2 * math.Sqrt(share*(1-share)/float64(panels))
}

// TestRecoveryHolds asserts on the committed table what the headline must hold: the limits of the median cover 92.5 to 98 % of
// panels where the model is true, from five tasters up (more only where most tasters fall into one interval), and 89 % where the limits are Weibull.
func TestRecoveryHolds(t *testing.T) {
	committed := readRecovery(t, recoveryTable)
	for _, w := range recoveryWorlds() {
		for _, n := range recoveryTasters {
			key := recoveryLine{group: w.group, name: w.name, tasters: n, method: methodNames[headline]}.key()
			p, ok := committed[key]
			require.True(t, ok, "%s is not in the committed table: run with -update", key)
			if strings.Contains(p.notes, "failed") {
				t.Errorf("%s: %s", key, p.notes)
			}
			if w.model && n >= 5 {
				if p.half.covers < 0.925-beyond(0.925, recoveryPanels) {
					t.Errorf("%s: covers %.3f, below 0.925", key, p.half.covers)
				}
				if p.half.covers > 0.98+beyond(0.98, recoveryPanels) && !strings.Contains(p.notes, "one interval") {
					t.Errorf("%s: covers %.3f, above 0.98", key, p.half.covers)
				}
			}
			if w.study.Weibull && p.half.covers < 0.89-beyond(0.89, recoveryPanels) {
				t.Errorf("%s: covers %.3f, below 0.89", key, p.half.covers)
			}
		}
	}
}

func (l recoveryLine) key() string {
	return fmt.Sprint(l.group, "|", l.name, "|", l.tasters, "|", l.method)
}

// The counting, on five panels by hand: truth 6.
func TestRecoveredByHand(t *testing.T) {
	inf := math.Inf(1)
	all := make([][methods]noted, 6)
	for i, b := range []bounds{
		{true, 5, 5, 4, 7},       // covers, width 3
		{true, 9, 9, 8, 12},      // misses, width 4
		{true, inf, inf, 5, inf}, // covers, open, no estimate
		{true, 6.6, 6, 0, 6},     // covers at the end, open below
		{true, 3, 3, 2, 5.5},     // misses, width 3.5
		{},                       // no answer: does not cover
	} {
		all[i][0].half = b
	}
	r := recover2(all, 6, reach{0.1, 64}, func(p *[methods]noted) bounds { return p[0].half })
	require.InDelta(t, 0.1, r.bias, 1e-12, "the middle of 3, 5, 6.6, 9, inf is a tenth too late")
	require.InDelta(t, 3.0/6, r.covers, 1e-12)
	require.InDelta(t, 2.0/6, r.open, 1e-12)
	require.InDelta(t, 1.0/6, r.none, 1e-12)
	require.Equal(t, 4.0, r.width, "the middle of 3, 3.5, 4, inf, inf")
}

// The rules that choose and read replies, on three tasters by hand.
func TestRecoveryRules(t *testing.T) {
	say := func(words ...string) (out tasted) {
		for _, w := range words {
			var replies []endpoint.Reply
			for k, c := range w {
				replies = append(replies, endpoint.Reply{AgeMin: float64(2 * (k + 1)), Reject: c == 'n'})
			}
			out = append(out, replies)
		}
		return out
	}
	require.True(t, say("yyn", "yn", "yyy").early(), "nobody replied after a no")
	require.False(t, say("yyn", "ynn", "yyy").early(), "one of two did")
	require.False(t, say("yyy").early(), "nobody rejected")
	require.Equal(t, 2.0, say("yyn", "ynn").act(false, 0), "the smallest L")
	require.Equal(t, 3.5, say("yyn", "ynn").act(true, 3.9))
	require.Equal(t, 2.0, say("yyn", "ynn").act(true, 6.1), "past the last age")
	require.Equal(t, say("ynn", "nn"), say("ynn", "nn").fromFirstYes())
	require.Len(t, say("nyn").fromFirstYes()[0], 2)
	require.InDelta(t, 2.0/3, say("yyn", "yynn", "ynn").crowd(), 1e-12)
	units := say("nynn", "yyyy").asIntervals(endpoint.EitherSide)
	require.Equal(t, []survival.ReplyUnit{
		{Subject: 0, Replies: []survival.Reply{{Age: 4}, {Age: 6, Reject: true}}},
		{Subject: 1, Replies: []survival.Reply{{Age: 8}}},
	}, units)
}
