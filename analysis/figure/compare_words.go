package figure

import (
	"fmt"
	"strings"

	"lastsip/analysis/answer"
)

// compareValue is the act of one row in words.
func compareValue(st *answer.CompareStyle) string {
	switch {
	case !st.Act.Finite():
		return "no age can be told"
	case st.Act.Float() == 0:
		return "at once"
	case handsOver(st.HandOverAfter, st.Act):
		return "after " + halves(st.HandOverAfter.Float()) + ", by " + halves(st.Act.Float()) + "\u00a0min"
	}
	return "by " + halves(st.Act.Float()) + "\u00a0min"
}

// compareKey names the marks that are drawn.
func compareKey(styles []answer.CompareStyle) []string {
	var windows, replies, dotted, early, again, estimates, hatch, half, tenth, bars, noticed, acts, all, nine bool
	for i := range styles {
		r := &styles[i].Ribbon
		windows, replies = windows || r.Window != nil, replies || r.Window == nil
		ages := stripOf(r, styles[i].Act, styles[i].HandOverAfter, compareEnd(styles))
		_, some := ages.end(screened)
		dotted = dotted || some
		_, some = ages.end(notYet)
		early, again = early || some, again || r.Window != nil && len(r.Window.Others) > 0
		estimates = estimates || len(ages.ticks) > 0
		_, some = ages.end(hatched)
		hatch = hatch || some
		half, tenth, bars = half || showsHalf(r), tenth || showsTenth(r), bars || len(r.Intervals) > 0
		noticed, acts = noticed || r.Noticed.Finite(), acts || styles[i].Act.Finite()
		if _, some = ages.end(solid); some && r.Window == nil {
			all, nine = all || styles[i].Basis != oneInTen, nine || styles[i].Basis == oneInTen
		}
	}
	who := "all"
	switch {
	case nine && all:
		who = "nine in ten (or all)"
	case nine:
		who = "nine in ten"
	}
	var key []string
	put := func(there bool, words string) {
		if there {
			key = append(key, words)
		}
	}
	put(acts, "dashed: serve by")
	put(windows && replies, "solid: at its best, or "+who+" would go on with it")
	put(windows && !replies, "solid: at its best for an average taster")
	put(!windows, "solid: "+who+" would go on with it")
	put(estimates, "tick: begins or ends, at the estimate")
	put(dotted && windows && replies, "dotted: undecided, or surely more than half would")
	put(dotted && windows && !replies, "dotted: undecided")
	put(dotted && !windows, "dotted: surely more than half would")
	put(early && again, "empty: not yet, or again")
	put(early && !again, "empty: not yet")
	put(again && !early, "empty: again")
	put(tenth, "ring: one in ten would leave the rest")
	put(half, "dot: half would leave the rest")
	put(bars, "thin bars: one for each taster")
	put(noticed, "triangle: told from a fresh one")
	put(hatch, "hatched: not tasted")
	return key
}

// wrapWords sets items on as few lines as hold them.
func wrapWords(l lettering, items []string, width float64) []string {
	var lines []string
	for _, item := range items {
		if n := len(lines) - 1; n >= 0 && l.width(lines[n]+" · "+item) <= width {
			lines[n] += " · " + item
			continue
		}
		lines = append(lines, item)
	}
	return lines
}

// compareAlt says what the figure shows.
func compareAlt(styles []answer.CompareStyle) string {
	var b strings.Builder
	b.WriteString("Age ribbons of several drinks, minutes since they were made.")
	for i := range styles {
		st := &styles[i]
		r := &st.Ribbon
		fmt.Fprintf(&b, " %s: ", clean(r.Label))
		switch {
		case !st.Act.Finite():
			b.WriteString("no age can be told")
		default:
			b.WriteString("serve " + byWords(st.Act))
			if r.Window == nil && st.Act.Float() > 0 && r.Unit != "pour" {
				b.WriteString(", until when " + whoWould(st.Basis) + " would go on with it")
			}
			if handsOver(st.HandOverAfter, st.Act) {
				b.WriteString("; hand it over after " + halves(st.HandOverAfter.Float()))
			}
		}
		if r.Window != nil {
			b.WriteString("; " + windowWords(r.Window, r.FirstAge, r.LastAge))
		}
		if r.Noticed.Finite() {
			b.WriteString("; told from a fresh one from " + halves(r.Noticed.Float()))
		}
		if words := quantileWords(r.Tenth); showsTenth(r) && words != "" {
			b.WriteString("; one in ten have reached their limit at " + words)
		}
		if words := quantileWords(r.Half); showsHalf(r) && words != "" {
			b.WriteString("; half have reached their limit at " + words)
		}
		if r.Words != "" {
			b.WriteString("; " + r.Words)
		}
		b.WriteString(".")
	}
	return b.String()
}
