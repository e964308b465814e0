package figure

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// ownLeft is how far left of their age tasters' own differences stand, px, so that whiskers do not hide them.
const ownLeft = 7

// ageDifferences draws how far every age step lies from fresh: the difference with its limits for all steps together (a disc
// where it surely differs, a ring where it may not), tasters' own differences faintly behind, the line of fresh, and the margin
// within which a difference counts as none, darker up to the age to which sameness is shown.
func ageDifferences(a *answer.AgeDifferences, width int) (*Figure, error) {
	if len(a.Steps) < 2 {
		return nil, fmt.Errorf("differences between ages of %s: %w: nothing is compared", a.Title, ErrNoFigure)
	}
	s := newSheet(&a.Head, width, a.Steps[len(a.Steps)-1].AgeMin)
	for _, x := range a.Steps {
		s.need("an age step", x.AgeMin, x.Difference, x.Lower, x.Upper)
	}
	for _, o := range a.Own {
		s.need("a taster's own difference", o.AgeMin, o.Score)
	}
	if s.err != nil {
		return nil, s.err
	}
	low, high := differenceScale(a)
	lines := s.differenceKey(a)
	p := s.panel(float64(37+17*lines), overallHeight, low, high)
	p.name(differenceName(a, s.right))
	p.mark(func(c *pen) { c.margin(a) })
	p.mark(func(c *pen) { c.line(alikeStroke, c.Min.X, c.y(0), c.Max.X, c.y(0)) })
	p.mark(func(c *pen) { c.differenceSteps(a, low, high) })
	p.letter(func(c *pen) { c.differenceAxis(a, low, high, s.narrow()) })
	p.letter(func(c *pen) { c.differenceKey(a, s, lines) })
	return s.finish(ageDifferencesAlt(a))
}

// differenceScale gives the ends of the y axis: all estimates, own differences and the margin, and limits as far as they do not
// take more than twice that height.
func differenceScale(a *answer.AgeDifferences) (low, high float64) {
	hold := func(values ...float64) { low, high = min(low, slices.Min(values)), max(high, slices.Max(values)) }
	for _, x := range a.Steps {
		hold(x.Difference)
	}
	for _, o := range a.Own {
		hold(o.Score)
	}
	if m := a.Margin; m.Finite() {
		hold(-m.Float(), m.Float())
	}
	room := high - low
	if room == 0 {
		room = 1
	}
	least, most := low-room, high+room
	for _, x := range a.Steps[1:] {
		hold(max(x.Lower, least), min(x.Upper, most))
	}
	pad := .04 * (high - low)
	return low - pad, high + pad
}

// differenceName names the y axis; a long attribute is cut, what is measured is not.
func differenceName(a *answer.AgeDifferences, room float64) string {
	tail := ": points above or below fresh"
	if a.Better == "middle" {
		tail = ": points further from best than fresh"
	}
	return rowText.fit(clean(a.Attribute), room-rowText.width(tail)) + tail
}

// margin fills the band of sameness.
func (c *pen) margin(a *answer.AgeDifferences) {
	if !a.Margin.Finite() {
		return
	}
	m := a.Margin.Float()
	c.shape(thin(window, .1), box(c.Min.X, c.y(-m), c.Max.X, c.y(m)))
	for _, y := range []vg.Length{c.y(-m), c.y(m)} {
		c.line(halfStroke, c.Min.X, y, c.Max.X, y)
	}
	if a.SameUpTo.Finite() {
		c.shape(thin(window, .28), box(c.x(a.FreshAge), c.y(-m), c.x(a.SameUpTo.Float()), c.y(m)))
	}
}

// differenceSteps draws the dots, and marks below the axis the first age that is surely worse.
func (c *pen) differenceSteps(a *answer.AgeDifferences, low, high float64) {
	var own []vg.Point
	for _, o := range a.Own {
		own = append(own, vg.Point{X: c.x(o.AgeMin) - ownLeft, Y: c.y(o.Score)})
	}
	c.dots(thin(ink, .3), rawR, own)
	x := c.x(a.FreshAge)
	c.shape(window, box(x-4, c.y(0)-4, x+4, c.y(0)+4))
	for _, st := range a.Steps[1:] {
		x := c.x(st.AgeMin)
		c.line(ageLimits, x, c.y(max(st.Lower, low)), x, c.y(min(st.Upper, high)))
		c.head(x, c.y(max(st.Lower, low)), st.Lower < low, -1)
		c.head(x, c.y(min(st.Upper, high)), st.Upper > high, 1)
		c.difference(x, c.y(st.Difference), sure(&st))
	}
	if a.FirstSure.Finite() {
		x := c.x(a.FirstSure.Float())
		c.line(settledStroke, x, c.Min.Y-5, x, c.Min.Y)
	}
}

// sure tells whether the limits leave fresh out.
func sure(x *answer.AgeDifference) bool { return x.Lower > 0 || x.Upper < 0 }

// difference draws one estimate.
func (c *pen) difference(x, y vg.Length, sure bool) {
	if sure {
		c.disc(window, x, y, dotR-.5)
		return
	}
	c.ring(stroke(window, 1.8), x, y, dotR-1)
}

// head draws the end of an upright whisker: a stroke across, or an arrow where it goes on past the paper.
func (c *pen) head(x, y vg.Length, goesOn bool, toward vg.Length) {
	if goesOn {
		back := y - toward*arrowLen
		c.shape(ageLimits.Color, []vg.Point{{X: x, Y: y}, {X: x - capHalf, Y: back}, {X: x + capHalf, Y: back}})
		return
	}
	c.line(ageLimits, x-capHalf, y, x+capHalf, y)
}

// differenceAxis writes round numbers at their heights, 0 among them, and names the line of fresh.
func (c *pen) differenceAxis(a *answer.AgeDifferences, low, high float64, narrow bool) {
	const apart = 26 // px
	step := math.Pow(10, math.Floor(math.Log10(high-low))-2)
	for i := 0; float64(c.y(step)-c.y(0)) < apart; i++ {
		step *= []float64{2, 2.5, 2}[i%3] // 1, 2, 5, 10 ...
	}
	for k := math.Ceil(low / step); k*step <= high; k++ {
		word := strconv.FormatFloat(k*step, 'g', 6, 64)
		switch {
		case k == 0 && !narrow:
			word = "as fresh  0"
		case k == 0:
			word = "0"
		case k > 0:
			word = "+" + word
		}
		y := c.y(k * step)
		c.line(ruleStroke, c.Min.X-6, y, c.Min.X, y)
		c.text(tickText, c.Min.X-10, y-4, 1, word)
	}
	if narrow { // no room beside the axis: at the end, on the side of the line where the last difference is not
		up := vg.Length(3)
		if a.Steps[len(a.Steps)-1].Difference > 0 {
			up = -12
		}
		c.onPaper(tickText, c.Max.X, c.y(0)+up, 1, "as fresh")
	}
}
