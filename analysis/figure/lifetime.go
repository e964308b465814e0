package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

const shareHeight = 170.0 // px

// lifetime draws the share of tasters who would go on, one panel per mode.
func lifetime(a *answer.Lifetime, width int) (*Figure, error) {
	far := 0.0
	drawn := 0
	for i := range a.Parts {
		if last, some := lastAge(&a.Parts[i]); some {
			far = max(far, last)
			drawn++
		}
	}
	if drawn == 0 {
		return nil, fmt.Errorf("lifetime of %s: %w: no share at any age (%s)", a.Title, ErrNoFigure, a.Status)
	}
	s := newSheet(&a.Head, width, far)
	above := 31.0
	for i := range a.Parts {
		if last, some := lastAge(&a.Parts[i]); some {
			s.lifetimePart(&a.Parts[i], last, above, drawn > 1)
			above = 40
		}
	}
	return s.finish(lifetimeAlt(a))
}

// lifetimePart draws one mode. Where it has a headline, that leads: its curve and limits over the curve without a family, and
// under the line of none a rail with the half of each evening and batch.
func (s *sheet) lifetimePart(part *answer.LifetimePart, last, above float64, severalModes bool) {
	h := part.Headline
	rows, below := s.railRows(part, last)
	p := s.panel(above, shareHeight+below, -below/shareHeight, 1)
	half, tenth := marked(part, last)
	p.shareAxis(shareName(part, severalModes, s.narrow()), tenth.drawn)
	p.limitBand(h)
	p.turnbull(part.Curve.Sets, last, leads(h))
	p.exactLimits(part.Shares)
	p.headlineCurve(h, last)
	if tenth.drawn {
		p.levelWhisker(tenth, last)
	}
	if half.drawn {
		p.levelWhisker(half, last)
	}
	switch {
	case h != nil:
		p.otherChoices(&part.Sensitivity)
	case half.drawn:
		p.readings(part.OtherReadings(), last)
	}
	p.rail(rows, last)
}

// lastAge is the oldest age that a part speaks about.
func lastAge(part *answer.LifetimePart) (age float64, some bool) {
	for _, sh := range part.Shares {
		age, some = max(age, sh.AgeMin), true
	}
	for _, set := range part.Curve.Sets {
		some = true
		for _, n := range []answer.Num{set.L, set.R} {
			if n.Finite() {
				age = max(age, n.Float())
			}
		}
	}
	return age, some
}

// shareAxis writes the y axis: none, half and all, with the half line, and nine in ten with its line where that is answered.
func (p *panel) shareAxis(name string, tenth bool) {
	type level struct {
		at   float64
		word string
		from vg.Length // px left of the data area
	}
	levels := []level{{0, "none", 10}, {.5, "half", 10}, {1, "all", 10}}
	switch {
	case tenth && p.sheet.narrow():
		levels = append(levels, level{.9, "9 in 10", 5})
	case tenth:
		levels = append(levels, level{.9, "nine in ten", 10})
	}
	p.mark(func(c *pen) {
		c.line(halfStroke, c.Min.X, c.y(.5), c.Max.X, c.y(.5))
		if tenth {
			c.line(halfStroke, c.Min.X, c.y(.9), c.Max.X, c.y(.9))
		}
	})
	p.name(name)
	p.letter(func(c *pen) {
		for _, l := range levels {
			c.text(tickText, c.Min.X-l.from, c.y(l.at)-4, 1, l.word)
		}
	})
}

// name writes what a data area shows above it, from the sheet's left edge.
func (p *panel) name(s string) {
	s = rowText.fit(clean(s), p.sheet.right)
	left := vg.Length(p.sheet.left)
	p.letter(func(c *pen) { c.text(rowText, c.Min.X-left, c.Max.Y+15, 0, s) })
}
