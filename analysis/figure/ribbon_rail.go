package figure

import (
	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// rail draws the tasters of a small panel, then one in ten and half of the tasters.
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
	for _, q := range b.quantiles {
		b.panel.mark(func(c *pen) { c.quantile(within(q.Quantile, b.sheet.end), b.data.LastAge, c.y(-q.row), q.hollow) })
		b.panel.letter(func(c *pen) { c.besides(c.x(q.end(b.data.LastAge, b.sheet.end)), c.y(-q.row), q.words()) })
	}
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
	c.alongside(x0, x1, y, label)
}

// words stand beside the whisker; end is the age at which that ends on an axis to axis.
func (q *railQuantile) words() string {
	if words := quantileWords(q.Quantile); words != "" {
		return q.name + ": " + words
	}
	return q.name + ": not told by this panel"
}

func (q *railQuantile) end(last, axis float64) float64 {
	if q.Upper.Finite() && q.Upper.Float() <= axis {
		return q.Upper.Float()
	}
	return last
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
