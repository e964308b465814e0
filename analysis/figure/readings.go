package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// readingHeight is the height of a panel of instrument readings, px.
const readingHeight = 92

// readings draws one panel per quantity: every reading at its actual minute, joined glass by glass.
func readings(a *answer.Readings, width int) (*Figure, error) {
	far, some := 0.0, false
	for _, ser := range a.Series {
		for _, pt := range ser.Points {
			far, some = max(far, pt.AgeMin), true
		}
	}
	if !some {
		return nil, fmt.Errorf("readings of %s: %w: no instrument was read", a.Title, ErrNoFigure)
	}
	s := newSheet(&a.Head, width, far)
	above := 31.0
	for i := range a.Series {
		if len(a.Series[i].Points) > 0 {
			s.quantity(&a.Series[i], above)
			above = 37
		}
	}
	return s.finish(readingsAlt(a))
}

// glassKey tells glasses apart: a pour is known by session and pour.
type glassKey struct{ session, pour string }

// byGlass sorts the readings of a quantity into glasses, in order of first appearance; within a glass the order given, which
// is that of age.
func byGlass(points []answer.ReadingPoint) [][]answer.ReadingPoint {
	var out [][]answer.ReadingPoint
	at := map[glassKey]int{}
	for _, pt := range points {
		k := glassKey{pt.Session, pt.Pour}
		i, seen := at[k]
		if !seen {
			i = len(out)
			at[k] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], pt)
	}
	return out
}

// quantity draws one quantity.
func (s *sheet) quantity(ser *answer.ReadingSeries, above float64) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, pt := range ser.Points {
		s.need("a reading of "+ser.Quantity, pt.AgeMin, pt.Value)
		low, high = min(low, pt.Value), max(high, pt.Value)
	}
	if s.err != nil {
		return
	}
	pad := .08 * (high - low)
	if pad == 0 {
		pad = max(math.Abs(high)*.1, .5)
	}
	p := s.panel(above, readingHeight, low-pad, high+pad)
	glasses := byGlass(ser.Points)
	p.name(rowText.fit(clean(readingName(ser, len(glasses))), s.right))
	p.mark(func(c *pen) {
		for _, glass := range glasses {
			var path []vg.Point
			for _, pt := range glass {
				path = append(path, vg.Point{X: c.x(pt.AgeMin), Y: c.y(pt.Value)})
			}
			if len(path) > 1 {
				c.path(measuredStroke, path)
			}
			c.dots(reading, rawR+.4, path)
		}
	})
	p.letter(func(c *pen) { c.valueAxis(low-pad, high+pad) })
}

// valueAxis writes round numbers at their heights, beside a short stroke.
func (c *pen) valueAxis(low, high float64) {
	y := math.Inf(-1)
	for _, t := range (plot.DefaultTicks{}).Ticks(low, high) {
		if t.IsMinor() || t.Value < low || t.Value > high || float64(c.y(t.Value))-y < 14 {
			continue
		}
		y = float64(c.y(t.Value))
		c.line(ruleStroke, c.Min.X-6, c.y(t.Value), c.Min.X, c.y(t.Value))
		c.text(tickText, c.Min.X-10, c.y(t.Value)-4, 1, t.Label)
	}
}

// readingName names the y axis with its unit.
func readingName(ser *answer.ReadingSeries, glasses int) string {
	name := ser.Quantity
	if unit := readingUnit(ser.Unit); unit != "" {
		name += ", " + unit
	}
	if glasses > 1 {
		name += fmt.Sprintf(" (%d glasses)", glasses)
	}
	return name
}

// readingUnit prints a unit; a bare C is a temperature.
func readingUnit(unit string) string {
	if unit == "C" {
		return "°C"
	}
	return unit
}

// readingsAlt says what the figure shows.
func readingsAlt(a *answer.Readings) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Instrument readings of %s against minutes since it was made.", a.Title)
	for i := range a.Series {
		ser := &a.Series[i]
		if len(ser.Points) == 0 {
			continue
		}
		first, last := ser.Points[0], ser.Points[0]
		for _, pt := range ser.Points {
			if pt.AgeMin < first.AgeMin {
				first = pt
			}
			if pt.AgeMin > last.AgeMin {
				last = pt
			}
		}
		fmt.Fprintf(&b, " %s: %s at %s, %s at %s.", readingName(ser, len(byGlass(ser.Points))), points(first.Value), tenths(first.AgeMin), points(last.Value), tenths(last.AgeMin))
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}
