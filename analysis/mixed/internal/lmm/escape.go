package lmm

import "math"

// escape looks at every term with a zero column: W there comes from a Lambda a little off the boundary. Where a direction v
// has v'Wv < 0, the criterion falls as v v' is added to T; that is tried, and escape says whether it helped.
func (m *minimiser) escape() bool {
	p := m.s.p
	k := 0
	for i := range p.terms {
		t := &p.terms[i]
		at := k
		k += t.thetas()
		if !t.singular(m.theta[at:k]) {
			continue
		}
		w := m.offBoundary(i, at)
		if w == nil {
			continue
		}
		v := make([]float64, t.q)
		slope := lowest(w, t.q, v, t.Independent)
		n := t.weight
		if gain := slope / n; slope >= 0 || gain*gain/(2*float64(t.Levels)) < enough*100 {
			continue
		}
		if m.lift(t, at, v, -slope/(float64(t.Levels)*n*n)) {
			return true
		}
	}
	return false
}

func (t *term) singular(theta []float64) bool {
	k := 0
	for c := range t.q {
		if theta[k] == 0 {
			return true
		}
		if t.Independent {
			k++
		} else {
			k += t.q - c
		}
	}
	return false
}

// offBoundary is W of term i (q*q), its first theta at `at`, with a little added to T so that Lambda can be divided out.
func (m *minimiser) offBoundary(i, at int) []float64 {
	t := &m.s.p.terms[i]
	copy(m.trial, m.theta)
	t.update(m.trial[at:at+t.thetas()], nil, math.Pow(10*t.small(), 2))
	if math.IsInf(m.value(m.trial), 0) {
		return nil
	}
	m.s.differentiate(m.reml)
	l, d, q := m.s.lambda[i], m.s.grad[i], t.q
	w := make([]float64, q*q)
	for r := range q { // W Lambda = grad
		for c := q - 1; c >= 0; c-- {
			v := d[r*q+c]
			for a := c + 1; a < q; a++ {
				v -= w[r*q+a] * l[a*q+c]
			}
			w[r*q+c] = v / l[c*q+c]
		}
	}
	return w
}

// update replaces the thetas of a term by those of T + v v' + ridge I. A nil v is 0.
func (t *term) update(theta, v []float64, ridge float64) {
	q := t.q
	l, full := square(q), square(q)
	k := 0
	t.each(func(r, c int) { l.x[r*q+c] = theta[k]; k++ })
	for a := range q {
		for b := range a + 1 {
			full.x[a*q+b] = dot(l.row(a), l.row(b))
			if v != nil {
				full.x[a*q+b] += v[a] * v[b]
			}
		}
		full.x[a*q+a] += ridge
	}
	full.semiCholesky()
	k = 0
	t.each(func(r, c int) { theta[k] = full.at(r, c); k++ })
}

// semiCholesky factors a positive semidefinite matrix in place; a pivot of rounding size makes a zero column.
func (m matrix) semiCholesky() {
	for c := range m.n {
		was := m.at(c, c)
		d := was - dot(m.row(c)[:c], m.row(c))
		if d <= 1e-15*was {
			for r := c; r < m.n; r++ {
				m.x[r*m.n+c] = 0
			}
			continue
		}
		d = math.Sqrt(d)
		m.x[c*m.n+c] = d
		for r := c + 1; r < m.n; r++ {
			m.x[r*m.n+c] = (m.at(r, c) - dot(m.row(c)[:c], m.row(r))) / d
		}
	}
}

// lowest is the smallest v'Wv over unit vectors, v among the unit columns when the term is independent.
func lowest(w []float64, q int, v []float64, independent bool) float64 {
	if independent || q == 1 {
		best := 0
		for c := range q {
			if w[c*q+c] < w[best*q+best] {
				best = c
			}
		}
		clear(v)
		v[best] = 1
		return w[best*q+best]
	}
	return smallestEigen(w, q, v)
}

// lift tries T + size v v' and smaller ones, and keeps the first that lowers the criterion.
func (m *minimiser) lift(t *term, at int, v []float64, size float64) bool {
	add := make([]float64, t.q)
	for range 12 {
		for c := range add {
			add[c] = math.Sqrt(size) * v[c]
		}
		copy(m.trial, m.theta)
		t.update(m.trial[at:at+t.thetas()], add, 0)
		m.canonical(m.trial)
		if f := m.value(m.trial); f < m.f-enough {
			m.theta, m.trial, m.f = m.trial, m.theta, f
			return true
		}
		size *= 0.2
	}
	return false
}
