package answer

import (
	"fmt"
	"slices"
	"strings"
)

// most pairs told in a sentence of their own.
const mostPairs = 6

// say tells which differences are sure, and which are not.
func (a *Differences) say(drinks int) {
	answered, tested := 0, 0
	for _, p := range a.Pairs {
		if p.Status == OK {
			answered++
		}
		if p.P.Finite() {
			tested++
		}
	}
	switch {
	case drinks < 2:
		a.Status = NotAsked
		a.add("One drink alone was tasted: there is nothing to compare it with.")
		return
	case answered == 0:
		a.Status = NotEnough
		a.add("No two drinks can be compared.")
		for i, p := range a.Pairs {
			if i == mostPairs {
				a.add(fmt.Sprintf("And %d more pairs: see the table.", len(a.Pairs)-i))
				break
			}
			a.add(fmt.Sprintf("%s and %s: %s.", upperFirst(p.A), p.B, p.Why))
		}
		return
	}
	var sure, unsure []string
	other := 0
	for _, p := range a.Pairs {
		switch {
		case p.Status != OK:
			other++
		case p.sure():
			sure = append(sure, p.words())
		default:
			unsure = append(unsure, p.words())
		}
	}
	told := func(list []string) {
		for i, s := range list {
			if i == mostPairs {
				a.add(fmt.Sprintf("And %d more: see the table.", len(list)-i))
				return
			}
			a.add(s)
		}
	}
	if len(sure) == 0 {
		a.add("No difference between the drinks is sure with these tasters.")
	}
	told(sure)
	told(unsure)
	if other > 0 {
		a.add(fmt.Sprintf("%d of %d pairs cannot be compared: %s.", other, len(a.Pairs), a.reasons()))
	}
	a.add(a.batchWords())
	if tested > 1 {
		a.add(fmt.Sprintf("p-values are after Holm over all %d pairs that have one.", tested))
	}
	for _, p := range a.Pairs {
		if p.Status == OK && p.Evenings {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%s and %s were tasted on different evenings, so the drink cannot be told from the evening.", upperFirst(p.A), p.B))
		}
	}
}

// reasons lists why pairs are not answered, each once.
func (a *Differences) reasons() string {
	var out []string
	for _, p := range a.Pairs {
		if p.Status != OK && !slices.Contains(out, p.Why) {
			out = append(out, p.Why)
		}
	}
	return strings.Join(out, "; ")
}

// batchWords say what the comparison speaks for where glasses shared a shake: the shakes of one drink may differ from those of
// another though the drinks do not.
func (a *Differences) batchWords() string {
	few, unknown := 0, false
	for _, p := range a.Pairs {
		switch {
		case p.Status != OK || p.OwnBatch:
		case p.BatchesA == 0 || p.BatchesB == 0:
			unknown = true
		default:
			if n := min(p.BatchesA, p.BatchesB); few == 0 || n < few {
				few = n
			}
		}
	}
	switch {
	case few == 1:
		return "A drink of which all glasses came from one shake cannot be told from that shake: this compares these drinks, and says little about the styles. Where shakes differ, such a difference is often found between drinks that are alike."
	case few > 0:
		return fmt.Sprintf("This compares these drinks: the fewest shakes of one were %d, and where shakes differ the limits are too narrow and the p-values too small.", few)
	case unknown:
		return "Batches are not known: this compares these drinks, and where shakes differ the limits are too narrow and the p-values too small."
	}
	return ""
}

// sure tells whether the limits of the ratio leave 1 out, and its p-value, where there is one, holds after Holm.
func (p Pair) sure() bool {
	return p.Ratio.Lower.Float() > 1 && (p.PAdj.Empty() || p.PAdj.Float() < 1-Level)
}

// words compare one pair.
func (p Pair) words() string {
	var s strings.Builder
	if p.sure() {
		fmt.Fprintf(&s, "%s keeps %s as long as %s", upperFirst(p.A), p.Ratio.timesWords(), p.B)
	} else {
		fmt.Fprintf(&s, "Not sure: %s %s as long as %s", p.A, p.Ratio.timesWords(), p.B)
	}
	if !p.PAdj.Empty() {
		fmt.Fprintf(&s, ", p%s%s", nbsp, pWords(p.PAdj.Float()))
	}
	if p.ScoreMethod != "" {
		fmt.Fprintf(&s, "; without an assumed curve p%s%s, the smallest that it can be with these tasters is %s", nbsp, pWords(p.ScoreAdj.Float()), smallWords(p.SmallestP.Float()))
	}
	if p.Both < p.Tasters && p.Both > 0 {
		fmt.Fprintf(&s, "; %d of %s had both", p.Both, Count(p.Tasters, "taster"))
	} else if p.Both == 0 {
		s.WriteString("; by different tasters")
	}
	return s.String() + "."
}

// pWords print a p-value: "= 0.03", "< 0.001".
func pWords(p float64) string {
	if p < 0.001 {
		return "<" + nbsp + "0.001"
	}
	return "=" + nbsp + smallWords(p)
}

// smallWords print a probability to two digits.
func smallWords(p float64) string {
	switch {
	case p >= 0.0995:
		return fmt.Sprintf("%.2f", p)
	case p >= 0.001:
		return fmt.Sprintf("%.3f", p)
	}
	return "less than 0.001"
}

// tabulate writes the rows of results.csv. A contrast such as "stirred/sour" is the first over the second.
func (a *Differences) tabulate(in Input) {
	for _, p := range a.Pairs {
		contrast := p.A + "/" + p.B
		mode := p.Mode
		if mode != "" {
			mode = "+" + mode
		}
		row := func(statistic, method, variant string, v Num, note string) {
			r := a.row(statistic, method, variant, "1")
			r.Value, r.Status, r.Note = v, p.Status, note
			r.Tasters, r.Batches, r.Tastes = p.Tasters, 0, p.Rows
			if statistic == "time_ratio" && p.Status == OK {
				r.Lower, r.Upper, r.Level = p.Ratio.Lower, p.Ratio.Upper, Of(p.Ratio.Level)
			}
			a.Rows = append(a.Rows, r)
		}
		note := p.Why
		if p.Status == OK {
			note = fmt.Sprintf("%s; %d tasters of both", smallPanelNote, p.Both)
		}
		if p.Ratio.From == p.Ratio.To {
			row("time_ratio", "replies", contrast+mode, p.Ratio.From, note)
		} else { // every ratio between is as likely
			row("time_ratio", "replies", contrast+mode, Num{}, note)
			row("time_ratio_from", "replies", contrast+mode, p.Ratio.From, "")
			row("time_ratio_to", "replies", contrast+mode, p.Ratio.To, "")
		}
		if !p.P.Empty() {
			row("p", "replies", contrast+mode, p.P, "likelihood ratio, referred to Student's law as the limits are")
			row("p_adjusted", "replies", contrast+mode, p.PAdj, "Holm over all pairs")
		}
		if p.ScoreMethod != "" {
			how := p.ScoreMethod
			if p.Draws > 0 {
				how += fmt.Sprintf(", %d draws, seed %d", p.Draws, in.Seed)
			}
			row("p", "score_logrank", contrast+mode, p.ScoreP, "Sun's scores; "+how)
			row("p_adjusted", "score_logrank", contrast+mode, p.ScoreAdj, how+"; Holm over all pairs")
			row("p_smallest", "score_logrank", contrast+mode, p.SmallestP, how)
			if !p.WilcoxonP.Empty() {
				row("p", "score_wilcoxon", contrast+mode, p.WilcoxonP, how)
			}
		}
	}
}
