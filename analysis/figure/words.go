package figure

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"lastsip/analysis/answer"
)

// halves writes an age to the nearest half minute: "7½".
func halves(x float64) string { return answer.Halves.Minutes(answer.Of(x)) }

// tenths writes an age to a tenth, without a zero at the end.
func tenths(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

// quantileWords writes, as finely as the answer's sentences do, an estimate and its limits in brackets: "7½ (6 to 9½)", "6 to 8 (from 4)", "later than 11".
func quantileWords(q answer.Quantile) string {
	say := answer.GrainOf(q.Lower, q.Upper).Minutes
	var estimate, limits string
	switch {
	case !q.From.Finite():
	case q.To.Finite() && say(q.From) == say(q.To):
		estimate = say(q.From)
	case q.To.Finite():
		estimate = say(q.From) + " to " + say(q.To)
	default:
		estimate = "later than " + say(q.From)
	}
	low, high := q.Lower.Finite() && q.Lower.Float() > 0, q.Upper.Finite()
	switch {
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
		return limits
	}
	return estimate + " (" + limits + ")"
}

// estimateWords leaves the limits in brackets away.
func estimateWords(words string) string {
	before, _, _ := strings.Cut(words, " (")
	return before
}

// quantile finds the quantile p of a part.
func quantile(part *answer.LifetimePart, p float64) (answer.Quantile, bool) {
	for _, q := range part.Quantiles {
		if math.Abs(q.P-p) < 1e-9 {
			return q, true
		}
	}
	return answer.Quantile{}, false
}

// fit cuts a text to a width in pixels, with an ellipsis.
func (l lettering) fit(s string, width float64) string {
	if l.width(s) <= width {
		return s
	}
	runes := []rune(s)
	for n := min(len(runes), 200); n > 0; n-- { // no label is that long on 720 px
		if cut := strings.TrimRightFunc(string(runes[:n]), unicode.IsSpace) + "…"; l.width(cut) <= width {
			return cut
		}
	}
	return "…"
}

// clean makes text from a file fit for a drawing: one line, no character that XML cannot hold.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t', r == '\r':
			return ' '
		case unicode.IsControl(r), r == unicode.ReplacementChar, r == 0xfffe, r == 0xffff:
			return '\ufffd'
		case r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069: // marks that would turn round the text after them
			return '\ufffd'
		}
		return r
	}, s) // strings.Map hands over bytes that are not UTF-8 as U+FFFD
}

// spread moves labels apart to at least gap and keeps their order and, where there is room, the range low to high; labels
// that do not collide stay where they are. at must be sorted upward; a new slice is returned.
func spread(at []float64, gap, low, high float64) []float64 {
	out := slices.Clone(at)
	// Runs of labels that touch are centred on the mean of their wishes, merged until none touch.
	type run struct{ sum, n float64 }
	var runs []run
	place := func(r run) (first, last float64) {
		half := gap * (r.n - 1) / 2
		mid := min(max(r.sum/r.n, low+half), max(high-half, low+half))
		return mid - half, mid + half
	}
	for _, wish := range at {
		runs = append(runs, run{wish, 1})
		for len(runs) > 1 {
			a, b := runs[len(runs)-2], runs[len(runs)-1]
			_, end := place(a)
			begin, _ := place(b)
			if begin-end >= gap-1e-9 {
				break
			}
			runs = append(runs[:len(runs)-2], run{a.sum + b.sum, a.n + b.n})
		}
	}
	i := 0
	for _, r := range runs {
		first, _ := place(r)
		for k := range int(r.n) {
			out[i] = first + gap*float64(k)
			i++
		}
	}
	return out
}

// modeWords names a way of tasting.
func modeWords(mode string) string {
	switch mode {
	case "sip_through":
		return "one glass tasted again and again"
	case "side_by_side":
		return "ages side by side"
	}
	return clean(mode)
}
