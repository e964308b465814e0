package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// openEnd lies past every age.
var openEnd = answer.Of(math.Inf(1))

// quantile draws limits as a whisker and the estimate on it: no dot where the estimate lies beyond the last age, an arrow
// where a limit is open; hollow draws a ring in place of the dot.
func (c *pen) quantile(q answer.Quantile, last float64, y vg.Length, hollow bool) {
	if q.Lower.Empty() && q.Upper.Empty() && !q.From.Finite() {
		return
	}
	if !q.Lower.Empty() || !q.Upper.Empty() {
		x0, x1, left, right := c.ends(q, last)
		c.whisker(railStroke, x0, x1, y, left, right)
	}
	if q.From.Finite() && q.To.Finite() {
		c.estimate(leaving, c.x(q.From.Float()), c.x(q.To.Float()), y, hollow)
	}
}

// besides writes words to the right of a mark that ends at x, or above it where there is no room.
func (c *pen) besides(x, y vg.Length, words string) {
	if room := float64(c.Max.X - x - 8); tickText.width(words) <= room {
		c.onPaper(tickText, x+8, y-4, 0, words)
		return
	}
	c.onPaper(tickText, c.Max.X, y+9, 1, words)
}

// alongside writes the first of some words that has room to the right of a mark from x0 to x1, or to its left; where none has,
// the last is cut to the larger room.
func (c *pen) alongside(x0, x1, y vg.Length, words ...string) {
	after, before := float64(c.Max.X-x1)-8, float64(x0-c.Min.X)-8
	for _, w := range words {
		switch width := tickText.width(w); {
		case width <= after:
			c.onPaper(tickText, x1+8, y-4, 0, w)
			return
		case width <= before:
			c.onPaper(tickText, x0-8, y-4, 1, w)
			return
		}
	}
	last := words[len(words)-1]
	if after >= before {
		c.onPaper(tickText, x1+8, y-4, 0, tickText.fit(last, max(after, tickText.width("A…"))))
		return
	}
	c.onPaper(tickText, x0-8, y-4, 1, tickText.fit(last, before))
}

// bracket marks a range of estimates by a thin line with a stroke across at each end.
func (c *pen) bracket(x0, x1, y vg.Length) {
	c.line(readingStroke, x0, y-3, x0, y+3)
	c.line(readingStroke, x1, y-3, x1, y+3)
	c.line(readingStroke, x0, y, x1, y)
}

// diamond fills a diamond from x0 to x1, drawn out where these lie apart.
func (c *pen) diamond(ink color.Color, x0, x1, y vg.Length) {
	const r = diamondR
	c.shape(ink, []vg.Point{{X: x0 - r, Y: y}, {X: x0, Y: y + r}, {X: x1, Y: y + r}, {X: x1 + r, Y: y}, {X: x1, Y: y - r}, {X: x0, Y: y - r}})
}

// ends gives the places of a quantile's limits and how they are drawn: an arrow at zero or at the last age where one is open.
func (c *pen) ends(q answer.Quantile, last float64) (x0, x1 vg.Length, left, right end) {
	x0, x1, left, right = c.x(0), c.x(last), open, open
	if q.Lower.Finite() && q.Lower.Float() > 0 {
		x0, left = c.x(q.Lower.Float()), capped
	}
	if q.Upper.Finite() {
		x1, right = c.x(q.Upper.Float()), capped
	}
	if right == open && q.To.Finite() { // the arrow stays in sight of an estimate that reaches the last age
		x1 = max(x1, c.x(q.To.Float())+arrowLen+2)
	}
	return x0, max(x0, x1), left, right
}
