package figure

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// ratioWords write a ratio with its limits in brackets: "2.1 times (1.4 to 3.2)", "more than 2.1 times (from 1.4)".
func ratioWords(q answer.Quantile) string {
	say := ratioGrain(q)
	var estimate, limits string
	switch {
	case !positive(q.From):
	case q.To.Finite() && say(q.From) == say(q.To):
		estimate = say(q.From) + " times"
	case q.To.Finite():
		estimate = say(q.From) + " to " + say(q.To) + " times"
	default:
		estimate = "more than " + say(q.From) + " times"
	}
	switch low, high := positive(q.Lower), positive(q.Upper); {
	case low && high:
		limits = say(q.Lower) + " to " + say(q.Upper)
	case low:
		limits = "from " + say(q.Lower)
	case high:
		limits = "up to " + say(q.Upper)
	}
	switch {
	case limits == "":
		return estimate
	case estimate == "":
		return limits + " times"
	}
	return estimate + " (" + limits + ")"
}

// ratioGrain chooses the decimals of a ratio: one, two where the limits lie within half of each other, none from ten up.
func ratioGrain(q answer.Quantile) func(answer.Num) string {
	decimals := 1
	if positive(q.Lower) && positive(q.Upper) && q.Upper.Float()-q.Lower.Float() < .5 {
		decimals = 2
	}
	return func(n answer.Num) string {
		if x := n.Float(); math.Abs(x) < 9.95 {
			return strconv.FormatFloat(x, 'f', decimals, 64)
		}
		return strconv.FormatFloat(n.Float(), 'f', 0, 64)
	}
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
