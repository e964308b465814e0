package figure

import (
	"fmt"
	"math"
	"strings"

	"lastsip/analysis/answer"
)

// late tells a window that begins after the first age tasted.
func late(w *answer.Window, first float64) bool {
	return w.From.Finite() && w.From.Float() > first+1e-9
}

// unsureStart tells that the limits leave open whether the first age tasted belongs to a window.
func unsureStart(w *answer.Window, first float64) bool {
	return w.FromUpper.Open() || w.FromUpper.Finite() && w.FromUpper.Float() > first+1e-9
}

// begins tells that the begin of a window is worth telling: it does not hold from the first taste on, or not surely so. Where
// no age at all is sure, its end says so.
func begins(w *answer.Window, first float64) bool {
	return late(w, first) || unsureStart(w, first) && w.FromUpper.Finite() && w.From.Finite()
}

// surelyLast tells that also the lower limit of a window's end reaches the last age tasted.
func surelyLast(w *answer.Window, last float64) bool {
	return w.ToLower.Finite() && w.ToLower.Float() >= last-1e-9
}

// told tells that a window is answered: its ages, or that there are none.
func told(w *answer.Window) bool {
	switch w.Status {
	case answer.OK, answer.Never, answer.Always, answer.BeyondLastAge:
		return true
	}
	return false
}

// span gives the ages at which the estimate is at its best, as far as they were tasted.
func span(w *answer.Window, first, last float64) (from, to float64, some bool) {
	if !told(w) || w.Status == answer.Never {
		return 0, 0, false
	}
	from, to = finiteOr(w.From, first), finiteOr(w.To, last)
	return max(from, first), min(to, last), to >= from
}

// beginWords and endWords write the ends of a window with their limits.
func beginWords(w *answer.Window) string {
	return quantileWords(answer.Quantile{From: w.From, To: w.From, Lower: w.FromLower, Upper: w.FromUpper})
}

func endWords(w *answer.Window, last float64) string {
	if !w.To.Finite() {
		return quantileWords(answer.Quantile{From: answer.Of(last), To: openEnd, Lower: w.ToLower, Upper: openEnd})
	}
	return quantileWords(answer.Quantile{From: w.To, To: w.To, Lower: w.ToLower, Upper: w.ToUpper})
}

// windowWords write a window's ends with their limits.
func windowWords(w *answer.Window, first, last float64) string {
	start := ""
	if begins(w, first) {
		start = "from " + beginWords(w)
	}
	switch {
	case !told(w):
		return "not told by this panel"
	case w.Status == answer.Never:
		reached, extreme := "reached ", "highest "
		if w.Below {
			reached, extreme = "came down to ", "lowest "
		}
		return "never " + reached + points(w.Limit) + "; " + extreme + points(math.Round(w.Highest*10)/10) + " at " + halves(w.HighestAt) + "\u00a0min"
	case w.Status == answer.Always, w.Status == answer.BeyondLastAge && surelyLast(w, last):
		still := "still at its best at " + halves(last)
		if w.ToLower.Finite() && w.ToLower.Float() > 0 && !surelyLast(w, last) {
			still += " (from " + halves(w.ToLower.Float()) + ")"
		}
		if start != "" {
			return "at its best " + start + ", " + strings.Replace(still, " at its best", "", 1) + ", the last age tasted"
		}
		if still += ", the last age tasted"; w.ToLower.Finite() && w.ToLower.Float() == 0 {
			still += "; no age is sure"
		}
		return still
	case start != "":
		return "at its best " + start + " until " + endWords(w, last)
	}
	return "at its best until " + endWords(w, last)
}

// orBetter says what an average taster gives a drink at its best.
func orBetter(w *answer.Window) string {
	if w.Below {
		return points(w.Limit) + " or less"
	}
	return points(w.Limit) + " or more"
}

