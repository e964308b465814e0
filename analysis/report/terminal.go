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

// Ribbon draws the act and the age by which half would leave the rest as strips of minutes, 80 columns wide.
//
//	█ good until the act   ├─┤ limits of the half   ● its estimate   ◀ ▶ open ends
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
		for i := range col(act.Act.Float()) {
			solid[i] = '█'
		}
		solid[col(act.Act.Float())] = '│'
		line("good until", solid, "34", " "+halfMinutes(act.Act)+" min")
	}
	if act.Ribbon.HasHalf {
		line("half leave by", whisker(act.Ribbon.Half, act.Ribbon.LastAge, col), "33", "")
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
const Legend = "█ good until   ├─┤ limits of the half   ● the half   ◀ ▶ open ends\n"

func whisker(q answer.Quantile, last float64, col func(float64) int) []rune {
	out := blank()
	from, to := 0, col(last)
	if q.Upper.Finite() {
		to = col(q.Upper.Float())
	}
	if q.Lower.Finite() {
		from = col(q.Lower.Float())
	}
	for i := from; i <= to; i++ {
		out[i] = '─'
	}
	if q.To.Finite() {
		for i := col(q.From.Float()); i <= col(q.To.Float()); i++ {
			out[i] = '●'
		}
	}
	out[from], out[to] = '├', '┤'
	if q.Lower.Float() == 0 {
		out[from] = '◀'
	}
	if q.Upper.Open() {
		out[to] = '▶'
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

// Check tells what a study holds, for a terminal: sessions, drinks, ages, gaps, notes and findings.
func Check(d *answer.Data, k Ink) string {
	var b strings.Builder
	b.WriteString(Text(d))
	for _, s := range d.Sessions {
		name := s.Name
		if s.Title != "" {
			name += ": " + s.Title
		}
		if s.Date != "" {
			name += ", " + s.Date
		}
		b.WriteString("\n" + k.Heading(name))
		b.WriteString(Wrap("tasters: "+plain(strings.Join(s.Tasters, "; ")), "  ", columns))
		for _, x := range s.Drinks {
			b.WriteString(drinkLines(x))
		}
		var beside []string
		for _, f := range s.Beside {
			beside = append(beside, f.Value+" "+f.Name)
		}
		if len(beside) > 0 {
			b.WriteString(Wrap("besides: "+strings.Join(beside, ", "), "  ", columns))
		}
	}
	section := func(title string, lines []string) {
		if len(lines) == 0 {
			return
		}
		b.WriteString("\n" + k.Heading(title))
		for _, l := range lines {
			b.WriteString(Wrap("- "+plain(l), "  ", columns))
		}
	}
	var defaults, own []string
	for _, s := range d.Settings {
		line := s.Name + " = " + s.Value
		if s.Default {
			defaults = append(defaults, line)
		} else {
			own = append(own, line)
		}
	}
	section("From the descriptor", own)
	section("Defaults taken", defaults)
	section("Notes", d.Notes)
	section("Findings", d.Findings)
	if len(d.Findings) == 0 {
		b.WriteString("\nNo findings.\n")
	}
	return b.String()
}

func drinkLines(x answer.DrinkFacts) string {
	name := plain(x.Style)
	if x.Serve != "" {
		name += ", " + plain(x.Serve)
	}
	batches := "batches not known"
	if x.Batches > 0 {
		batches = answer.Count(x.Batches, "batch")
	}
	var steps []string
	for _, s := range x.Steps {
		steps = append(steps, fmt.Sprintf("%s (%d)", minutes(s.AgeMin), s.Tastes))
	}
	var b strings.Builder
	b.WriteString(Wrap(fmt.Sprintf("%s: %s; %s, %s, %s, %s", name, mode(x.Mode), answer.Count(x.Tasters, "taster"), answer.Count(x.Pours, "glass"), batches, answer.Count(x.Tastes, "taste")), "  ", columns))
	b.WriteString(Wrap("  age steps in min (tastes): "+strings.Join(steps, ", "), "  ", columns))
	for _, g := range x.Gaps {
		b.WriteString(Wrap("  gap: "+plain(g), "    ", columns))
	}
	return b.String()
}
