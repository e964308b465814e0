package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// differencesTable lists, per pair of drinks, how many times as long the one keeps as the other, with both tests.
func differencesTable(a *answer.Differences) string {
	var rows [][]string
	for i := range a.Pairs {
		p := &a.Pairs[i]
		rows = append(rows, []string{p.A + " over " + p.B, mode(p.Mode), ratio(p.Ratio), ratioLimits(p.Ratio), probability(p.P), probability(p.PAdj),
			probability(p.ScoreP), probability(p.ScoreAdj), probability(p.WilcoxonP), probability(p.SmallestP), pairTasters(p), pairNote(p)})
	}
	return table([]string{"keeps longer", "how", "times as long", "limits", "p", "p after Holm", "score test p", "score test p after Holm", "of Wilcoxon kind", "smallest p it can reach", "tasters", ""}, "llrrrrrrrrrl", rows)
}

// times prints a ratio to three figures.
func times(n answer.Num) string {
	switch {
	case n.Empty():
		return ""
	case n.Open():
		return "open"
	}
	x := n.Float()
	if x == 0 {
		return "open"
	}
	return strconv.FormatFloat(x, 'f', max(0, 2-int(math.Floor(math.Log10(math.Abs(x))))), 64)
}

func ratio(q answer.Quantile) string {
	switch from, to := times(q.From), times(q.To); {
	case q.From.Empty() || q.From.Open():
		return ""
	case !q.To.Finite():
		return "more than " + from
	case from == to:
		return from
	default:
		return from + " to " + to
	}
}

func ratioLimits(q answer.Quantile) string {
	if q.Lower.Empty() && q.Upper.Empty() {
		return ""
	}
	return times(q.Lower) + " to " + times(q.Upper)
}

func pairTasters(p *answer.Pair) string {
	if p.Tasters == 0 {
		return ""
	}
	return fmt.Sprintf("%d of both, %d of either", p.Both, p.Tasters)
}

// pairNote says what the tests rest on, or why there are none.
func pairNote(p *answer.Pair) string {
	var notes []string
	switch {
	case p.Why != "":
		notes = append(notes, p.Why)
	case p.Status != answer.OK:
		notes = append(notes, strings.ReplaceAll(p.Status, "_", " "))
	}
	if p.ScoreMethod != "" {
		how := "score test " + p.ScoreMethod
		if p.Draws > 0 {
			how += fmt.Sprintf(", %d relabellings drawn", p.Draws)
		}
		notes = append(notes, how)
	}
	if p.Evenings {
		notes = append(notes, "tasted on different evenings")
	}
	return strings.Join(notes, "; ")
}

// decimals prints a number to so many decimals.
func decimals(n answer.Num, places int) string {
	switch {
	case n.Empty():
		return ""
	case n.Open():
		return "open"
	}
	return strconv.FormatFloat(n.Float(), 'f', places, 64)
}

// probability prints a p-value.
func probability(n answer.Num) string {
	switch {
	case n.Empty():
		return ""
	case n.Finite() && n.Float() < 0.001:
		return "below 0.001"
	}
	return decimals(n, 3)
}
