package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

const (
	residualHeight = 150.0 // px
	mostApart      = 3     // of the largest residuals, this many are named
)

// Residuals draws what the age curve of a prime window leaves over: on top against the fitted score, about a line at none, the
// largest named by taster and age; below in order of size against the quantiles of a normal law at (i - 3/8)/(n + 1/4) (Blom
// 1958, Statistical Estimates and Transformed Beta-Variables), with the line through both quartiles. width is Wide (also for 0)
// or Narrow.
func Residuals(a *answer.PrimeWindow, width int) (*Figure, error) {
	if width == 0 {
		width = Wide
	}
	if width != Wide && width != Narrow {
		return nil, fmt.Errorf("figure: width %d: want %d or %d", width, Wide, Narrow)
	}
	if a == nil || len(a.Residuals) < 3 {
		return nil, fmt.Errorf("residuals: %w: fewer than three", ErrNoFigure)
	}
	s := newSheet(&answer.Head{}, width, 0)
	s.axis = ""
	for _, r := range a.Residuals {
		s.need("a residual or its fitted score", r.Fitted, r.Residual, r.AgeMin)
	}
	if s.err != nil {
		return nil, s.err
	}
	d := newLeftOver(a)
	d.againstFitted(s)
	d.againstNormal(s)
	return s.finish(d.alt(a))
}

// leftOver are the residuals laid out.
type leftOver struct {
	rows              []answer.Residual // in order of size
	quantiles         []float64         // of a standard normal law
	slope, intercept  float64           // of the line through the quartiles
	least, most       float64           // fitted
	low, high, spread float64           // ends of the y axis; root mean square
}

func newLeftOver(a *answer.PrimeWindow) *leftOver {
	d := &leftOver{rows: slices.Clone(a.Residuals), least: math.Inf(1), most: math.Inf(-1)}
	slices.SortStableFunc(d.rows, func(x, y answer.Residual) int { return cmp.Compare(x.Residual, y.Residual) })
	n := float64(len(d.rows))
	for i, r := range d.rows {
		d.quantiles = append(d.quantiles, normalQuantile((float64(i)+1-.375)/(n+.25)))
		d.least, d.most = min(d.least, r.Fitted), max(d.most, r.Fitted)
		d.spread += r.Residual * r.Residual / n
	}
	d.spread = math.Sqrt(d.spread)
	lower, upper := d.quartile(.25), d.quartile(.75)
	d.slope = (upper - lower) / (2 * normalQuantile(.75))
	d.intercept = (upper + lower) / 2
	d.low, d.high = min(d.rows[0].Residual, 0), max(d.rows[len(d.rows)-1].Residual, 0)
	if d.low == d.high {
		d.low, d.high = -1, 1
	}
	d.low, d.high = padded(d.low, d.high)
	return d
}

// normalQuantile is the standard normal quantile of p.
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// quartile is the type-7 quantile (Hyndman and Fan 1996).
func (d *leftOver) quartile(p float64) float64 {
	h := float64(len(d.rows)-1) * p
	i := int(h)
	if i+1 == len(d.rows) {
		return d.rows[i].Residual
	}
	return d.rows[i].Residual + (h-float64(i))*(d.rows[i+1].Residual-d.rows[i].Residual)
}

// padded leaves room at both ends of an axis.
func padded(low, high float64) (from, to float64) {
	pad := .06 * (high - low)
	if pad == 0 {
		pad = max(math.Abs(high)*.1, .5)
	}
	return low - pad, high + pad
}

// againstFitted is the upper panel.
func (d *leftOver) againstFitted(s *sheet) {
	p := s.panel(31, residualHeight, d.low, d.high)
	low, high := padded(d.least, d.most)
	if mid := (low + high) / 2; high-low < 1 { // a tenth of a point is no difference to spread over the paper
		low, high = mid-.5, mid+.5
	}
	p.over("fitted, points", low, high)
	p.name("left over by the curve of each taster, points")
	p.mark(func(c *pen) {
		c.line(halfStroke, c.Min.X, c.y(0), c.Max.X, c.y(0))
		at := make([]vg.Point, len(d.rows))
		for i, r := range d.rows {
			at[i] = vg.Point{X: c.x(r.Fitted), Y: c.y(r.Residual)}
		}
		c.dots(thin(ink, .45), rawR, at)
	})
	p.letter(func(c *pen) {
		c.roundZero(d.low, d.high)
		d.nameLargest(c)
	})
}

