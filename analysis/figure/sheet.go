package figure

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastsip/analysis/answer"
)

const (
	tickRoom = 20 // px below a data area for the numbers of its ticks
	nameRoom = 17 // px more for the axis' name, below the last one
	actOver  = 4  // px by which the act's line stands out above a data area
)

// sheet stacks panels over one axis: of minutes from 0, but where tickWord is set.
type sheet struct {
	width, height float64 // px
	left, right   float64 // px: the axis' begin and end
	begin, end    float64 // min
	reach         float64 // the end of an arrow on an axis that leaves room for words after it
	ticks         []float64
	axis          string               // its name
	tickWord      func(float64) string // writes a tick; nil: the number
	act           answer.Num
	panels        []*panel
	err           error // the first coordinate that was not a number
}

// panel is one data area on a sheet, drawn as a gonum plot without axes of its own.
type panel struct {
	*plot.Plot
	sheet       *sheet
	top, height float64        // px from the sheet's top to the data area, and its height
	letters     []plot.Plotter // drawn last, so that no line crosses a word
	own         *ownAxis       // nil: the sheet's axis
}

// ownAxis is the x axis of a panel that does not stand on the sheet's.
type ownAxis struct {
	name  string
	ticks []float64
	word  func(float64) string // writes a tick
}

// newSheet begins a figure. far is the largest age that will be drawn; an axis that ends before it is made longer, as no
// datum may fall off the paper.
func newSheet(h *answer.Head, width int, far float64) *sheet {
	s := &sheet{width: float64(width), act: h.Act, end: h.AxisEnd, axis: "minutes since it was made"}
	s.left, s.right = margins(width)
	if h.Act.Finite() {
		far = max(far, h.Act.Float())
	}
	if !(s.end >= far) { // an axis end that is not a number fails here too
		s.end = math.Ceil(far/2) * 2
	}
	if s.end <= 0 {
		s.end = 2
	}
	s.ticks = ticks(s.end, width)
	return s
}

// narrow tells a figure for a phone.
func (s *sheet) narrow() bool { return s.width == Narrow }

// px is the place of an age, from the sheet's left.
func (s *sheet) px(age float64) float64 {
	return s.left + (s.right-s.left)*(age-s.begin)/(s.end-s.begin)
}

// age is the age at a place in px.
func (s *sheet) age(px float64) float64 {
	return s.begin + (px-s.left)/(s.right-s.left)*(s.end-s.begin)
}

// panel adds a data area of the given height, above px below what is there already, its y axis from low to high.
func (s *sheet) panel(above, height, low, high float64) *panel {
	p := &panel{Plot: plot.New(), sheet: s, top: s.height + above, height: height}
	p.HideAxes()
	p.X.Padding, p.Y.Padding = 0, 0 // the data area is the whole area: same left edge everywhere
	p.BackgroundColor = nil         // the sheet is painted once
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = s.begin, s.end, low, high
	s.height = p.top + height + tickRoom
	s.panels = append(s.panels, p)
	p.mark(p.drawRules)
	return p
}

// rows adds a data area whose y axis is pixels down from its top, as negative numbers: row 10 is y(-10).
func (s *sheet) rows(above, height float64) *panel { return s.panel(above, height, -height, 0) }

// over gives a panel an x axis of its own, with some ten round numbers at the most.
func (p *panel) over(name string, low, high float64) {
	p.X.Min, p.X.Max = low, high
	p.own = &ownAxis{name: name, word: points}
	for _, t := range (plot.DefaultTicks{}).Ticks(low, high) {
		if !t.IsMinor() && t.Value >= low && t.Value <= high {
			p.own.ticks = append(p.own.ticks, t.Value)
		}
	}
}

// close adds what every figure has: the act's line above all marks, then lettering, then the axis' name.
func (s *sheet) close() {
	for i, p := range s.panels {
		if s.act.Finite() {
			p.mark(p.drawAct)
		}
		p.Add(p.letters...)
		name := ""
		if i == len(s.panels)-1 {
			name = s.axis
		}
		if p.own != nil {
			name = p.own.name
		}
		p.mark(func(c *pen) { c.text(tickText, c.Max.X, c.Min.Y-31, 1, name) })
	}
	s.height += nameRoom
}

// draw puts the sheet on a canvas as large as the sheet, in points.
func (s *sheet) draw(c vg.Canvas) {
	whole := draw.Canvas{Canvas: c, Rectangle: vg.Rectangle{Max: vg.Point{X: vg.Length(s.width), Y: vg.Length(s.height)}}}
	whole.SetColor(paper)
	whole.Fill(whole.Rectangle.Path())
	for _, p := range s.panels {
		below := s.height - p.top - p.height
		p.Draw(draw.Canvas{Canvas: c, Rectangle: vg.Rectangle{
			Min: vg.Point{X: vg.Length(s.left), Y: vg.Length(below)},
			Max: vg.Point{X: vg.Length(s.right), Y: vg.Length(below + p.height)},
		}})
	}
}

// drawRules draws the faint rules at the ticks and their numbers.
func (p *panel) drawRules(c *pen) {
	at, write := p.sheet.ticks, p.sheet.tickWord
	if p.own != nil {
		at, write = p.own.ticks, p.own.word
	}
	for _, t := range at {
		x := c.x(t)
		c.line(ruleStroke, x, c.Min.Y, x, c.Max.Y)
		word := strconv.FormatFloat(t, 'g', -1, 64)
		if write != nil {
			word = write(t)
		}
		c.text(tickText, x, c.Min.Y-15, .5, word)
	}
}

// drawAct draws the act's line through the data area.
func (p *panel) drawAct(c *pen) {
	x := c.x(p.sheet.act.Float())
	c.line(actStroke, x, c.Max.Y+actOver, x, c.Min.Y)
}

// mark adds something to draw, letter something to draw above all marks.
func (p *panel) mark(m func(*pen))   { p.Add(plotter(m)) }
func (p *panel) letter(m func(*pen)) { p.letters = append(p.letters, plotter(m)) }

// plotter lets a function stand as a plot.Plotter.
type plotter func(*pen)

// Plot implements plot.Plotter.
func (m plotter) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	m(&pen{Canvas: c, x: x, y: y})
}

// need refuses a coordinate that is not a finite number; finish returns the first such fault.
func (s *sheet) need(what string, values ...float64) {
	for _, v := range values {
		if s.err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
			s.err = fmt.Errorf("figure: %s is %v, which has no place on its axis: want a finite number", what, v)
		}
	}
}

// ticks gives the minutes that carry a number: every 2 (4 on a phone), closer on short axes, wider on long ones, so that
// there are four to eight steps (two to five on a phone).
func ticks(end float64, width int) []float64 {
	usual, fewest, most := 2.0, 4.0, 8.0
	if width == Narrow {
		usual, fewest, most = 4, 2, 5
	}
	step := usual
	for end/step < fewest { // end > 0
		step /= 2
	}
	for _, s := range []float64{4, 5, 10, 15, 20, 30, 60} {
		if end/step > most {
			step = s
		}
	}
	for end/step > most {
		step *= 2
	}
	var out []float64
	for i := 0; float64(i)*step <= end*(1+1e-9); i++ {
		out = append(out, float64(i)*step)
	}
	return out
}
