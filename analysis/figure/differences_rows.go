package figure

import (
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// pairRow is one pair laid out; places are px down from the top of the data area.
type pairRow struct {
	pair     *answer.Pair
	name     []string // one line or two smaller ones left of the whisker; on a phone one line above it
	words    []string // the first that has room stands beside the whisker
	reason   []string // why it is not answered
	top, mid float64  // its upper edge, and the middle of the whisker or of the reason
	beside   bool     // on a phone: the ratio stands in the line of the name
}

// pairRows lays out the pairs, and gives the height that they take.
func (s *sheet) pairRows(pairs []*answer.Pair) (rows []pairRow, total float64) {
	total = 2
	pitch := pairRoomy
	if len(pairs) >= pairsTight {
		pitch = pairTight
	}
	for _, p := range pairs {
		row := pairRow{pair: p, top: total}
		if answered(p) {
			row.words = []string{ratioWords(p.Ratio)}
			if p.Evenings {
				row.words = []string{row.words[0] + ", on different evenings", row.words[0]}
			}
		}
		if s.narrow() {
			total += s.phoneRow(&row)
		} else {
			row.name, row.mid = pairName(p, s.left-8), row.top+pitch/2
			if row.words == nil {
				row.reason = wrapLines(pairReason(p), s.right-s.left, 2)
			}
			total += pitch
		}
		rows = append(rows, row)
	}
	return rows, total
}

// phoneRow lays out one pair below its name, and gives its height.
func (s *sheet) phoneRow(row *pairRow) float64 {
	whole := clean(row.pair.A) + " over " + clean(row.pair.B)
	height := lineRoom
	switch {
	case row.words == nil:
		row.reason = wrapLines(pairReason(row.pair), s.right, 3)
		row.mid = row.top + height + lineRoom*float64(len(row.reason))/2
		height += lineRoom*float64(len(row.reason)) + 5
	case rowText.width(whole)+tickText.width(row.words[0])+14 <= s.right:
		row.beside = true
		row.mid = row.top + height + 8
		height += 21
	default:
		row.mid = row.top + height + lineRoom + 8
		height += lineRoom + 21
	}
	row.name = []string{rowText.fit(whole, s.right)}
	return height
}

// pairName sets a pair's name on one line, or on two smaller ones.
func pairName(p *answer.Pair, width float64) []string {
	a, b := clean(p.A), "over "+clean(p.B)
	if rowText.width(a+" "+b) <= width {
		return []string{a + " " + b}
	}
	return []string{smallText.fit(a, width), smallText.fit(b, width)}
}

// pairReason says why a pair has no ratio.
func pairReason(p *answer.Pair) string {
	if p.Why != "" {
		return clean(p.Why)
	}
	return "not told: " + strings.ReplaceAll(clean(p.Status), "_", " ")
}

// wrapLines breaks words into at most so many lines, the last of them cut where they do not fit.
func wrapLines(said string, width float64, most int) []string {
	var lines []string
	for _, w := range strings.Fields(said) {
		switch n := len(lines) - 1; {
		case n >= 0 && tickText.width(lines[n]+" "+w) <= width, n == most-1:
			lines[n] += " " + w
		default:
			lines = append(lines, w)
		}
	}
	for i := range lines {
		lines[i] = tickText.fit(lines[i], width)
	}
	return lines
}

// pairRow draws one row.
func (p *panel) pairRow(row *pairRow) {
	if row.words != nil {
		p.mark(func(c *pen) { c.ratio(row.pair.Ratio, p.sheet.reach, c.y(-row.mid)) })
	}
	p.letter(func(c *pen) { c.pairLetters(p.sheet, row) })
}

// pairLetters writes a row's name, and its ratio or the reason why there is none.
func (c *pen) pairLetters(s *sheet, row *pairRow) {
	left, mid, ink := c.Min.X-vg.Length(s.left), c.y(-row.mid), rowText
	switch two := len(row.name) == 2; {
	case two && row.words == nil:
		ink = tickText
	case two:
		ink = smallText
	case row.words == nil:
		ink = muteText
	}
	if s.narrow() {
		line := c.y(-row.top) - 12
		c.onPaper(ink, left, line, 0, row.name[0])
		switch {
		case row.words == nil:
		case row.beside:
			c.onPaper(tickText, c.Max.X, line, 1, row.words[0])
		default:
			c.onPaper(tickText, left, line-lineRoom, 0, tickText.fit(row.words[0], s.right))
		}
		c.lines(tickText, left, mid, row.reason)
		return
	}
	c.lines(ink, left, mid, row.name)
	if row.words == nil {
		c.lines(tickText, c.Min.X, mid, row.reason)
		return
	}
	x0, x1, _, _ := c.ratioEnds(row.pair.Ratio, s.reach)
	c.alongside(x0, x1, mid, row.words...)
}

// lines writes lines of lettering about a middle height.
func (c *pen) lines(l lettering, x, mid vg.Length, lines []string) {
	const pitch = 13
	y := mid - 4 + pitch*vg.Length(len(lines)-1)/2
	for _, line := range lines {
		c.onPaper(l, x, y, 0, line)
		y -= pitch
	}
}

// ratio draws the limits of a ratio as a whisker with the estimate on it; an open limit, or one past the axis, is an arrow.
func (c *pen) ratio(q answer.Quantile, reach float64, y vg.Length) {
	x0, x1, left, right := c.ratioEnds(q, reach)
	c.whisker(railStroke, x0, x1, y, left, right)
	if positive(q.From) && q.To.Finite() {
		c.estimate(leaving, c.x(math.Log(q.From.Float())), c.x(math.Log(q.To.Float())), y, false)
	}
}

// ratioEnds gives the places of a ratio's limits and how they are drawn; an arrow ends at reach.
func (c *pen) ratioEnds(q answer.Quantile, reach float64) (x0, x1 vg.Length, left, right end) {
	x0, x1, left, right = c.Min.X, c.x(reach), open, open
	if positive(q.Lower) {
		if x := c.x(math.Log(q.Lower.Float())); x >= c.Min.X {
			x0, left = x, capped
		}
	}
	if positive(q.Upper) {
		if x := c.x(math.Log(q.Upper.Float())); x <= x1 {
			x1, right = x, capped
		}
	}
	return x0, x1, left, right
}