// roundZero writes round numbers on a y axis, 0 among them.
func (c *pen) roundZero(low, high float64) {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/4)))
	for _, more := range []float64{2, 2.5, 2} { // 1, 2, 5, 10: three to eight steps
		if (high-low)/step > 8 {
			step *= more
		}
	}
	for k := math.Ceil(low / step); k*step <= high; k++ {
		y := c.y(k * step)
		c.line(ruleStroke, c.Min.X-6, y, c.Min.X, y)
		c.text(tickText, c.Min.X-10, y-4, 1, strconv.FormatFloat(k*step+0, 'g', 4, 64)) // + 0: no negative zero
	}
}

// nameLargest writes taster and age beside the largest residuals, as far as they keep apart.
func (d *leftOver) nameLargest(c *pen) {
	var taken []rect
	for _, r := range d.largest() {
		said := tickText.fit(clean(r.Taster), 90) + " at " + tenths(r.AgeMin)
		x, y, wide := float64(c.x(r.Fitted)), float64(c.y(r.Residual)), tickText.width(said)
		at := rect{x + 6, y - 7, x + 6 + wide, y + 7}
		if at.x1 > float64(c.Max.X) {
			at.x0, at.x1 = x-6-wide, x-6
		}
		if slices.ContainsFunc(taken, at.meets) {
			continue
		}
		taken = append(taken, at)
		c.onPaper(tickText, vg.Length(at.x0), vg.Length(y-4), 0, said)
	}
}

// largest are the residuals furthest from none, if twice the root mean square away.
func (d *leftOver) largest() []answer.Residual {
	out := slices.Clone(d.rows)
	slices.SortStableFunc(out, func(x, y answer.Residual) int { return -cmp.Compare(math.Abs(x.Residual), math.Abs(y.Residual)) })
	out = out[:min(mostApart, len(out))]
	return slices.DeleteFunc(out, func(r answer.Residual) bool { return math.Abs(r.Residual) <= 2*d.spread })
}

// againstNormal is the lower panel.
func (d *leftOver) againstNormal(s *sheet) {
	s.height += nameRoom
	p := s.panel(30, residualHeight, d.low, d.high)
	low, high := padded(d.quantiles[0], d.quantiles[len(d.quantiles)-1])
	p.over("normal quantile", low, high)
	p.own.ticks = nil
	for t := math.Ceil(low); t <= high; t++ {
		p.own.ticks = append(p.own.ticks, t+0) // no negative zero
	}
	p.name("the same in order of size, points")
	p.mark(func(c *pen) {
		x0, x1 := p.X.Min, p.X.Max
		line := []vg.Point{{X: c.x(x0), Y: c.y(d.intercept + d.slope*x0)}, {X: c.x(x1), Y: c.y(d.intercept + d.slope*x1)}}
		for _, part := range c.ClipLinesY(line) {
			c.path(alikeStroke, part)
		}
		at := make([]vg.Point, len(d.rows))
		for i, r := range d.rows {
			at[i] = vg.Point{X: c.x(d.quantiles[i]), Y: c.y(r.Residual)}
		}
		c.dots(thin(ink, .45), rawR, at)
	})
	p.letter(func(c *pen) { c.roundZero(d.low, d.high) })
}

// alt says what the figure shows.
func (d *leftOver) alt(a *answer.PrimeWindow) string {
	far := ""
	if largest := d.largest(); len(largest) > 0 {
		var list []string
		for _, r := range largest {
			list = append(list, fmt.Sprintf("%s (%s at %s)", tenths(r.Residual), clean(r.Taster), tenths(r.AgeMin)))
		}
		far = "; farthest from none: " + strings.Join(list, ", ")
	}
	return fmt.Sprintf("What the age curve of %s leaves over, %d scores: against the fitted score, from %s to %s points, and in order of size against normal quantiles. Root mean square %s points; a quarter lie below %s and a quarter above %s%s.",
		a.Title, len(d.rows), tenths(d.least), tenths(d.most), points(d.spread), points(d.quartile(.25)), points(d.quartile(.75)), far)
}
