package figure

import (
	"fmt"

	"lastsip/analysis/answer"
)

// Rows of the age ribbon, px from the top of its data area.
const (
	stripHigh    = 22.0
	stripTop     = 24.0 // below the flag
	barPitch     = 14.0 // of the bars of a small panel
	triangleRow  = 15.0 // for the triangle and its words
	triangleHigh = 9.0
	lineHigh     = 13.0 // of a line of lettering that found no room beside its mark
	tasted       = 0.5  // min: a first taste within half a minute counts as the start (age steps are joined so)
)

// smallPanel is the largest panel whose tasters are drawn one by one in the ribbon.
const smallPanel = 5

// Ribbon draws the age ribbon of one style.
//
// Its strip is, where the answer has a Window, the ages at which an average taster scores the drink at its best: solid between
// the inner limits, a dot screen out to the outer ones, an ink tick at each estimate. Without a Window it is solid up to the
// act, while every taster would go on (or, where the act rests on one in ten, nine in ten of drinkers like these), then a dot
// screen while more than half would (up to the lower limit of half). Ages that
// nobody tasted are hatched. The triangle above it shows from when it is told from a fresh one.
//
// The rail below shows the ages by which one in ten (ring) and half (dot) of the tasters have reached their limit; panels of
// five and fewer show a bar (L, R] for each taster, one taster a bar for each pour.
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
	far := farthest(&r)
	if act.HandOverAfter.Finite() {
		far = max(far, act.HandOverAfter.Float())
	}
	s := newSheet(&act.Head, width, far)
	s.needRibbon(&r)
	b := &ribbon{sheet: s, answer: act, data: r}
	if s.err == nil { // a strip cannot be laid out on numbers that have no place
		b.ages = stripOf(&b.data, act.Act, act.HandOverAfter, s.end)
	}
	b.layOut()
	b.strip()
	b.rail()
	b.words()
	return s.finish(b.alt())
}

// farthest is the largest age that the ribbon draws. Limits of half and of one in ten do not count: one past the axis that all
// figures of a style share is an arrow.
func farthest(r *answer.Ribbon) float64 {
	far := r.LastAge
	at := []answer.Num{r.Noticed}
	if w := r.Window; w != nil {
		at = append(at, w.From, w.FromUpper, w.To, w.ToUpper)
		for _, o := range w.Others {
			far = max(far, o.To)
		}
	}
	for _, iv := range r.Intervals {
		at = append(at, iv.R)
	}
	for _, n := range at {
		if n.Finite() {
			far = max(far, n.Float())
		}
	}
	return far
}

// withLifetime fills what the act's own data leave out.
func withLifetime(r answer.Ribbon, life *answer.Lifetime) answer.Ribbon {
	if life == nil || len(life.Parts) == 0 {
		return asSeen(r)
	}
	part := &life.Parts[0]
	last, _ := lastAge(part)
	half, tenth := marked(part, last)
	if !r.HasHalf && part.Unit != "pour" {
		r.Half, r.HasHalf = half.Quantile, half.drawn
	}
	if !r.HasTenth && part.Unit != "pour" {
		r.Tenth, r.HasTenth = tenth.Quantile, tenth.drawn
	}
	if len(r.Intervals) == 0 && len(part.Intervals) <= smallPanel {
		r.Intervals = part.Intervals
	}
	if r.Units == 0 {
		r.Unit, r.Units = part.Unit, part.Units
	}
	if r.LastAge == 0 {
		r.LastAge = last
	}
	if r.Label == "" {
		r.Label = life.Title
	}
	return asSeen(r)
}

// asSeen says of estimates past the last age that they are later than it, and leaves out a window that is not told: then the
// replies make the strip.
func asSeen(r answer.Ribbon) answer.Ribbon {
	if r.Window != nil && !told(r.Window) {
		r.Window = nil
	}
	r.Half, r.Tenth = seen(r.Half, r.LastAge), seen(r.Tenth, r.LastAge)
	return r
}

// ribbon is one age ribbon being drawn.
type ribbon struct {
	sheet  *sheet
	panel  *panel
	answer *answer.ServeBy
	data   answer.Ribbon
	ages   strip

	stripRow, railRow float64 // px from the top of the data area: middle of the strip, of the first mark on the rail
	quantiles         []railQuantile
	onPhone           float64 // px that a phone gives to the names of the rail, as they stand above it
}

// railQuantile is one estimate on the rail.
type railQuantile struct {
	answer.Quantile
	name   string
	hollow bool
	row    float64 // px from the top of the data area
}

// single tells that one taster speaks, for themself only.
func (b *ribbon) single() bool { return b.data.Unit == "pour" }

// layOut places the rows.
func (b *ribbon) layOut() {
	above := 18.0
	if b.sheet.narrow() {
		above, b.onPhone = 44, 14
	}
	b.stripRow = stripTop - b.onPhone + stripHigh/2
	if b.data.Noticed.Finite() {
		b.stripRow += triangleRow
	}
	b.railRow = b.stripRow + stripHigh/2 + 24 + b.onPhone
	if said, end := b.stripWords(); !b.inside() && !b.sheet.fitsAfter(end, said) {
		b.railRow += lineHigh // they stand below the strip
	}
	if showsTenth(&b.data) {
		b.quantiles = append(b.quantiles, railQuantile{Quantile: b.data.Tenth, name: "one in ten", hollow: true})
	}
	if showsHalf(&b.data) {
		b.quantiles = append(b.quantiles, railQuantile{Quantile: b.data.Half, name: "half"})
	}
	bars := len(b.data.Intervals)
	last, next := b.railRow, b.railRow+barPitch*float64(bars)
	if bars > 0 {
		last = next - barPitch
	}
	for i := range b.quantiles {
		q := &b.quantiles[i]
		if bars+i > 0 && !b.sheet.fitsAfter(q.end(b.data.LastAge, b.sheet.end), q.words()) {
			next += lineHigh // above the whisker
		}
		q.row, last = next, next
		next += barPitch
	}
	if b.railLess() {
		last = b.railRow - b.onPhone - 24
	}
	b.panel = b.sheet.rows(above, last+14)
}

// railLess tells that nothing stands on the rail.
func (b *ribbon) railLess() bool { return len(b.quantiles)+len(b.data.Intervals) == 0 }

// strip draws the strip and the triangle above it.
func (b *ribbon) strip() {
	b.panel.mark(func(c *pen) {
		low, high := c.y(-b.stripRow-stripHigh/2), c.y(-b.stripRow+stripHigh/2)
		c.strip(b.ages, low, high)
		for _, st := range b.ages.stretches {
			if words := "not yet"; st.fill == notYet && tickText.width(words) < float64(c.x(st.to)-c.x(st.from))-4 {
				c.text(tickText, (c.x(st.from)+c.x(st.to))/2, c.y(-b.stripRow)-4, .5, words)
			}
		}
		if b.data.Noticed.Finite() {
			c.triangle(c.x(b.data.Noticed.Float()), high+3, triangleHigh)
		}
	})
}

// fitsAfter tells whether words have room to the right of a mark that ends at an age.
func (s *sheet) fitsAfter(age float64, words string) bool {
	return tickText.width(words) <= s.right-s.px(age)-8
}
