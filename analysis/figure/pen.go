package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pen draws on one data area. x and y give the place of minutes and of values; offsets from there are pixels, y upward.
type pen struct {
	draw.Canvas
	x, y func(float64) vg.Length
}

// Sizes of marks, px.
const (
	capHalf  = 4.0 // half of the stroke across a whisker's end
	arrowLen = 6.0
	dotR     = 5.0 // the dot of an estimate
	rawR     = 2.1 // a raw datum
	diamondR = 4.5 // half of the diamond of one evening or batch
	replyR   = 3.6
)

// line draws one straight stroke.
func (c *pen) line(s draw.LineStyle, x0, y0, x1, y1 vg.Length) { c.StrokeLine2(s, x0, y0, x1, y1) }

// path strokes a chain of points, shape fills the area in it.
func (c *pen) path(s draw.LineStyle, points []vg.Point) { c.StrokeLines(s, points) }
func (c *pen) shape(ink color.Color, points []vg.Point) { c.FillPolygon(ink, points) }

// triangle draws an open triangle whose lower corner points at (x, y): told from a fresh one.
func (c *pen) triangle(x, y, size vg.Length) {
	corners := []vg.Point{{X: x, Y: y}, {X: x - size*.6, Y: y + size}, {X: x + size*.6, Y: y + size}, {X: x, Y: y}}
	c.shape(paper, corners)
	c.path(tellingStroke, corners)
	c.path(triangleEdge, corners) // the ink alone is too faint on paper
}

// box gives the corners of a rectangle.
func box(x0, y0, x1, y1 vg.Length) []vg.Point {
	return []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}, {X: x0, Y: y0}}
}

// disc fills a circle; ring fills one with paper and strokes it.
func (c *pen) disc(ink color.Color, x, y, r vg.Length) {
	c.SetColor(ink)
	c.Fill(circle(x, y, r))
}

func (c *pen) ring(s draw.LineStyle, x, y, r vg.Length) {
	c.disc(paper, x, y, r)
	c.SetLineStyle(s)
	c.Stroke(circle(x, y, r))
}

func circle(x, y, r vg.Length) vg.Path {
	var p vg.Path
	p.Move(vg.Point{X: x + r, Y: y})
	p.Arc(vg.Point{X: x, Y: y}, r, 0, 2*math.Pi)
	p.Close()
	return p
}

// dots fills many circles as one path: where they overlap the ink does not darken, and the file stays small.
func (c *pen) dots(ink color.Color, r vg.Length, at []vg.Point) {
	if len(at) == 0 {
		return
	}
	var p vg.Path
	for _, pt := range at {
		p = append(p, circle(pt.X, pt.Y, r)...)
	}
	c.SetColor(ink)
	c.Fill(p)
}

// end of a whisker or bar.
type end int

const (
	capped end = iota // a stroke across: the number is there
	bare              // nothing
	open              // an arrow head: it goes on
)

// whisker draws a line from x0 to x1 at height y, each end as told.
func (c *pen) whisker(s draw.LineStyle, x0, x1, y vg.Length, left, right end) {
	c.line(s, x0, y, x1, y)
	c.tip(s, x0, y, left, -1)
	c.tip(s, x1, y, right, 1)
}

// tip draws one end; toward is -1 to the left and 1 to the right.
func (c *pen) tip(s draw.LineStyle, x, y vg.Length, e end, toward vg.Length) {
	switch e {
	case capped:
		c.line(s, x, y-capHalf, x, y+capHalf)
	case open:
		back := x - toward*arrowLen
		c.shape(s.Color, []vg.Point{{X: x, Y: y}, {X: back, Y: y + capHalf}, {X: back, Y: y - capHalf}})
	}
}

// estimate draws a dot, and a thick bar where the estimate is an interval wider than a dot; hollow ones are outlined.
func (c *pen) estimate(ink color.Color, from, to, y vg.Length, hollow bool) {
	s := stroke(ink, 1.8)
	switch narrow := to-from < 2*dotR; {
	case narrow && hollow:
		c.ring(s, (from+to)/2, y, dotR-1)
		return
	case hollow:
		c.shape(paper, box(from, y-dotR+2, to, y+dotR-2))
		c.path(s, box(from, y-dotR+2, to, y+dotR-2))
		return
	case narrow:
		c.disc(ink, (from+to)/2, y, dotR)
		return
	}
	c.shape(ink, box(from, y-dotR+1, to, y+dotR-1))
}

// screen lays dots over a rectangle: rows of short dashes, every other row shifted, as a pattern would need a name in the
// file and two figures of one page could then clash.
func (c *pen) screen(ink color.Color, x0, y0, x1, y1 vg.Length) {
	const pitch, dot = 4, 1.7
	row := 0
	for y := y0 + pitch/2; y < y1; y += pitch {
		s := stroke(ink, dot, dot, pitch-dot)
		start := x0 + 1
		if row%2 == 1 {
			start += pitch / 2
		}
		if start < x1 {
			c.line(s, start, y, x1, y)
		}
		row++
	}
}

// hatch strokes a rectangle with diagonals: ages that nobody tasted.
func (c *pen) hatch(x0, y0, x1, y1 vg.Length) {
	const pitch = 6
	high := y1 - y0
	var p vg.Path
	for x := x0 - high; x < x1; x += pitch {
		a, b := x, x+high // from (a, y0) up to (b, y1), clipped to the rectangle
		if from, to := max(a, x0), min(b, x1); from < to {
			p.Move(vg.Point{X: from, Y: y0 + from - a})
			p.Line(vg.Point{X: to, Y: y0 + to - a})
		}
	}
	c.SetLineStyle(hatchStroke)
	c.Stroke(p)
}

// text writes one line with its baseline at y; align 0 begins at x, .5 is centred on it, 1 ends there.
func (c *pen) text(l lettering, x, y vg.Length, align float64, s string) {
	if s == "" {
		return
	}
	c.SetColor(l.ink)
	c.FillString(l.face, vg.Point{X: x - vg.Length(align*l.width(s)), Y: y}, s)
}

// onPaper writes one line on a piece of paper, so that no mark runs through it.
func (c *pen) onPaper(l lettering, x, y vg.Length, align float64, s string) {
	if s == "" {
		return
	}
	w := vg.Length(l.width(s))
	x -= vg.Length(align) * w
	c.shape(thin(paper, .86), box(x-2, y-3, x+w+2, y+10))
	c.text(l, x, y, 0, s)
}
