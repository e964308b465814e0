package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"lastsip/analysis/answer"
)

// Text gives an answer in words as plain text, wrapped at 80 columns, warnings after the sentences.
func Text(a answer.Answer) string {
	h := a.Common()
	var b strings.Builder
	for _, s := range h.Sentences {
		b.WriteString(Wrap(plain(s), "", columns))
	}
	for _, w := range h.Warnings {
		b.WriteString(Wrap("note: "+plain(w), "      ", columns))
	}
	return b.String()
}

// Lead gives the first sentence of an answer alone, as Text does.
func Lead(a answer.Answer) string {
	if s := a.Common().Sentences; len(s) > 0 {
		return Wrap(plain(s[0]), "", columns)
	}
	return ""
}

const columns = 80

// plain drops control characters and direction overrides of a user's file; a no-break space is a space on a terminal.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return ' '
		case r < 0x20 || r == 0x7f || (r >= 0x80 && r < 0xa0) || (r >= 0x202a && r <= 0x202e) || (r >= 0x2066 && r <= 0x2069):
			return -1
		}
		return r
	}, s)
}

// Wrap breaks text at spaces; lines after the first begin with indent. It ends with a line end.
func Wrap(s, indent string, width int) string {
	var b strings.Builder
	n := 0
	for _, word := range strings.Fields(s) {
		w := utf8.RuneCountInString(word)
		switch {
		case n == 0:
		case n+1+w > width:
			b.WriteString("\n" + indent)
			n = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += w
	}
	b.WriteByte('\n')
	return b.String()
}

// Ink paints words on a terminal; the zero value paints nothing.
type Ink struct{ Colour bool }

func (k Ink) paint(code, s string) string {
	if !k.Colour {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

// Strong makes words bold.
func (k Ink) Strong(s string) string { return k.paint("1", s) }

// Heading is a line that names what follows.
func (k Ink) Heading(s string) string { return k.paint("1", plain(s)) + "\n" }

const (
	labelWide = 18
	stripWide = columns - labelWide - 2 - 8 // eight columns stay for the act in words
)

// Ribbon draws the act and the ages by which one in ten and half would leave the rest as strips of minutes, 80 columns wide.
// One in ten is left out where the tasters are drawn one by one.
//
//	█ good until the act   ├─┤ limits   ○ one in ten   ● half   ◀ ▶ open ends
func Ribbon(act *answer.ServeBy, k Ink) string {
	end := max(act.AxisEnd, 1)
	col := func(age float64) int { return min(stripWide-1, int(math.Round(age/end*float64(stripWide-1)))) }
	var b strings.Builder
	line := func(label string, strip []rune, code, words string) {
		text := strings.TrimRight(string(strip), " ")
		fmt.Fprintf(&b, "%-*s  %s%s\n", labelWide, label, k.paint(code, text), words)
	}
	solid := blank()
	if act.Act.Finite() {
		from, name, words := 0, "good until", halfMinutes(act.Act)+" min"
		if late := act.HandOverAfter; late.Finite() && late.Float() < act.Act.Float() {
			from, name, words = col(late.Float()), "good from, until", halfMinutes(late)+" to "+halfMinutes(act.Act)
		}
		for i := from; i < col(act.Act.Float()); i++ {
			solid[i] = '█'
		}
		solid[col(act.Act.Float())] = '│'
		line(name, solid, "34", " "+words)
	}
	if act.Ribbon.HasTenth && len(act.Ribbon.Intervals) == 0 {
		line("1 in 10 leave by", whisker(act.Ribbon.Tenth, act.Ribbon.LastAge, end, col, '○'), "33", "")
	}
	if act.Ribbon.HasHalf {
		line("half leave by", whisker(act.Ribbon.Half, act.Ribbon.LastAge, end, col, '●'), "33", "")
	}
	for _, iv := range act.Ribbon.Intervals {
		one := blank()
		from := col(iv.L.Float())
		to := col(act.Ribbon.LastAge)
		if iv.R.Finite() {
			to = col(iv.R.Float())
		}
		for i := from; i <= to; i++ {
			one[i] = '─'
		}
		if iv.R.Open() {
			one[to] = '▶'
		}
		label := "  taster " + iv.Taster
		if act.Ribbon.Unit == "pour" {
			label = "  glass " + iv.Pour
		}
		line(clip(plain(label), labelWide), one, "33", "")
	}
	b.WriteString(scale(end, col))
	return b.String()
}

func blank() []rune { return []rune(strings.Repeat(" ", stripWide)) }

func halfMinutes(n answer.Num) string { return answer.Halves.Minutes(n) }

// Legend explains the marks of Ribbon.
const Legend = "█ good until   ├─┤ limits   ○ one in ten   ● half   ◀ ▶ open ends\n"

// whisker draws limits with the estimate on them: an arrow where a limit is open or past the axis, no mark for an estimate that
// is past the last age. It is empty where nothing is told.
func whisker(q answer.Quantile, last, end float64, col func(float64) int, mark rune) []rune {
	out := blank()
	if q.Lower.Empty() && q.Upper.Empty() && !q.From.Finite() {
		return out
	}
	from, to, left, right := 0, col(last), '◀', '▶'
	if q.Upper.Finite() && q.Upper.Float() <= end && !q.Beyond {
		to, right = col(q.Upper.Float()), '┤'
	}
	if q.Lower.Finite() && q.Lower.Float() > 0 {
		from, left = col(min(q.Lower.Float(), last)), '├'
	}
	for i := from; i <= to; i++ {
		out[i] = '─'
	}
	out[from], out[max(from, to)] = left, right
	if q.From.Finite() && q.To.Finite() && !q.Beyond {
		first, last := col(q.From.Float()), col(q.To.Float())
		for i := first; i <= last; i++ { // a single mark covers the end of a limit, a range of them does not, and none an arrow
			if out[i] != left && out[i] != right || first == last && strings.ContainsRune("├┤", out[i]) {
				out[i] = mark
			}
		}
	}
	return out
}

// scale draws ticks at even minutes, four to eight of them.
func scale(end float64, col func(float64) int) string {
	step := 2.0
	for end/step > 9 {
		step *= 2
	}
	out := blank()
	for t := 0.0; t <= end; t += step {
		text := strconv.FormatFloat(t, 'f', 0, 64)
		at := min(col(t), stripWide-len(text))
		copy(out[at:], []rune(text))
	}
	return fmt.Sprintf("%-*s  %s\n", labelWide, "minutes", strings.TrimRight(string(out), " "))
}

func clip(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}
