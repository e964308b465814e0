package reply

import "math"

// box bounds parameters, and steps caps one step of each.
type box struct{ lo, hi, most []float64 }

// hill is a function to be climbed: its value at y and, into g and h, its gradient and Hessian (by rows).
type hill func(y, g, h []float64) float64

// climber is the memory of one ascent.
type climber struct {
	g, h, g2, h2, d, next, chol []float64
	free                        []int
	shun                        []float64 // a known hump: an ascent that comes near ends
	theta                       int       // which coordinate is theta
	flat                        float64   // coordinates along which a largest step could not gain this stay where they are
	need                        float64   // an ascent ends where not even three times what a step promises reaches it
}

func newClimber(n, theta int) *climber {
	f := func(k int) []float64 { return make([]float64, k) }
	return &climber{f(n), f(n * n), f(n), f(n * n), f(n), f(n), f(n * n), make([]int, 0, n), nil, theta, 0, math.Inf(-1)}
}

// top is where an ascent ended.
type top struct {
	value, gain float64 // reached, and what a further Newton step promises
	steps       int
	converged   bool
	shunned     bool // ended near the known hump, or without hope
}

// ascend takes damped Newton steps from y (changed) within the box until a step promises less than tol. Coordinates at a
// bound stay there while the gradient points outward. The Hessian is made negative definite by adding to its diagonal.
func (c *climber) ascend(f hill, y []float64, b box, tol float64, most int) top {
	value := f(y, c.g, c.h)
	t := top{value: value}
	damping, may := 0.0, true // may: leaps are tried until one fails
	for t.steps = 0; t.steps < most; t.steps++ {
		if math.IsInf(value, -1) || math.IsNaN(value) {
			break
		}
		if t.shunned = t.steps > 0 && c.near(y, b); t.shunned {
			break
		}
		c.release(y, b)
		used := c.direction(damping)
		t.gain = 0
		for i, d := range c.d {
			t.gain += d * c.g[i] / 2
		}
		if t.gain < tol {
			t.converged = true
			break
		}
		if t.shunned = used == 0 && t.gain < 0.3 && value+3*t.gain < c.need; t.shunned {
			break
		}
		better, leapt := math.Inf(-1), false
		if may {
			better, may = c.leap(f, y, b, value)
			leapt = may && better > value
		}
		if !leapt {
			better = c.search(f, y, b, value)
		}
		if better <= value {
			if used < 1e3 {
				damping = max(10*used, 1e-2)
				continue
			}
			t.converged = t.gain < 1e-6
			break
		}
		damping = used / 10
		if damping < 1e-4 {
			damping = 0
		}
		value = better
		copy(y, c.next)
		c.g, c.g2, c.h, c.h2 = c.g2, c.g, c.h2, c.h
	}
	t.value = value
	return t
}

// release lists the coordinates that may move.
func (c *climber) release(y []float64, b box) {
	c.free = c.free[:0]
	n := len(y)
	for i := range y {
		low, high := y[i] <= b.lo[i] && c.g[i] <= 0, y[i] >= b.hi[i] && c.g[i] >= 0
		flat := math.Abs(c.g[i]) < 1e-13 && math.Abs(c.h[i*n+i]) < 1e-9
		if m := b.most[i]; c.flat > 0 && !flat {
			flat = math.Abs(c.g[i])*m+math.Abs(c.h[i*n+i])*m*m/2 < c.flat
		}
		if !low && !high && !flat {
			c.free = append(c.free, i)
		}
	}
}

// direction solves (-H + damping D) d = g on the free coordinates, D the size of H's diagonal, and raises the damping until
// the matrix is positive definite. It tells the damping used.
func (c *climber) direction(damping float64) float64 {
	n := len(c.g)
	for {
		if c.solve(n, damping) {
			return damping
		}
		damping = max(4*damping, 1e-3)
		if damping > 1e12 {
			return damping
		}
	}
}

// solve is direction at one damping, by Cholesky; false where that fails.
func (c *climber) solve(n int, damping float64) bool {
	m := len(c.free)
	for a, i := range c.free {
		for b, j := range c.free[:a+1] {
			v := -c.h[i*n+j]
			if a == b {
				v += damping * max(math.Abs(c.h[i*n+i]), 1e-8+math.Abs(c.g[i]))
			}
			for k := range b {
				v -= c.chol[a*m+k] * c.chol[b*m+k]
			}
			if a > b {
				c.chol[a*m+b] = v / c.chol[b*m+b]
			} else if floor := 1e-12 * math.Abs(c.h[i*n+i]); v > floor {
				c.chol[a*m+a] = math.Sqrt(v)
			} else {
				return false
			}
		}
	}
	c.back(c.g, c.d)
	return true
}

// back solves for x with the last Cholesky factor: x is 0 but on the free coordinates.
func (c *climber) back(g, x []float64) {
	m := len(c.free)
	clear(x)
	for a, i := range c.free {
		v := g[i]
		for k := range a {
			v -= c.chol[a*m+k] * x[c.free[k]]
		}
		x[i] = v / c.chol[a*m+a]
	}
	for a := m - 1; a >= 0; a-- {
		v := x[c.free[a]]
		for k := a + 1; k < m; k++ {
			v -= c.chol[k*m+a] * x[c.free[k]]
		}
		x[c.free[a]] = v / c.chol[a*m+a]
	}
}

// leap tries theta = 0 at once where a step creeps towards it and little is at stake: below some noise the likelihood of
// separate ages is flat but for terms like exp(-1/theta^2), into which Newton steps only creep. True where that is higher.
func (c *climber) leap(f hill, y []float64, b box, value float64) (better float64, ok bool) {
	i := c.theta
	if !(y[i] > 0 && y[i] < 0.3 && c.g[i] < 0 && -c.g[i]*y[i] < 0.1 && c.d[i] < 0 && -c.d[i] < y[i]) {
		return math.Inf(-1), true
	}
	copy(c.next, y)
	for k, d := range c.d {
		if m := b.most[k]; math.Abs(d) <= m {
			c.next[k] += d
		}
	}
	c.next[i] = 0
	b.into(c.next)
	better = f(c.next, c.g2, c.h2)
	return better, better > value
}

// search goes along d, capped and kept in the box, halving until the value rises enough; next, g2 and h2 then belong to the
// point reached. It returns at most value where it does not rise.
func (c *climber) search(f hill, y []float64, b box, value float64) float64 {
	scale := 1.0
	for i, d := range c.d {
		if b.most[i] > 0 {
			scale = min(scale, b.most[i]/max(math.Abs(d), 1e-300))
		}
	}
	for range 8 {
		slope := 0.0
		for i, d := range c.d {
			c.next[i] = min(max(y[i]+scale*d, b.lo[i]), b.hi[i])
			slope += (c.next[i] - y[i]) * c.g[i]
		}
		v := f(c.next, c.g2, c.h2)
		if v > value+1e-4*slope && slope > 0 {
			return v
		}
		scale *= 0.3
	}
	return math.Inf(-1)
}

// near tells whether y lies within a fortieth of a largest step of the known hump.
func (c *climber) near(y []float64, b box) bool {
	if c.shun == nil {
		return false
	}
	for i, v := range y {
		if math.Abs(v-c.shun[i]) > b.most[i]/40 {
			return false
		}
	}
	return true
}
