package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// Rows of the age ribbon, px from the top of its data area.
const (
	stripHigh = 22.0
	stripTop  = 24.0 // below the flag
	barPitch  = 14.0 // of the bars of a small panel
	lineHigh  = 13.0 // of a line of lettering that found no room beside its mark
	tasted    = 0.5  // min: a first taste within half a minute counts as the start (age steps are joined so)
)

// smallPanel is the largest panel whose tasters are drawn one by one in the ribbon.
const smallPanel = 5

// Ribbon draws the age ribbon of one style. Its strip is solid while every taster would go on (up to the act), then a dot
// screen while more than half would (up to the lower limit of half). The rail below shows half of the tasters with its
// limits; panels of five and fewer show a bar (L, R] for each taster, one taster a bar for each pour. Ages that nobody
// tasted are hatched.
//
// life may be nil; where the ServeBy answer brings no half or no intervals, those of life's first part are drawn.
func Ribbon(act *answer.ServeBy, life *answer.Lifetime, width int) (*Figure, error) {
	if act == nil {
		return nil, fmt.Errorf("ribbon: %w: no answer given", ErrNoFigure)
	}
	if width == 0 {
		width = Wide
	}
	r := withLifetime(act.Ribbon, life)
	far := r.LastAge
	for _, n := range []answer.Num{r.Half.Upper, r.Half.To, act.HandOverAfter} {
		if n.Finite() {
			far = max(far, n.Float())
		}
	}
	for _, iv := range r.Intervals {
		if iv.R.Finite() {
			far = max(far, iv.R.Float())
		}
	}
	s := newSheet(&act.Head, width, far)
	s.need("the first or last age tasted", r.FirstAge, r.LastAge)
	b := &ribbon{sheet: s, answer: act, data: r}
	b.layOut()
	b.strip()
	b.rail()
	b.words()
	return s.finish(b.alt())
}

// withLifetime fills what the act's own data leave out.
func withLifetime(r answer.Ribbon, life *answer.Lifetime) answer.Ribbon {
	if life == nil || len(life.Parts) == 0 {
		return r
	}
	part := &life.Parts[0]
	if !r.HasHalf && part.Unit != "pour" {
		r.Half, r.HasHalf = quantile(part, .5)
	}
	if len(r.Intervals) == 0 && len(part.Intervals) <= smallPanel {
		r.Intervals = part.Intervals
	}
	if r.Units == 0 {
		r.Unit, r.Units = part.Unit, part.Units
	}
	if r.LastAge == 0 {
		r.LastAge, _ = lastAge(part)
	}
	if r.Label == "" {
		r.Label = life.Title
	}
	return r
}

// ribbon is one age ribbon being drawn.
type ribbon struct {
	sheet  *sheet
	panel  *panel
	answer *answer.ServeBy
	data   answer.Ribbon

	stripRow, railRow float64 // px from the top of the data area: middle of the strip, of the first mark on the rail
	halfRow           float64 // middle of the whisker of half
	onPhone           float64 // px that a phone gives to the names of the rail, as they stand above it
}

// single tells that one taster speaks, for themself only.
func (b *ribbon) single() bool { return b.data.Unit == "pour" }

// showsHalf tells whether half of tasters is drawn: from three tasters up, never for one taster's pours.
func (b *ribbon) showsHalf() bool {
	return b.data.HasHalf && !b.single() && (b.data.Units == 0 || b.data.Units >= 3)
}

// layOut places the rows.
func (b *ribbon) layOut() {
	above := 18.0
	if b.sheet.narrow() {
		above, b.onPhone = 44, 14
	}
	b.stripRow = stripTop - b.onPhone + stripHigh/2
	b.railRow = b.stripRow + stripHigh/2 + 24 + b.onPhone
	if said, end := b.stripWords(); !b.sheet.fitsAfter(end, said) {
		b.railRow += lineHigh // they stand below the strip
	}
	b.halfRow = b.railRow + barPitch*float64(len(b.data.Intervals))
	if b.showsHalf() && !b.sheet.fitsAfter(b.halfEnd(), b.halfWords()) && len(b.data.Intervals) > 0 {
		b.halfRow += lineHigh // above the whisker
	}
	height := b.halfRow + 14
	if !b.showsHalf() && len(b.data.Intervals) > 0 {
		height -= barPitch
	}
	b.panel = b.sheet.rows(above, height)
}

// from is the age at which the strip begins.
func (b *ribbon) from() float64 {
	start := 0.0
	if b.data.FirstAge > tasted {
		start = b.data.FirstAge
	}
	if late := b.answer.HandOverAfter; late.Finite() {
		start = max(start, late.Float())
	}
	return start
}

// to is the age up to which the strip is solid; none where there is no act after the start.
func (b *ribbon) to() (age float64, some bool) {
	act := b.answer.Act
	if !act.Finite() || act.Float() <= b.from() {
		return 0, false
	}
	return act.Float(), true
}

