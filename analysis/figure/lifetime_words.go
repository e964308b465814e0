package figure

import (
	"fmt"
	"strings"

	"lastsip/analysis/answer"
)

// shareName names the y axis in words.
func shareName(part *answer.LifetimePart, severalModes, narrow bool) string {
	who := "tasters"
	if part.Unit == "pour" {
		who = "pours"
	}
	name := who + " who would go on with it"
	if part.Unit == "pour" {
		name = "pours that the taster would go on with"
	}
	if severalModes && narrow {
		return who + ": " + modeWords(part.Mode)
	} else if severalModes {
		return name + ", " + modeWords(part.Mode)
	}
	return name
}

// lifetimeAlt says what the figure shows.
func lifetimeAlt(a *answer.Lifetime) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Who would go on with %s, against minutes since it was made.", a.Title)
	for i := range a.Parts {
		part := &a.Parts[i]
		last, some := lastAge(part)
		if !some {
			continue
		}
		b.WriteString(sharesAlt(part))
		half, tenth := marked(part, last)
		early := ""
		if h := part.Headline; h != nil && h.Early {
			early = " (this tends to be early)"
		}
		if words := quantileWords(half.Quantile); half.drawn && words != "" {
			fmt.Fprintf(&b, " Half have reached their limit at %s minutes%s.", words, early)
		}
		if words := quantileWords(tenth.Quantile); tenth.drawn && words != "" {
			fmt.Fprintf(&b, " One in ten have reached it at %s minutes.", words)
		}
		if part.Headline == nil {
			b.WriteString(otherReadingsAlt(part))
			continue
		}
		if q, ok := quantile(part, .5); ok && quantileWords(q) != "" {
			fmt.Fprintf(&b, " Without a family: half at %s minutes.", quantileWords(q))
		}
		if s := &part.Sensitivity; s.From.Finite() && s.To.Finite() {
			fmt.Fprintf(&b, " Under other choices half lies between %s and %s minutes%s.", tenths(s.From.Float()), tenths(s.To.Float()), openWords(s.Open))
		}
		b.WriteString(groupsAlt("evening", part.Headline.Evenings, len(part.Headline.Evenings.Each) >= 2))
		b.WriteString(groupsAlt("batch", part.Headline.Batches, showsBatches(part.Headline)))
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}

func openWords(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", and is open or not told under %d", n)
}

// sharesAlt counts who is still going on.
func sharesAlt(part *answer.LifetimePart) string {
	var shares []string
	for _, sh := range part.Shares {
		going := fmt.Sprintf("%d", sh.Going)
		if sh.Possible > sh.Going {
			going += fmt.Sprintf(" to %d", sh.Possible)
		}
		shares = append(shares, fmt.Sprintf("%s of %d at %s", going, sh.Units, tenths(sh.AgeMin)))
	}
	if shares == nil {
		return ""
	}
	unit := "tasters"
	if part.Unit == "pour" {
		unit = "pours"
	}
	return fmt.Sprintf(" Of the %s, %s: still going on are %s.", unit, modeWords(part.Mode), strings.Join(shares, ", "))
}

// otherReadingsAlt gives the half under other readings of wavering replies.
func otherReadingsAlt(part *answer.LifetimePart) string {
	var b strings.Builder
	for _, r := range part.OtherReadings() {
		if r.Median.From.Finite() && r.Median.To.Finite() {
			fmt.Fprintf(&b, " By %s between %s and %s minutes.", r.Words(), tenths(r.Median.From.Float()), tenths(r.Median.To.Float()))
		}
	}
	return b.String()
}

// groupsAlt gives the half of each evening or batch.
func groupsAlt(what string, g answer.Groups, drawn bool) string {
	if !drawn {
		return ""
	}
	var list []string
	for _, x := range g.Each {
		words := quantileWords(x.Half)
		if x.Tasters < fewest {
			words = estimateWords(words)
		}
		if words == "" {
			words = "not told"
		}
		list = append(list, clean(x.Name)+": "+words)
	}
	said := fmt.Sprintf(" Half, %s by %s, in minutes: %s.", what, what, strings.Join(list, "; "))
	if g.Half != nil {
		said += fmt.Sprintf(" Over these: %s.", quantileWords(*g.Half))
	}
	return said
}

// actAlt says where the act's line stands.
func actAlt(act answer.Num) string {
	if !act.Finite() {
		return ""
	}
	unit := "minutes"
	if x := act.Float(); x == 1 || x == 0.5 {
		unit = "minute"
	}
	return fmt.Sprintf(" A dashed line marks serve by %s %s.", halves(act.Float()), unit)
}
