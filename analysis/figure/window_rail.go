package figure

import (
	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// windowRow is one row under the scale: where a window begins or ends, with its limits.
type windowRow struct {
	railRow
	draw func(c *pen, y vg.Length)
}

// railRows lays out what is said of the window, and the px that it takes.
func (w *ageCurve) railRows() (rows []windowRow, below float64) {
	if !w.answer.Limit.Finite() {
		return nil, 0
	}
	m := &w.answer.Main
	switch _, _, some := span(m, w.first, w.last); {
	case !some:
		rows = append(rows, w.said())
	case m.Status == answer.Always && (m.ToLower.Empty() || surelyLast(m, w.last)) && !begins(m, w.first):
		rows = append(rows, w.said())
	default:
		if begins(m, w.first) {
			rows = append(rows, w.ending("at its best from", "from", beginWords(m), m.From, m.FromLower, m.FromUpper))
		}
		rows = append(rows, w.ending("at its best until", "until", endWords(m, w.last), m.To, m.ToLower, m.ToUpper))
	}
	if m.Status != answer.Never || m.AtLeastUntil.Finite() {
		rows = append(rows, w.least())
	}
	if len(m.Others) > 0 {
		rows = append(rows, w.again())
	}
	if lost, some := w.lost(); some {
		rows = append(rows, w.ending(lostWords(w.answer.Drop)+" lost by", "", endWords(lost, w.last), lost.To, lost.ToLower, lost.ToUpper))
	}
	at := 0.0
	for i := range rows {
		if i == 0 {
			at = railFirst
		} else {
			at += railPitch
		}
		if w.sheet.place(&rows[i].railRow); rows[i].above {
			at += lineHigh
		}
		rows[i].down = at
	}
	return rows, at + 9
}

// row begins a row whose marks lie between two ages.
func (w *ageCurve) row(name, said string, from, to float64) windowRow {
	return windowRow{railRow: railRow{name: name, words: w.sheet.railWords(name, said), x0: w.sheet.px(from), x1: w.sheet.px(to)}}
}

// said is a row of words alone: never, always, or why there is no window.
func (w *ageCurve) said() windowRow {
	words := windowWords(&w.answer.Main, w.first, w.last)
	row := w.row("at its best", words, 0, 0)
	row.x0, row.x1 = w.sheet.left-8, w.sheet.left-8 // no mark to keep clear of
	if w.sheet.narrow() {
		row.words = []string{words}
	}
	row.draw = func(*pen, vg.Length) {}
	return row
}

// ending is a row with one end of a window and its limits; on a phone its name, or a shorter one, stands before its words.
func (w *ageCurve) ending(name, short, said string, at, lower, upper answer.Num) windowRow {
	if !at.Finite() { // past the last age tasted
		at, upper = answer.Num{}, openEnd
	}
	q := within(answer.Quantile{From: at, To: at, Lower: lower, Upper: upper}, w.sheet.end)
	row := w.row(name, said, finiteOr(lower, 0), finiteOr(upper, w.last))
	if row.words = []string{said}; w.sheet.narrow() {
		row.words = []string{name + ": " + said}
		if short != "" {
			row.words = append(row.words, short+": "+said)
		}
	}
	if at.Finite() {
		row.x0, row.x1 = min(row.x0, w.sheet.px(at.Float())-dotR), max(row.x1, w.sheet.px(at.Float())+dotR)
	}
	if upper.Open() {
		row.x1 += arrowLen + 2
	}
	row.draw = func(c *pen, y vg.Length) {
		if !lower.Empty() || !upper.Empty() {
			x0, x1, left, right := c.ends(q, w.last)
			c.whisker(windowRail, x0, x1, y, left, right)
		}
		if at.Finite() {
			c.disc(window, c.x(at.Float()), y, dotR-1)
		}
	}
	return row
}

// least is the row of the ages that are surely at its best: a bar to the last of them.
func (w *ageCurve) least() windowRow {
	m := &w.answer.Main
	row := w.row("at least until", leastWords(m), 0, 0)
	row.draw = func(*pen, vg.Length) {}
	if !m.AtLeastUntil.Finite() {
		row.x0, row.x1 = w.sheet.left-8, w.sheet.left-8
		return row
	}
	to := min(m.AtLeastUntil.Float(), w.last)
	from := w.first
	if w.first <= tasted {
		from = 0
	}
	if begins(m, w.first) {
		from = finiteOr(m.FromUpper, to)
	}
	from = min(from, to)
	row.x0, row.x1 = w.sheet.px(from), w.sheet.px(to)
	row.draw = func(c *pen, y vg.Length) {
		x := c.x(to)
		c.shape(window, box(c.x(from), y-2, x, y+2))
		c.line(estimateStroke, x, y-capHalf-1, x, y+capHalf+1)
	}
	return row
}

// again is the row of further runs.
func (w *ageCurve) again() windowRow {
	runs := w.answer.Main.Others
	row := w.row("and again", againWords(&w.answer.Main), runs[0].From, runs[0].To)
	for _, o := range runs {
		row.x0, row.x1 = min(row.x0, w.sheet.px(o.From)), max(row.x1, w.sheet.px(min(o.To, w.sheet.end)))
	}
	row.draw = func(c *pen, y vg.Length) {
		for _, o := range runs {
			c.path(edgeStroke, box(c.x(o.From), y-3, c.x(min(o.To, w.sheet.end)), y+3))
		}
	}
	return row
}

// drawRail draws the rows.
func (w *ageCurve) drawRail(rows []windowRow) {
	for i := range rows {
		row := &rows[i]
		w.panel.mark(func(c *pen) { row.draw(c, c.y(w.low)-vg.Length(row.down)) })
		w.panel.letter(func(c *pen) { c.railName(w.sheet, &row.railRow, c.y(w.low)) })
	}
}