// screenTo is the age up to which more than half would go on, where that is later than the solid part.
func (b *ribbon) screenTo() (age float64, some bool) {
	lower := b.data.Half.Lower
	solid, ok := b.to()
	if !ok {
		solid = b.from()
	}
	if !b.showsHalf() || len(b.data.Intervals) > 0 || !lower.Finite() || lower.Float() <= solid {
		return 0, false
	}
	return lower.Float(), true
}

// strip draws the strip: hatched where nobody tasted, outlined where nothing may be promised, solid, dotted.
func (b *ribbon) strip() {
	b.panel.mark(func(c *pen) {
		low, high := c.y(-b.stripRow-stripHigh/2), c.y(-b.stripRow+stripHigh/2)
		if b.data.FirstAge > tasted {
			c.hatch(c.x(0), low, c.x(b.data.FirstAge), high)
		}
		if b.data.LastAge > 0 && b.data.LastAge < b.sheet.end {
			c.hatch(c.x(b.data.LastAge), low, c.Max.X, high)
		}
		solid, some := b.to()
		if late := b.answer.HandOverAfter; late.Finite() && late.Float() > 0 {
			c.path(edgeStroke, box(c.x(0), low, c.x(late.Float()), high))
			if words := "not yet"; tickText.width(words) < float64(c.x(late.Float())-c.x(0))-4 {
				c.text(tickText, (c.x(0)+c.x(late.Float()))/2, c.y(-b.stripRow)-4, .5, words)
			}
		}
		if some {
			c.shape(window, box(c.x(b.from()), low, c.x(solid), high))
		} else {
			solid = b.from()
		}
		if upTo, dotted := b.screenTo(); dotted {
			c.screen(window, c.x(solid), low, c.x(upTo), high)
			c.path(edgeStroke, box(c.x(solid), low, c.x(upTo), high))
		} else if !some {
			c.path(edgeStroke, box(c.x(b.from()), low, c.x(max(b.data.LastAge, b.from())), high))
		}
	})
}

// rail draws the tasters of a small panel, then half of the tasters.
func (b *ribbon) rail() {
	for i, iv := range b.data.Intervals {
		row := b.railRow + barPitch*float64(i)
		label := clean(iv.Taster)
		if b.single() && iv.Pour != "" {
			label = clean(iv.Pour)
		}
		b.panel.mark(func(c *pen) { c.interval(iv, b.data.LastAge, c.y(-row)) })
		b.panel.letter(func(c *pen) {
			c.nameBar(iv, b.data.LastAge, c.y(-row), label)
		})
	}
	if !b.showsHalf() {
		return
	}
	b.panel.mark(func(c *pen) { c.quantile(b.data.Half, b.data.LastAge, c.y(-b.halfRow)) })
	b.panel.letter(func(c *pen) { c.besides(c.x(b.halfEnd()), c.y(-b.halfRow), b.halfWords()) })
}

// nameBar writes a bar's name after it, or before it where it runs to the edge.
func (c *pen) nameBar(iv answer.Interval, last float64, y vg.Length, label string) {
	x0, x1 := c.Min.X, c.x(last)
	if iv.L.Finite() {
		x0 = c.x(iv.L.Float())
	}
	if iv.R.Finite() {
		x1 = c.x(iv.R.Float())
	}
	after, before := float64(c.Max.X-x1)-8, float64(x0-c.Min.X)-8
	if after >= tickText.width(label) || after >= before {
		c.onPaper(tickText, x1+8, y-4, 0, tickText.fit(label, max(after, tickText.width("A…"))))
		return
	}
	c.onPaper(tickText, x0-8, y-4, 1, tickText.fit(label, before))
}

// halfWords stand beside the whisker of half; halfEnd is the age at which that ends.
func (b *ribbon) halfWords() string {
	if words := quantileWords(b.data.Half); words != "" {
		return "half: " + words
	}
	return "half: not told by this panel"
}

func (b *ribbon) halfEnd() float64 {
	if up := b.data.Half.Upper; up.Finite() {
		return up.Float()
	}
	return b.data.LastAge
}

// fitsAfter tells whether words have room to the right of a mark that ends at an age.
func (s *sheet) fitsAfter(age float64, words string) bool {
	return tickText.width(words) <= s.right-s.px(age)-8
}

// interval draws one bar from L to R, with an arrow where it is open.
func (c *pen) interval(iv answer.Interval, last float64, y vg.Length) {
	if !iv.L.Finite() {
		return
	}
	x0, x1 := c.x(iv.L.Float()), c.x(last)
	if iv.R.Finite() {
		x1 = c.x(iv.R.Float())
	}
	if iv.R.Open() {
		c.whisker(intervalStroke, x0, max(x1, x0+arrowLen+4), y, bare, open)
		return
	}
	c.whisker(intervalStroke, x0, x1, y, bare, bare)
}
