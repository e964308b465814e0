package figure

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// stepped tells a headline whose curve is one fall: the data leave open where within a range of ages, or no spread is seen.
func stepped(h *answer.Headline) (q answer.Quantile, ok bool) {
	if q, ok = h.Quantile(.5); !ok || q.Beyond || !q.From.Finite() || !q.To.Finite() {
		return q, false
	}
	return q, !h.LogMedian.Finite() || !h.LogSD.Finite() || h.LogSD.Float() <= 0 || q.From.Float() < q.To.Float()
}

// leads tells whether a headline has a curve; one that did not converge has none.
func leads(h *answer.Headline) bool {
	if h == nil || h.Status == answer.NotConverged {
		return false
	}
	_, step := stepped(h)
	return step || h.LogMedian.Finite() && h.LogSD.Finite() && h.LogSD.Float() > 0
}

// headlineCurve draws the share going on that the headline assumes, up to the last age: 1 - Phi((log t - median)/sd), or a
// fall from all to none, in a box where the data leave open at which age.
func (p *panel) headlineCurve(h *answer.Headline, last float64) {
	if !leads(h) {
		return
	}
	if q, step := stepped(h); step {
		p.headlineStep(min(q.From.Float(), last), min(q.To.Float(), last), last)
		return
	}
	m, sd := h.LogMedian.Float(), h.LogSD.Float()
	const apart = 2.0 // px between points of the curve
	const z90 = 1.2815515655446004
	ages := []float64{0, last}
	for x := apart; p.sheet.left+x < p.sheet.px(last); x += apart {
		ages = append(ages, p.sheet.age(p.sheet.left+x))
	}
	for _, mark := range []float64{math.Exp(m - z90*sd), math.Exp(m)} { // it crosses the levels at their marks
		if mark < last {
			ages = append(ages, mark)
		}
	}
	slices.Sort(ages)
	p.mark(func(c *pen) {
		line := make([]vg.Point, len(ages))
		for i, t := range ages {
			line[i] = vg.Point{X: c.x(t), Y: c.y(math.Erfc((math.Log(t)-m)/sd/math.Sqrt2) / 2)}
		}
		c.path(curveStroke, line)
	})
}

// headlineStep draws a fall between two ages.
func (p *panel) headlineStep(from, to, last float64) {
	p.mark(func(c *pen) {
		x0, x1, all, none := c.x(from), c.x(to), c.y(1), c.y(0)
		if from == to {
			c.path(curveStroke, []vg.Point{{X: c.x(0), Y: all}, {X: x0, Y: all}, {X: x0, Y: none}, {X: c.x(last), Y: none}})
			return
		}
		c.shape(thin(leaving, .14), box(x0, none, x1, all))
		c.path(fallStroke, box(x0, none, x1, all))
		c.line(curveStroke, c.x(0), all, x0, all)
		c.line(curveStroke, x1, none, c.x(last), none)
	})
}

// limitBand shades the limits of the headline's share, joined from age step to age step on the scale on which its curve is a
// straight line: normal quantile of the share against log age. So the curve does not leave its band between two steps. About
// a fall they are joined by lines.
func (p *panel) limitBand(h *answer.Headline) {
	if h == nil || h.Status == answer.NotConverged || len(h.Shares) < 2 {
		return
	}
	for _, sh := range h.Shares {
		p.sheet.need("a share of the headline, its age or its limit", sh.AgeMin, sh.Share, sh.Lower, sh.Upper)
	}
	_, step := stepped(h)
	p.mark(func(c *pen) {
		lower, upper := c.bandEdge(h.Shares, false, !step), c.bandEdge(h.Shares, true, !step)
		area := slices.Clone(upper)
		slices.Reverse(lower)
		c.shape(thin(leaving, .1), append(area, lower...))
		c.path(bandStroke, upper)
		c.path(bandStroke, lower)
	})
}

// bandEdge gives the points of one edge of the band, on a curve about 4 px apart.
func (c *pen) bandEdge(shares []answer.ModelShare, upper, curved bool) []vg.Point {
	limit := func(sh answer.ModelShare) float64 {
		if upper {
			return sh.Upper
		}
		return sh.Lower
	}
	probit := func(share float64) float64 { // bounded: beyond that it is all or none to the eye
		share = min(max(share, 1e-4), 1-1e-4)
		return math.Sqrt2 * math.Erfinv(2*share-1)
	}
	out := []vg.Point{{X: c.x(shares[0].AgeMin), Y: c.y(limit(shares[0]))}}
	for i := 1; i < len(shares); i++ {
		a, b := shares[i-1], shares[i]
		if curved && a.AgeMin > 0 {
			pa, pb := probit(limit(a)), probit(limit(b))
			parts := int((c.x(b.AgeMin) - c.x(a.AgeMin)) / 4)
			for k := 1; k < parts; k++ {
				t := a.AgeMin + (b.AgeMin-a.AgeMin)*float64(k)/float64(parts)
				f := math.Log(t/a.AgeMin) / math.Log(b.AgeMin/a.AgeMin)
				out = append(out, vg.Point{X: c.x(t), Y: c.y(math.Erfc(-(pa+f*(pb-pa))/math.Sqrt2) / 2)})
			}
		}
		out = append(out, vg.Point{X: c.x(b.AgeMin), Y: c.y(limit(b))})
	}
	return out
}