// leastWords say until when the lower limit of the curve stays at its best: rounded down to a tenth, as it is a promise.
func leastWords(w *answer.Window) string {
	if !w.AtLeastUntil.Finite() {
		return "not shown by this panel"
	}
	return tenths(math.Floor(10*w.AtLeastUntil.Float()+1e-9) / 10)
}

// lostWords name the points lost since fresh.
func lostWords(drop answer.Num) string {
	if drop.Float() == 1 {
		return "one point"
	}
	return points(drop.Float()) + " points"
}

// lost is the window of the drop since fresh, where that is asked.
func (w *ageCurve) lost() (*answer.Window, bool) {
	for i := range w.answer.Variants {
		if v := &w.answer.Variants[i]; v.Variant == "one_point" && w.answer.Drop.Finite() {
			return &v.Window, v.Window.Status == answer.OK || v.Window.Status == answer.Always
		}
	}
	return nil, false
}

// who has the curve.
func (w *ageCurve) who() string {
	if w.answer.Unit == "pour" {
		return "this taster"
	}
	return "average taster"
}

// alt says what the age curve shows.
func (w *ageCurve) alt() string {
	a := w.answer
	var b strings.Builder
	fmt.Fprintf(&b, "Age curve of %s: expected %s of %s (95\u00a0%% limits) against minutes since it was made: %s.", a.Title, a.Attribute, strings.Replace(w.who(), "average", "an average", 1), strings.Join(w.scoresAt(), ", "))
	if n := len(a.Lines); n > 1 {
		low, high := math.Inf(1), math.Inf(-1)
		for _, l := range a.Lines {
			end := l.Means[len(l.Means)-1]
			low, high = min(low, w.onScale(end)), max(high, w.onScale(end))
		}
		fmt.Fprintf(&b, " The curves of the %d tasters end between %s and %s.", n, tenths(low), tenths(high))
	}
	if a.Limit.Finite() {
		fmt.Fprintf(&b, " The limit is %s: %s.", orBetter(&a.Main), windowWords(&a.Main, w.first, w.last))
		fmt.Fprintf(&b, " At least until: %s.", leastWords(&a.Main))
		if again := againWords(&a.Main); again != "" {
			fmt.Fprintf(&b, " Again at its best: %s.", again)
		}
	}
	if lost, some := w.lost(); some {
		fmt.Fprintf(&b, " %s lost since fresh by: %s.", upperFirst(lostWords(a.Drop)), endWords(lost, w.last))
	}
	if a.Status == answer.NotConverged {
		b.WriteString(" The fit did not settle.")
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}

// scoresAt are the scores that the text alternative gives: at each age step, or at five ages.
func (w *ageCurve) scoresAt() (out []string) {
	var ages []float64
	for _, st := range w.answer.Steps {
		ages = append(ages, st.AgeMin)
	}
	if len(ages) == 0 || len(ages) > 12 {
		ages = nil
		for i := range 5 {
			ages = append(ages, w.first+(w.last-w.first)*float64(i)/4)
		}
	}
	for _, age := range ages {
		near := &w.answer.Curve[0]
		for i := range w.answer.Curve {
			if pt := &w.answer.Curve[i]; math.Abs(pt.AgeMin-age) < math.Abs(near.AgeMin-age) {
				near = pt
			}
		}
		out = append(out, fmt.Sprintf("%s (%s to %s) at %s", tenths(w.onScale(near.Mean)), tenths(w.onScale(near.Lower)), tenths(w.onScale(near.Upper)), tenths(near.AgeMin)))
	}
	return out
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] } // words of ours, in ASCII

// onScale is a score as it is drawn, between the ends of the scale.
func (w *ageCurve) onScale(score float64) float64 { return min(max(score, w.low), w.high) }

// againWords name further runs at the limit.
func againWords(w *answer.Window) string {
	var runs []string
	for _, o := range w.Others {
		runs = append(runs, tenths(o.From)+" to "+tenths(o.To))
	}
	return strings.Join(runs, ", ")
}
