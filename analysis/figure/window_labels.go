package figure

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// Label of a line, px: a short stroke of the line's own kind, then its name.
const (
	keyLong = 13.0
	keyGap  = 4.0
	tall    = 10.0 // of lettering above its baseline
	clear   = 5.0  // between lettering and the line that it names
)

// rect is a place in px: x from the sheet's left, y upward from the lower end of the scale.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) meets(o rect) bool { return r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1 }

// label names the average taster's curve and, where there is one, a taster's, each beside its line where it hides least.
func (w *ageCurve) label() {
	curve := w.answer.Curve
	var taken []rect
	if w.sheet.narrow() && w.answer.Limit.Finite() { // the limit's name stands at the right end of its line
		y := w.py(w.answer.Limit.Float())
		taken = append(taken, rect{w.sheet.right - 60, y - 16, w.sheet.right, y + 16})
	}
	mean := func(i int) (low, high float64) {
		return w.py(min(curve[i].Lower, curve[i].Mean)), w.py(max(curve[i].Upper, curve[i].Mean))
	}
	if at, ok := w.room(w.who(), mean, taken); ok {
		w.write(w.who(), at, true)
		taken = append(taken, at)
	}
	if len(w.answer.Lines) == 0 {
		return
	}
	name := "each taster"
	if len(w.answer.Lines) == 1 {
		name = clean(w.answer.Lines[0].Taster)
	}
	fan := func(i int) (low, high float64) { // the outermost of them
		low, high = math.Inf(1), math.Inf(-1)
		for _, l := range w.answer.Lines {
			y := w.py(l.Means[i])
			low, high = min(low, y), max(high, y)
		}
		return low, high
	}
	if at, ok := w.room(name, fan, taken); ok {
		w.write(name, at, false)
	}
}

// py is the height of a score, px above the lower end of the scale.
func (w *ageCurve) py(score float64) float64 {
	return curveHeight * (score - w.low) / (w.high - w.low)
}

// room finds the place of a label above or below a line (or a band of them) that hides the fewest marks.
func (w *ageCurve) room(name string, edge func(i int) (low, high float64), taken []rect) (best rect, ok bool) {
	wide := keyLong + keyGap + tickText.width(name)
	least := math.Inf(1)
	for x := w.sheet.px(w.first) + 2; x+wide <= w.sheet.px(w.last)-2; x += 6 {
		low, high := math.Inf(1), math.Inf(-1)
		var lowKey, highKey float64 // the line at the key stroke
		for i := range w.answer.Curve {
			if at := w.sheet.px(w.answer.Curve[i].AgeMin); at >= x && at <= x+wide {
				l, h := edge(i)
				low, high = min(low, l), max(high, h)
				if at <= x+keyLong {
					lowKey, highKey = l, h
				}
			}
		}
		if low > high {
			continue
		}
		for _, try := range []struct{ y, far float64 }{{high + clear, high - highKey}, {low - clear - tall, lowKey - low}} {
			at := rect{x, try.y - 2, x + wide, try.y + tall}
			if cost := w.cost(at, taken) + try.far/4; cost < least {
				best, least = at, cost
			}
		}
	}
	return best, !math.IsInf(least, 1)
}

// cost counts what a label would hide; +Inf where it may not stand.
func (w *ageCurve) cost(at rect, taken []rect) float64 {
	if at.y0 < 1 || at.y1 > curveHeight+2 {
		return math.Inf(1)
	}
	for _, t := range taken {
		if at.meets(t) {
			return math.Inf(1)
		}
	}
	sum := 0.0
	for _, pt := range w.answer.Points {
		x, y := w.sheet.px(pt.AgeMin), w.py(pt.Score)
		if at.meets(rect{x - rawR, y - rawR, x + rawR, y + rawR}) {
			sum++
		}
	}
	if act := w.sheet.act; act.Finite() {
		if x := w.sheet.px(act.Float()); at.meets(rect{x - 3, 0, x + 3, curveHeight}) {
			sum += 20
		}
	}
	if w.answer.Limit.Finite() {
		if y := w.py(w.answer.Limit.Float()); at.meets(rect{w.sheet.left, y - 3, w.sheet.right, y + 3}) {
			sum += 5
		}
	}
	const apart = 8 // px of a curve looked at together
	for i := range w.answer.Curve {
		c := &w.answer.Curve[i]
		x := w.sheet.px(c.AgeMin)
		if i > 0 && math.Floor(x/apart) == math.Floor(w.sheet.px(w.answer.Curve[i-1].AgeMin)/apart) || x < at.x0 || x > at.x1 {
			continue
		}
		if at.meets(rect{x - 1, w.py(c.Lower), x + 1, w.py(c.Upper)}) {
			sum += 3
		}
		for _, l := range w.answer.Lines {
			if y := w.py(l.Means[i]); y > at.y0 && y < at.y1 {
				sum += .2
			}
		}
	}
	return sum
}

// write draws a label with its stroke.
func (w *ageCurve) write(name string, at rect, average bool) {
	line := tasterStroke
	if average {
		line = meanStroke
	}
	w.panel.letter(func(c *pen) {
		x, y := c.Min.X+vg.Length(at.x0-w.sheet.left), c.y(w.low)+vg.Length(at.y0)+2
		c.onPaper(tickText, x+keyLong+keyGap, y, 0, name)
		c.line(line, x, y+4, x+keyLong, y+4)
	})
}
