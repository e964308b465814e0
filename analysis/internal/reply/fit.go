package reply

import (
	"math"
	"slices"
)

// scale is the range of log ages, at least 1, in which distances on the line of log ages are measured.
func (p *Problem) scale() float64 {
	if p.oldest > p.youngest {
		return max(1, p.oldest-p.youngest)
	}
	return 1
}

// Bounds of lambda: a spread that no two ages can tell from none, and one beside which all ages are one.
func (p *Problem) lambdas() (lo, hi float64) {
	gap := min(p.gap, 1)
	return math.Log(gap / 1000), math.Log(p.scale() * 1e5)
}

func (p *Problem) reachOf() float64 { return math.Log(p.scale()) }

// box bounds and caps the parameters.
func (p *Problem) box() box {
	n := p.Dim()
	b := box{make([]float64, n), make([]float64, n), make([]float64, n)}
	for j := range p.P {
		b.lo[j], b.hi[j], b.most[j] = math.Inf(-1), math.Inf(1), p.scale()
	}
	b.lo[p.P], b.hi[p.P] = p.lambdas()
	b.most[p.P] = 1
	for i := p.P + 1; i < n; i++ {
		b.hi[i], b.most[i] = math.Pi/2, 0.4
	}
	if p.Sharp {
		b.hi[p.P+1] = 0
	}
	return b
}

func (b box) without(i int) box {
	drop := func(x []float64) []float64 { return slices.Delete(slices.Clone(x), i, i+1) }
	return box{drop(b.lo), drop(b.hi), drop(b.most)}
}

// into moves y into the box.
func (b box) into(y []float64) {
	for i := range y {
		y[i] = min(max(y[i], b.lo[i]), b.hi[i])
	}
}

// Maximum is the best point found.
type Maximum struct {
	V         []float64
	Value     float64
	Steps     int
	Converged bool
}

// Ascents to the maximum end when a step promises less than this.
const fitTol = 1e-12

// Maximise climbs from several starts: the most promising of a grid of spreads about crude limits, and the steps themselves
// (theta = 0). Where an edge is as good as the best, as theta = 0 is on the ridge where ages are far apart beside tau, it is
// taken.
func (p *Problem) Maximise(most int) Maximum {
	w, n := &Space{}, p.Dim()
	c, b := newClimber(n), p.box()
	f := func(y, g, h []float64) float64 { return p.Eval(w, y, g, h) }
	best := Maximum{Value: math.Inf(-1)}
	for _, start := range p.starts(w) {
		b.into(start)
		c.shun = best.V
		t := c.ascend(f, start, b, fitTol, most)
		best.Steps += t.steps
		if !t.shunned && t.value > best.Value+1e-9 {
			best.V, best.Value, best.Converged = start, t.value, t.converged
		}
	}
	c.shun = nil
	if best.V == nil {
		return best
	}
	p.edges(f, c, b, &best, most)
	return best
}

// edges tries the bounds of the angles: where one of them is as good as the best, it is taken; and from a bound, where the
// slope may be 0 though it is no maximum, the ascent is tried again a little inside.
func (p *Problem) edges(f hill, c *climber, b box, best *Maximum, most int) {
	for i := p.P + 1; i < p.Dim(); i++ {
		for _, edge := range []float64{b.lo[i], b.hi[i]} {
			at := best.V[i]
			switch {
			case b.lo[i] == b.hi[i], edge > 0 && at < edge-1e-2:
				continue
			case at == edge:
				v := slices.Clone(best.V)
				v[i] = math.Abs(edge - 0.1)
				if p.Eval(&Space{}, v, nil, nil) > best.Value-1 {
					if t := c.ascend(f, v, b, fitTol, most); t.value > best.Value+1e-9 {
						best.V, best.Value, best.Converged = v, t.value, t.converged
					}
				}
			default:
				v, hold := slices.Clone(best.V), b
				v[i] = edge
				hold.lo, hold.hi = slices.Clone(b.lo), slices.Clone(b.hi)
				hold.lo[i], hold.hi[i] = edge, edge
				if t := c.ascend(f, v, hold, fitTol, most); t.value >= best.Value-1e-9 && t.converged {
					best.V, best.Value, best.Converged = v, max(t.value, best.Value), true
				}
			}
		}
	}
}
