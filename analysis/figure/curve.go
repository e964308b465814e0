package figure

import (
	"math"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// turnbull draws the curve without a family from 0 to the last age: a line where the data decide it, a dashed box round each
// set of ages in which they leave open where its mass falls. The upper line of the curve runs along a box's top and right
// (all mass at its right end), the lower one along its left and bottom. Where the last set opens at the last age the curve ends in
// an arrow: those tasters had not left it when they were last seen. Sets are in order of age and do not overlap. muted sets it
// back behind a curve that leads.
func (p *panel) turnbull(sets []answer.Set, last float64, muted bool) {
	if len(sets) == 0 {
		return
	}
	type step struct{ l, r, above, below float64 }
	var steps []step
	share := 1.0
	for _, set := range sets {
		if set.R.Open() && set.L.Float() >= last { // not left when last seen: the curve ends there, undecided
			p.sheet.need("the last look of the curve", set.L.Float(), set.Mass)
			steps = append(steps, step{set.L.Float(), math.Inf(1), share, share})
			break
		}
		r := last
		if set.R.Finite() {
			r = set.R.Float()
		}
		p.sheet.need("an end or the mass of one of the curve's sets", set.L.Float(), r, set.Mass)
		below := max(share-set.Mass, 0)
		steps = append(steps, step{set.L.Float(), max(r, set.L.Float()), share, below})
		share = below
	}
	line := curveStroke
	if muted {
		line = mutedStroke
	}
	p.mark(func(c *pen) {
		known := [][]vg.Point{{{X: c.x(0), Y: c.y(1)}}}
		for _, st := range steps {
			l, a, b := c.x(st.l), c.y(st.above), c.y(st.below)
			i := len(known) - 1
			known[i] = append(known[i], vg.Point{X: l, Y: a})
			if math.IsInf(st.r, 1) {
				tip := max(c.x(last), l) + arrowLen + 8
				c.whisker(line, l, tip, a, bare, open)
				continue
			}
			r := c.x(st.r)
			if st.l == st.r {
				known[i] = append(known[i], vg.Point{X: l, Y: b})
				continue
			}
			if !muted {
				c.shape(thin(leaving, .14), box(l, b, r, a))
			}
			c.path(boxStroke, box(l, b, r, a))
			known = append(known, []vg.Point{{X: r, Y: b}})
		}
		if i := len(known) - 1; !sets[len(sets)-1].R.Open() {
			known[i] = append(known[i], vg.Point{X: c.x(last), Y: c.y(share)})
		}
		for _, stretch := range known {
			if len(stretch) > 1 {
				c.path(line, stretch)
			}
		}
	})
}

// exactLimits draws the Clopper-Pearson limits of the share at each age step.
func (p *panel) exactLimits(shares []answer.Share) {
	for _, sh := range shares {
		p.sheet.need("a share's age or limit", sh.AgeMin, sh.Lower, sh.Upper)
	}
	p.mark(func(c *pen) {
		for _, sh := range shares {
			x, lo, hi := c.x(sh.AgeMin), c.y(sh.Lower), c.y(sh.Upper)
			c.line(barStroke, x, lo, x, hi)
			c.line(barStroke, x-3, lo, x+3, lo)
			c.line(barStroke, x-3, hi, x+3, hi)
		}
	})
}
