package lmm

import (
	"math"
	"slices"
)

// simplex is the work space of a search without derivatives.
type simplex struct {
	x    [][]float64
	f    []float64
	mean []float64
	try  []float64
	alt  []float64
}

// simplex moves theta by Nelder and Mead's search with restarts: the way out where Newton steps got stuck.
func (m *minimiser) simplex() {
	k := len(m.theta)
	w := &m.sim
	if w.x == nil {
		for range k + 1 {
			w.x = append(w.x, make([]float64, k))
		}
		w.f, w.mean, w.try, w.alt = make([]float64, k+1), make([]float64, k), make([]float64, k), make([]float64, k)
	}
	for range 4 {
		was := m.f
		m.shrinkTo(400 * k)
		if was-m.f < 1e-9 {
			break
		}
	}
}

// shrinkTo runs one search from theta and keeps its best point.
func (m *minimiser) shrinkTo(limit int) {
	w, k := &m.sim, len(m.theta)
	eval := func(x []float64) float64 {
		m.canonical(x)
		f := m.value(x)
		if math.IsNaN(f) {
			return math.Inf(1)
		}
		return f
	}
	for i := range w.x {
		copy(w.x[i], m.theta)
		if i > 0 {
			w.x[i][i-1] += math.Max(0.2*math.Abs(m.theta[i-1]), 0.05)
		}
		w.f[i] = eval(w.x[i])
	}
	for stop := m.evaluations + limit; m.evaluations < stop; {
		order := make([]int, k+1)
		for i := range order {
			order[i] = i
		}
		slices.SortFunc(order, func(a, b int) int { return cmpFloat(w.f[a], w.f[b]) })
		best, second, worst := order[0], order[max(k-1, 0)], order[k]
		if !(w.f[worst]-w.f[best] > 1e-10) {
			break
		}
		clear(w.mean)
		for _, i := range order[:k] {
			axpy(1/float64(k), w.x[i], w.mean)
		}
		move := func(to []float64, by float64) float64 {
			for j := range to {
				to[j] = w.mean[j] + by*(w.x[worst][j]-w.mean[j])
			}
			return eval(to)
		}
		f := move(w.try, -1)
		switch {
		case f < w.f[best]:
			if g := move(w.alt, -2); g < f {
				w.put(worst, w.alt, g)
			} else {
				w.put(worst, w.try, f)
			}
		case f < w.f[second]:
			w.put(worst, w.try, f)
		default:
			by := 0.5
			if f < w.f[worst] {
				by = -0.5
			}
			if g := move(w.alt, by); g < math.Min(f, w.f[worst]) {
				w.put(worst, w.alt, g)
				continue
			}
			for _, i := range order[1:] {
				for j := range w.x[i] {
					w.x[i][j] = (w.x[i][j] + w.x[best][j]) / 2
				}
				w.f[i] = eval(w.x[i])
			}
		}
	}
	for i, f := range w.f {
		if f < m.f {
			m.f = f
			copy(m.theta, w.x[i])
		}
	}
}

func (w *simplex) put(i int, x []float64, f float64) {
	copy(w.x[i], x)
	w.f[i] = f
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
