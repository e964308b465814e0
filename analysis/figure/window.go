package figure

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastsip/analysis/answer"
)

const curveHeight = 190.0 // px, of the scale

// ageCurve is the age curve of a prime window being drawn.
type ageCurve struct {
	sheet       *sheet
	panel       *panel
	answer      *answer.PrimeWindow
	first, last float64 // minutes: the ages between which there is a curve
	low, high   float64 // points: ends of the y axis
}

// primeWindow draws the expected score of an average taster over age with its band, each taster's own curve and score behind
// it, the prime limit, the stretch of it where the curve is at or above it, and on a rail below where that begins and ends.
func primeWindow(a *answer.PrimeWindow, width int) (*Figure, error) {
	if len(a.Curve) < 2 {
		return nil, fmt.Errorf("prime window of %s: %w: no age curve (%s)", a.Title, ErrNoFigure, a.Status)
	}
	w := &ageCurve{answer: a, first: a.Curve[0].AgeMin, last: a.Curve[len(a.Curve)-1].AgeMin}
	far := w.last
	for _, pt := range a.Points {
		far = max(far, pt.AgeMin)
	}
	w.sheet = newSheet(&a.Head, width, far)
	w.need()
	if w.sheet.err != nil {
		return nil, w.sheet.err
	}
	series := w.series()
	w.low, w.high = w.scale(series)
	rows, below := w.railRows()
	w.panel = w.sheet.panel(31, curveHeight+below, w.low-below/curveHeight*(w.high-w.low), w.high)
	name := scoreName(series, w.low, w.high, w.sheet.right)
	if a.Status == answer.NotConverged {
		name += ": the fit did not settle"
	}
	w.panel.name(name)
	w.panel.limits(series, w.low, w.high)
	w.panel.mark(w.drawCurves)
	w.panel.mark(func(c *pen) { w.drawWindow(c, len(rows) > 0) })
	w.drawRail(rows)
	w.label()
	return w.sheet.finish(w.alt())
}

// need refuses numbers that have no place.
func (w *ageCurve) need() {
	s, a := w.sheet, w.answer
	s.need("an end of the scale of "+a.Attribute, a.Low, a.High)
	for _, pt := range a.Curve {
		s.need("the age curve or its limits", pt.AgeMin, pt.Mean, pt.Lower, pt.Upper)
	}
	for _, pt := range a.Points {
		s.need("a score of "+a.Attribute, pt.AgeMin, pt.Score)
	}
	for _, l := range a.Lines {
		s.need("the curve of "+l.Taster, l.Means...)
		if s.err == nil && len(l.Means) != len(a.Curve) {
			s.err = fmt.Errorf("figure: the curve of %s has %d points: want %d, as the average taster's has", l.Taster, len(l.Means), len(a.Curve))
		}
	}
	s.needWindow(&a.Main)
}

// series is what the y axis asks of an attribute.
func (w *ageCurve) series() *answer.ScoreSeries {
	a := w.answer
	return &answer.ScoreSeries{Name: a.Attribute, Overall: true, Low: a.Low, High: a.High, Prime: a.Limit, Points: a.Points,
		Steps: []answer.ScoreStep{{Mean: a.Curve[len(a.Curve)-1].Mean, LowQuarter: a.Curve[0].Mean, HighQuarter: a.Curve[0].Mean}}}
}

// scale gives the ends of the y axis: those of the attribute's scale, which the band may leave; where it has none, whatever
// holds scores, curve, band and limit.
func (w *ageCurve) scale(series *answer.ScoreSeries) (low, high float64) {
	low, high = scale(&answer.ScoreSeries{Low: series.Low, High: series.High, Points: series.Points})
	if w.answer.Limit.Finite() {
		low, high = min(low, w.answer.Limit.Float()), max(high, w.answer.Limit.Float())
	}
	if w.answer.Ranged {
		return low, high
	}
	for _, pt := range w.answer.Curve {
		low, high = min(low, pt.Lower), max(high, pt.Upper)
	}
	return low, high
}

// drawCurves draws raw scores, each taster's curve, and the average taster's with its band, all inside the scale.
func (w *ageCurve) drawCurves(c *pen) {
	inside := w.inside(c)
	raw := make([]vg.Point, len(w.answer.Points))
	for i, pt := range w.answer.Points {
		raw[i] = vg.Point{X: c.x(pt.AgeMin), Y: c.y(pt.Score)}
	}
	c.dots(thin(ink, .3), rawR, raw)
	for _, l := range w.answer.Lines {
		for _, part := range inside.ClipLinesY(w.line(c, func(i int) float64 { return l.Means[i] })) {
			c.path(tasterStroke, part)
		}
	}
	curve := w.answer.Curve
	area := w.line(c, func(i int) float64 { return curve[i].Upper })
	down := w.line(c, func(i int) float64 { return curve[i].Lower })
	slices.Reverse(down)
	c.shape(thin(window, .16), inside.ClipPolygonY(append(area, down...)))
	for _, part := range inside.ClipLinesY(w.line(c, func(i int) float64 { return curve[i].Mean })) {
		c.path(meanStroke, part)
	}
}

// inside is the part of the data area that the scale takes; the rail lies below it.
func (w *ageCurve) inside(c *pen) draw.Canvas {
	part := c.Canvas
	part.Min.Y, part.Max.Y = c.y(w.low), c.y(w.high)
	return part
}

// line gives the points of a curve on the ages of the average taster's, those closer than a pixel and a half left out.
func (w *ageCurve) line(c *pen, value func(i int) float64) []vg.Point {
	out := make([]vg.Point, 0, 360)
	n := len(w.answer.Curve)
	for i := range n {
		x := c.x(w.answer.Curve[i].AgeMin)
		if i > 0 && i < n-1 && x-out[len(out)-1].X < 1.5 {
			continue
		}
		out = append(out, vg.Point{X: x, Y: c.y(value(i))})
	}
	return out
}

// drawWindow draws the stretches of the prime limit at which the curve is at its best, a dot where the main one begins or
// ends between two ages tasted, and a thread from there to the rail.
func (w *ageCurve) drawWindow(c *pen, rail bool) {
	m := &w.answer.Main
	if !w.answer.Limit.Finite() {
		return
	}
	y := c.y(w.answer.Limit.Float())
	for _, o := range m.Others {
		c.line(againStroke, c.x(o.From), y, c.x(o.To), y)
	}
	from, to, some := span(m, w.first, w.last)
	if !some {
		if m.Status == answer.Never && m.Highest >= w.low && m.Highest <= w.high {
			c.ring(meanStroke, c.x(m.HighestAt), c.y(m.Highest), dotR-1)
		}
		return
	}
	c.line(windowStroke, c.x(from), y, c.x(to), y)
	var ends []float64
	if late(m, w.first) {
		ends = append(ends, from)
	}
	if m.To.Finite() && to < w.last {
		ends = append(ends, to)
	}
	for _, age := range ends {
		if rail {
			c.line(threadStroke, c.x(age), y, c.x(age), c.Min.Y+4)
		}
		c.disc(window, c.x(age), y, dotR)
	}
}
