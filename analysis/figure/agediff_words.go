package figure

import (
	"fmt"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// differenceItems are the marks that the key names, in order.
func differenceItems(a *answer.AgeDifferences) []string {
	var ring, disc bool
	for i := range a.Steps[1:] {
		if sure(&a.Steps[1+i]) {
			disc = true
		} else {
			ring = true
		}
	}
	var out []string
	if disc {
		out = append(out, "surely different")
	}
	if ring {
		out = append(out, "not told apart")
	}
	if len(a.Own) > 0 {
		out = append(out, "each "+a.Unit)
	}
	if a.Margin.Finite() {
		out = append(out, "the same: within "+points(a.Margin.Float()))
	}
	return out
}

// keyMark is the room that a mark takes before its word, px.
const keyMark = 16

// differenceKey tells how many lines the key takes.
func (s *sheet) differenceKey(a *answer.AgeDifferences) int {
	lines, x := 1, 0.0
	for _, word := range differenceItems(a) {
		wide := keyMark + rowText.width(word)
		if x > 0 && x+wide > s.right {
			lines, x = lines+1, 0
		}
		x += wide + 16
	}
	return lines
}

// differenceKey names the marks above the name of the panel.
func (c *pen) differenceKey(a *answer.AgeDifferences, s *sheet, lines int) {
	left := c.Min.X - vg.Length(s.left) + 1
	x, y := left, c.Max.Y+19+vg.Length(17*lines)
	for _, word := range differenceItems(a) {
		if wide := keyMark + rowText.width(word); x > left && float64(x-left)+wide > s.right {
			x, y = left, y-17
		}
		at := x + 5
		switch {
		case word == "surely different":
			c.difference(at, y+4.5, true)
		case word == "not told apart":
			c.difference(at, y+4.5, false)
		case strings.HasPrefix(word, "each "):
			c.dots(thin(ink, .3), rawR, []vg.Point{{X: at, Y: y + 4.5}})
		default:
			c.shape(thin(window, .28), box(x, y-1, x+11, y+10))
		}
		x = c.after(x+keyMark, y, word)
	}
}

// ageDifferencesAlt says what the figure shows.
func ageDifferencesAlt(a *answer.AgeDifferences) string {
	number := func(x float64) string {
		s := strconv.FormatFloat(x, 'f', a.Decimals, 64)
		if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 {
			return strings.TrimPrefix(s, "-")
		}
		return s
	}
	var b strings.Builder
	fmt.Fprintf(&b, "How far %s of %s lies from fresh (%s min), against minutes since it was made, with limits for all ages together.", clean(a.Attribute), a.Title, tenths(a.FreshAge))
	if a.Better == "middle" {
		b.WriteString(" Above 0 is further from its best.")
	}
	var steps []string
	for i := range a.Steps[1:] {
		x := &a.Steps[1+i]
		word := ""
		if sure(x) {
			word = ", surely different"
		}
		steps = append(steps, fmt.Sprintf("%s (%s to %s) at %s%s", number(x.Difference), number(x.Lower), number(x.Upper), tenths(x.AgeMin), word))
	}
	b.WriteString(" " + strings.Join(steps, "; ") + ".")
	if a.Margin.Finite() {
		fmt.Fprintf(&b, " The same within %s", points(a.Margin.Float()))
		if a.SameUpTo.Finite() {
			fmt.Fprintf(&b, " up to %s.", tenths(a.SameUpTo.Float()))
		} else {
			b.WriteString(": not shown at any age.")
		}
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}
