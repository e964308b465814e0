package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// Rows under the line of none, px.
const (
	railPitch   = 15.0
	railFirst   = 20.0 // baseline of the first heading, clear of the word none
	railBetween = 22.0 // from a row to the next heading
	mostNamed   = 8    // evenings with a row of their own; more of them share one
	mostBatches = 6    // batches that are drawn at all
	fewest      = 3    // tasters whose half has limits worth drawing
)

// railRow is one row of the rail: a heading, or the half of one evening or batch (or of many in one row) under its name.
type railRow struct {
	name    string
	heading bool
	halves  []answer.Quantile
	limits  bool     // drawn as whiskers
	down    float64  // px from the line of none down to the marks
	x0, x1  float64  // px from the sheet's left between which the marks lie
	words   []string // beside the marks: the first of these that has room
	above   bool     // none has: they stand on a line above the marks
}

// showsBatches tells whether the batches are drawn one by one.
func showsBatches(h *answer.Headline) bool {
	return len(h.Batches.Each) >= 2 && len(h.Batches.Each) <= mostBatches
}

// railRows lays out the halves of evenings and batches, and the px that they take.
func (s *sheet) railRows(part *answer.LifetimePart, last float64) (rows []railRow, below float64) {
	h := part.Headline
	if h == nil {
		return nil, 0
	}
	if n := len(h.Evenings.Each); n > mostNamed {
		rows = append(rows, railRow{name: "half, evening by evening", heading: true}, manyRow(fmt.Sprintf("%d evenings", n), h.Evenings))
		rows = appendOver(rows, "evenings like these", h.Evenings)
	} else if n >= 2 {
		rows = append(rows, railRow{name: "half, evening by evening", heading: true})
		rows = appendOver(appendGroups(rows, h.Evenings), "evenings like these", h.Evenings)
	}
	if showsBatches(h) {
		rows = append(rows, railRow{name: "half, batch by batch", heading: true})
		rows = appendOver(appendGroups(rows, h.Batches), "batches like these", h.Batches)
	}
	at := 0.0
	for i := range rows {
		switch {
		case i == 0:
			at = railFirst
		case rows[i].heading:
			at += railBetween
		default:
			at += railPitch
		}
		if s.measure(&rows[i], last); rows[i].above {
			at += lineHigh
		}
		rows[i].down = at
	}
	if len(rows) == 0 {
		return nil, 0
	}
	return rows, at + 9
}

func manyRow(name string, g answer.Groups) railRow {
	row := railRow{name: name}
	for _, x := range g.Each {
		row.halves = append(row.halves, x.Half)
	}
	return row
}

// appendGroups adds a row for each evening or batch, without limits where it had too few tasters: they would say nothing.
func appendGroups(rows []railRow, g answer.Groups) []railRow {
	for _, x := range g.Each {
		row := railRow{name: clean(x.Name), halves: []answer.Quantile{x.Half}, limits: x.Tasters >= fewest}
		if !row.limits {
			row.halves[0].Lower, row.halves[0].Upper = answer.Num{}, answer.Num{}
		}
		rows = append(rows, row)
	}
	return rows
}

// appendOver adds the half of further evenings or batches, where their differences give one.
func appendOver(rows []railRow, name string, g answer.Groups) []railRow {
	if g.Half != nil {
		rows = append(rows, railRow{name: name, halves: []answer.Quantile{*g.Half}, limits: true})
	}
	return rows
}

// measure finds how far the marks of a row reach, and which words have room beside them.
func (s *sheet) measure(row *railRow, last float64) {
	if row.heading {
		return
	}
	said := ""
	if len(row.halves) == 1 {
		if said = quantileWords(seen(row.halves[0], last)); said == "" {
			said = "not told"
		}
	}
	row.words = s.railWords(row.name, said)
	row.x0, row.x1 = s.right, s.left
	for i := range row.halves {
		row.halves[i] = within(seen(row.halves[i], last), s.end)
		x0, x1 := s.extent(row.halves[i], last, row.limits)
		row.x0, row.x1 = min(row.x0, x0), max(row.x1, x1)
	}
	s.place(row)
}

// railWords are what may stand beside the marks of a row; a phone has no room for its name elsewhere.
func (s *sheet) railWords(name, said string) []string {
	switch {
	case !s.narrow() && said == "": // many evenings: their names are in the table
		return nil
	case !s.narrow():
		return []string{said, estimateWords(said)}
	case said == "":
		return []string{name}
	}
	return []string{name + ": " + said, name + ": " + estimateWords(said), name}
}

// place finds whether a row's words have room beside its marks.
func (s *sheet) place(row *railRow) {
	if row.x0 > row.x1 {
		row.x0, row.x1 = s.left, s.left
	}
	room := max(s.right-row.x1, row.x0-s.left) - 8
	row.above = len(row.words) > 0
	for _, w := range row.words {
		row.above = row.above && tickText.width(w) > room
	}
}

// extent is how far the marks of one half reach, px from the sheet's left.
func (s *sheet) extent(q answer.Quantile, last float64, limits bool) (x0, x1 float64) {
	x0, x1 = s.right, s.left
	if limits && !(q.Lower.Empty() && q.Upper.Empty()) {
		x0, x1 = s.px(finiteOr(q.Lower, 0)), s.px(finiteOr(q.Upper, last))
		if q.Upper.Open() && q.To.Finite() {
			x1 = max(x1, s.px(q.To.Float())+arrowLen+2)
		}
	}
	if q.From.Finite() && q.To.Finite() {
		x0, x1 = min(x0, s.px(q.From.Float())-diamondR), max(x1, s.px(q.To.Float())+diamondR)
	}
	return x0, x1
}

// rail draws the rows: names left of the data area, on a phone beside their marks.
func (p *panel) rail(rows []railRow, last float64) {
	for _, row := range rows {
		p.mark(func(c *pen) {
			for _, q := range row.halves {
				c.group(q, last, c.y(0)-vg.Length(row.down), row.limits)
			}
		})
		p.letter(func(c *pen) { c.railName(p.sheet, &row, c.y(0)) })
	}
}

// group draws the half of one evening or batch: a diamond, and its limits as a thin whisker.
func (c *pen) group(q answer.Quantile, last float64, y vg.Length, limits bool) {
	if limits && !(q.Lower.Empty() && q.Upper.Empty()) {
		x0, x1, left, right := c.ends(q, last)
		c.whisker(groupStroke, x0, x1, y, left, right)
	}
	if q.From.Finite() && q.To.Finite() {
		c.diamond(leaving, c.x(q.From.Float()), c.x(q.To.Float()), y)
	}
}

// railName writes a row's name and, beside or above its marks, its numbers; from is the height that rows are counted from.
func (c *pen) railName(s *sheet, row *railRow, from vg.Length) {
	y, left := from-vg.Length(row.down), c.Min.X-vg.Length(s.left)
	if row.heading {
		c.onPaper(rowText, left, y-4, 0, row.name)
		return
	}
	if !s.narrow() {
		c.text(tickText, c.Min.X-10, y-4, 1, tickText.fit(row.name, s.left-14))
	}
	switch {
	case len(row.words) == 0:
	case row.above && s.narrow():
		c.onPaper(tickText, left, y+8, 0, tickText.fit(row.words[0], s.right))
	case row.above:
		c.onPaper(tickText, c.Max.X, y+8, 1, row.words[0])
	default:
		c.alongside(left+vg.Length(row.x0), left+vg.Length(row.x1), y, row.words...)
	}
}
