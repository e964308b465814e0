package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

const firstHeight = 64 // px of one attribute's band

// goesFirst draws one band per attribute, those that were first most often on top: at every age step the share of tasters for
// whom it had failed first by then, alone (solid) and tied (screened) upon it, with the exact limits of the share.
func goesFirst(a *answer.GoesFirst, width int) (*Figure, error) {
	far, bands := 0.0, 0
	for i := range a.Parts {
		for _, x := range a.Parts[i].Attributes {
			for _, st := range x.Steps {
				far = max(far, st.AgeMin)
			}
			if len(x.Steps) > 0 {
				bands++
			}
		}
	}
	if bands == 0 {
		return nil, fmt.Errorf("what goes first in %s: %w: nothing is compared", a.Title, ErrNoFigure)
	}
	s := newSheet(&a.Head, width, far)
	above, lift := 54.0, 0.0
	if len(a.Parts) > 1 {
		above, lift = 72, 18 // the first part has a heading too
	}
	for i := range a.Parts {
		part := &a.Parts[i]
		heading := ""
		if len(a.Parts) > 1 {
			heading = modeWords(part.Mode)
		}
		for _, x := range firstOrder(part) {
			s.firstBand(part, x, heading, above)
			heading, above = "", 37
		}
		above = 56
	}
	s.firstKey(lift, hasLimits(a))
	return s.finish(firstAlt(a))
}

// firstOrder sorts a part's attributes by how often they were first alone, then tied, at the last step.
func firstOrder(part *answer.FirstPart) []*answer.FirstAttribute {
	var out []*answer.FirstAttribute
	for i := range part.Attributes {
		if len(part.Attributes[i].Steps) > 0 {
			out = append(out, &part.Attributes[i])
		}
	}
	slices.SortStableFunc(out, func(x, y *answer.FirstAttribute) int {
		a, b := x.Steps[len(x.Steps)-1], y.Steps[len(y.Steps)-1]
		return cmp.Or(cmp.Compare(b.Alone, a.Alone), cmp.Compare(b.Tied, a.Tied))
	})
	return out
}

// firstBand draws one attribute.
func (s *sheet) firstBand(part *answer.FirstPart, x *answer.FirstAttribute, heading string, above float64) {
	for _, st := range x.Steps {
		s.need("an age step of "+x.Name, st.AgeMin)
	}
	p := s.panel(above, firstHeight, 0, 1)
	p.firstName(part, x)
	if heading != "" {
		p.letter(func(c *pen) {
			c.text(valueText, c.Min.X-vg.Length(s.left), c.Max.Y+33, 0, heading)
		})
	}
	p.firstAxis(part)
	units := float64(part.Units)
	wide := s.barWidth(x.Steps)
	p.mark(func(c *pen) {
		for _, st := range x.Steps {
			at := c.x(st.AgeMin)
			none, alone, tied := c.y(0), c.y(float64(st.Alone)/units), c.y(float64(st.Alone+st.Tied)/units)
			if st.Alone > 0 {
				c.shape(mute, box(at-wide/2, none, at+wide/2, alone))
			}
			if st.Tied > 0 {
				c.shape(paper, box(at-wide/2, alone, at+wide/2, tied))
				c.screen(mute, at-wide/2, alone, at+wide/2, tied)
				c.path(tiedStroke, box(at-wide/2, alone, at+wide/2, tied))
			}
			if st.Lower.Finite() && st.Upper.Finite() {
				c.upright(at, c.y(st.Lower.Float()), c.y(st.Upper.Float()))
			}
		}
		if st := x.Settled(); st.Alone+st.Tied > 0 {
			c.line(settledStroke, c.x(st.AgeMin), c.Min.Y-5, c.x(st.AgeMin), c.Min.Y)
		}
	})
}

// barWidth leaves space between the closest steps.
func (s *sheet) barWidth(steps []answer.FirstStep) vg.Length {
	gap := 30.0
	for i := 1; i < len(steps); i++ {
		gap = min(gap, s.px(steps[i].AgeMin)-s.px(steps[i-1].AgeMin))
	}
	return vg.Length(max(.55*gap, 2.5))
}

// upright draws limits as a whisker that stands on a line of paper, so that it holds on a bar too.
func (c *pen) upright(x, low, high vg.Length) {
	c.line(limitPaper, x, low, x, high)
	c.line(limitStroke, x, low, x, high)
	for _, y := range []vg.Length{low, high} {
		c.line(limitPaper, x-capHalf+.6, y, x+capHalf-.6, y)
		c.line(limitStroke, x-capHalf+1, y, x+capHalf-1, y)
	}
}

