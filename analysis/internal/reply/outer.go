package reply

import (
	"cmp"
	"math"
	"slices"
)

// joint is a cluster seen along u: the transitions of all its limits, and the probability on the cells between.
type joint struct {
	limit
	x     [][]float64 // covariates of each transition's limit
	jump  []float64   // of the joint probability there
	order []transition
}

type transition struct {
	at       float64
	member   int
	cell     int // of the member beyond it
	repeated bool
}

// set lays the transitions at log age - x'b.
func (j *joint) set(n *nested, c *cluster, b []float64) {
	j.order = j.order[:0]
	j.limit.top = 1
	value := 1.0
	for v, m := range c.members {
		g := n.groups[m.group]
		l := g.limits[m.number]
		mu := dot(g.row, b)
		for i, at := range l.at {
			j.order = append(j.order, transition{at - mu, v, i + 1, l.yes[i]+l.no[i] > 1})
		}
		j.limit.top *= l.top
	}
	slices.SortStableFunc(j.order, func(a, b transition) int { return cmp.Compare(a.at, b.at) })
	cells := make([]float64, len(c.members))
	for v, m := range c.members {
		cells[v] = n.groups[m.group].limits[m.number].cell[0]
		value *= cells[v]
	}
	j.at, j.yes, j.no, j.cell, j.x, j.jump = j.at[:0], j.yes[:0], j.no[:0], append(j.cell[:0], value), j.x[:0], j.jump[:0]
	for _, t := range j.order {
		m := c.members[t.member]
		g := n.groups[m.group]
		cells[t.member] = g.limits[m.number].cell[t.cell]
		next := 1.0
		for _, v := range cells {
			next *= v
		}
		count := 1
		if t.repeated {
			count = 2
		}
		j.at, j.yes, j.no = append(j.at, t.at), append(j.yes, count), append(j.no, 0)
		j.cell, j.x, j.jump = append(j.cell, next), append(j.x, g.row), append(j.jump, next-value)
		value = next
	}
}

func dot(x, b []float64) float64 {
	s := 0.0
	for i, v := range x {
		s += v * b[i]
	}
	return s
}

// closed adds the integral of the joint steps, each smoothed by the inner spread, to out: the steps at distance S.
func (j *joint) closed(t three, out *jet, deriv bool) {
	low, up, start := 0.0, 1.0, math.Inf(-1)
	c := [3]float64{t.omega * t.omega / (t.s * t.s), t.kappa * t.kappa / (t.s * t.s), t.tau * t.tau / (t.s * t.s)}
	for i, cell := range j.cell {
		nextLow, nextUp, b, d := 1.0, 0.0, math.Inf(1), 0.0
		if i < len(j.at) {
			b = j.at[i] / t.s
			nextLow, nextUp, d = both(b)
		}
		if start > 0 {
			out.l += cell * (up - nextUp)
		} else {
			out.l += cell * (nextLow - low)
		}
		if deriv && i < len(j.at) {
			d *= -j.jump[i]
			bd := b * d
			out.addSpread(j.x[i], c, -d/t.s, -bd, -bd/(t.s*t.s), (d-b*bd)/t.s, bd*(1-b*b))
		}
		low, up, start = nextLow, nextUp, b
	}
}

// soft takes the smoothed joint steps at u off out.
func (j *joint) soft(u float64, t three, reach float64, out *jet, deriv bool) {
	c := [3]float64{0, t.kappa * t.kappa / (t.inner * t.inner), t.tau * t.tau / (t.inner * t.inner)}
	value := j.cell[0]
	for i, at := range j.at {
		z := (u - at) / t.inner
		if z < -reach {
			break
		}
		if z > reach {
			value = j.cell[i+1]
			continue
		}
		lower, _, d := both(z)
		value += j.jump[i] * lower
		if deriv {
			d *= -j.jump[i]
			zd := z * d
			out.addSpread(j.x[i], c, d/t.inner, -zd, -zd/(t.inner*t.inner), -d*(1-z*z)/t.inner, zd*(1-z*z))
		}
	}
	out.l -= value
}
