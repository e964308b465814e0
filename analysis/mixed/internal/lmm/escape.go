package lmm

import "math"

// escape looks at W of every term with a zero column. Where a direction v has v'Wv < 0, the criterion falls as v v' is
// added to T; that is tried, and escape says whether it helped. The state must be that of theta.
func (m *minimiser) escape() bool {
	k := 0
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		at := k
		k += t.thetas()
		if !m.here(m.theta) {
			m.derive()
		}
		if !m.s.singular(i) {
			continue
		}
		m.s.bend(i, m.reml, m.bend[:t.q*t.q])
		slope, v := m.steepest(t)
		if gain := slope / t.weight; slope >= 0 || gain*gain/(2*float64(t.Levels)) < enough*100 {
			continue
		}
		if m.lift(t, at, v, -slope/(float64(t.Levels)*t.weight*t.weight)) {
			return true
		}
	}
	return false
}

// update replaces the thetas of a term by those of T + v v'.
func (t *term) update(theta, v []float64) {
	q := t.q
	l, full := square(q), square(q)
	k := 0
	t.each(func(r, c int) { l.x[r*q+c] = theta[k]; k++ })
	for a := range q {
		for b := range a + 1 {
			full.x[a*q+b] = dot(l.row(a), l.row(b)) + v[a]*v[b]
		}
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

// steepest is the smallest v'Wv over unit vectors, W in bend; v is among the unit columns when the term is independent.
func (m *minimiser) steepest(t *term) (slope float64, v []float64) {
	v = make([]float64, t.q)
	if t.Independent {
		at := 0
		for c := range t.q {
			if m.bend[c*t.q+c] < m.bend[at*t.q+at] {
				at = c
			}
		}
		v[at] = 1
		return m.bend[at*t.q+at], v
	}
	m.eigen.factor(m.bend[:t.q*t.q], t.q)
	at := m.eigen.smallest()
	for c := range v {
		v[c] = m.eigen.vectors.at(c, at)
	}
	return m.eigen.values[at], v
}

// lift tries T + size v v' and smaller ones, and keeps the first that lowers the criterion.
func (m *minimiser) lift(t *term, at int, v []float64, size float64) bool {
	add := make([]float64, t.q)
	for range 12 {
		for c := range add {
			add[c] = math.Sqrt(size) * v[c]
		}
		copy(m.trial, m.theta)
		t.update(m.trial[at:at+t.thetas()], add)
		m.canonical(m.trial)
		if f := m.value(m.trial); f < m.f-enough {
			m.theta, m.trial, m.f = m.trial, m.theta, f
			return true
		}
		size *= 0.2
	}
	return false
}
