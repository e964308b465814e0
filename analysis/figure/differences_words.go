package figure

import (
	"fmt"
	"strings"

	"lastsip/analysis/answer"
)

// ratioWords write a ratio with its limits in brackets: "2.1 times (1.4 to 3.2)", "more than 2.1 times (from 1.4)".
func ratioWords(q answer.Quantile) string {
	var estimate, limits string
	switch {
	case !positive(q.From):
	case q.To.Finite() && times(q.From) == times(q.To):
		estimate = times(q.From) + " times"
	case q.To.Finite():
		estimate = times(q.From) + " to " + times(q.To) + " times"
	default:
		estimate = "more than " + times(q.From) + " times"
	}
	switch low, high := positive(q.Lower), positive(q.Upper); {
	case low && high:
		limits = times(q.Lower) + " to " + times(q.Upper)
	case low:
		limits = "from " + times(q.Lower)
	case high:
		limits = "up to " + times(q.Upper)
	}
	switch {
	case limits == "":
		return estimate
	case estimate == "":
		return limits + " times"
	}
	return estimate + " (" + limits + ")"
}

// times prints a ratio as the answer's sentences do.
func times(n answer.Num) string {
	if !n.Finite() {
		return ""
	}
	return answer.Times(n.Float())
}

// differencesAlt says what the figure shows.
func differencesAlt(pairs []*answer.Pair, more int) string {
	var b strings.Builder
	b.WriteString("How many times as long one drink keeps as another, by the age at which half would leave the rest.")
	for _, p := range pairs {
		fmt.Fprintf(&b, " %s over %s: ", clean(p.A), clean(p.B))
		if !answered(p) {
			b.WriteString("not answered, " + strings.TrimSuffix(pairReason(p), ".") + ".")
			continue
		}
		b.WriteString(ratioWords(p.Ratio))
		if p.Evenings {
			b.WriteString(", on different evenings")
		}
		b.WriteString(".")
	}
	if more > 0 {
		fmt.Fprintf(&b, " And %d more in the table.", more)
	}
	return b.String()
}