// firstAxis writes the y axis. Shares of fewer than three are counts, and a single taster's pours have no half.
func (p *panel) firstAxis(part *answer.FirstPart) {
	most, least := "all", "none"
	if part.Units < 3 {
		most, least = fmt.Sprint(part.Units), "0"
	}
	half := part.Units >= 3 && part.Unit != "pour"
	p.mark(func(c *pen) {
		c.line(halfStroke, c.Min.X, c.y(0), c.Max.X, c.y(0))
		if half {
			c.line(halfStroke, c.Min.X, c.y(.5), c.Max.X, c.y(.5))
		}
	})
	p.letter(func(c *pen) {
		c.text(tickText, c.Min.X-10, c.y(0)-4, 1, least)
		c.text(tickText, c.Min.X-10, c.y(1)-4, 1, most)
		if half {
			c.text(tickText, c.Min.X-10, c.y(.5)-4, 1, "half")
		}
	})
}

// firstName writes the attribute and its count above the band; a long name is cut, the count is not.
func (p *panel) firstName(part *answer.FirstPart, x *answer.FirstAttribute) {
	tail := ": " + firstCount(part, x, p.sheet.narrow())
	p.name(rowText.fit(clean(x.Name), p.sheet.right-rowText.width(tail)) + tail)
}

// firstCount says for how many an attribute was first, and by when.
func firstCount(part *answer.FirstPart, x *answer.FirstAttribute, short bool) string {
	st := x.Settled()
	of := fmt.Sprintf("of %d", part.Units)
	if !short {
		of = "of " + answer.Count(part.Units, part.Unit)
	}
	by := answer.Age(st.AgeMin) + " min"
	switch {
	case st.Alone+st.Tied == 0:
		return "first for none " + of
	case st.Tied == 0:
		return fmt.Sprintf("first alone for %d %s by %s", st.Alone, of, by)
	case st.Alone == 0:
		return fmt.Sprintf("first, tied, for %d %s by %s", st.Tied, of, by)
	}
	return fmt.Sprintf("first alone for %d, tied for %d %s by %s", st.Alone, st.Tied, of, by)
}

// hasLimits tells whether any share has limits.
func hasLimits(a *answer.GoesFirst) bool {
	return slices.ContainsFunc(a.Parts, func(p answer.FirstPart) bool {
		return slices.ContainsFunc(p.Attributes, func(x answer.FirstAttribute) bool {
			return slices.ContainsFunc(x.Steps, func(st answer.FirstStep) bool { return st.Upper.Finite() })
		})
	})
}

// firstKey names the marks in one line, lift px above the name of the first band.
func (s *sheet) firstKey(lift float64, limits bool) {
	p := s.panels[0]
	p.letter(func(c *pen) {
		x, y := c.Min.X-vg.Length(s.left)+1, c.Max.Y+vg.Length(36+lift)
		c.shape(mute, box(x, y-1, x+11, y+10))
		next := c.after(x+16, y, "first, alone")
		c.screen(mute, next, y-1, next+11, y+10)
		c.path(tiedStroke, box(next, y-1, next+11, y+10))
		next = c.after(next+16, y, "first, tied")
		if limits {
			c.upright(next+4, y-2, y+11)
			c.after(next+12, y, "exact limits")
		}
	})
}

// firstAlt says what the figure shows.
func firstAlt(a *answer.GoesFirst) string {
	var b strings.Builder
	fmt.Fprintf(&b, "What fails first in %s, against minutes since it was made.", a.Title)
	for i := range a.Parts {
		part := &a.Parts[i]
		if len(a.Parts) > 1 {
			fmt.Fprintf(&b, " With %s:", modeWords(part.Mode))
		}
		for _, x := range firstOrder(part) {
			fmt.Fprintf(&b, " %s: %s", clean(x.Name), firstCount(part, x, false))
			if st := x.Settled(); st.Lower.Finite() && st.Upper.Finite() {
				fmt.Fprintf(&b, " (limits %.0f to %.0f %%)", math.Round(100*st.Lower.Float()), math.Round(100*st.Upper.Float()))
			}
			var steps []string
			for _, st := range x.Steps {
				count := fmt.Sprint(st.Alone)
				if st.Tied > 0 {
					count += fmt.Sprintf(" and %d tied", st.Tied)
				}
				steps = append(steps, count+" at "+tenths(st.AgeMin))
			}
			fmt.Fprintf(&b, "; %s.", strings.Join(steps, ", "))
		}
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}
