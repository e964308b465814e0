package lmm

import "math"

// curvature fills hess, a positive definite stand-in for the second derivatives with respect to theta, and free, the thetas
// whose column of Lambda is not 0. To the average information it adds what T = Lambda Lambda' itself bends: 2 W_rs for the
// entries (r, c) and (s, c), W reduced to its positive part. W vanishes at an optimum within the bounds, not on them.
func (m *minimiser) curvature() {
	copy(m.hess.x, m.s.info.at.x)
	m.free = m.free[:0]
	k := 0
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		m.bent(i)
		for c := range t.q {
			n := t.q - c
			if t.Independent {
				n = 1
			}
			if m.s.lambda[i][c*t.q+c] > 0 {
				for a := range n {
					m.free = append(m.free, k+a)
					for b := range n {
						m.hess.add(k+a, k+b, 2*m.bend[(c+a)*t.q+c+b])
					}
				}
			}
			k += n
		}
	}
}

// bent fills bend with the positive part of W of term i.
func (m *minimiser) bent(i int) {
	t, l, d := &m.s.p.terms[i], m.s.lambda[i], m.s.grad[i]
	q, w := t.q, m.bend
	if t.Independent || q == 1 { // a column of its own each
		for c := range q {
			w[c*q+c] = 0
			if l[c*q+c] > 0 {
				w[c*q+c] = max(d[c*q+c]/l[c*q+c], 0)
			}
		}
		return
	}
	if singular := m.s.singular(i); singular {
		m.s.bend(i, m.reml, w[:q*q])
	} else {
		divide(w, d, l, q)
	}
	e := &m.eigen
	e.factor(w[:q*q], q)
	clear(w[:q*q])
	for k, v := range e.values {
		for a := range q {
			for b := range q {
				w[a*q+b] += max(v, 0) * e.vectors.at(a, k) * e.vectors.at(b, k)
			}
		}
	}
}

// divide writes the symmetric part of d Lambda^-1 to w, Lambda nonsingular.
func divide(w, d, l []float64, q int) {
	for r := range q {
		for c := q - 1; c >= 0; c-- {
			v := d[r*q+c]
			for a := c + 1; a < q; a++ {
				v -= w[r*q+a] * l[a*q+c]
			}
			w[r*q+c] = v / l[c*q+c]
		}
	}
	for r := range q {
		for c := range r {
			v := (w[r*q+c] + w[c*q+r]) / 2
			w[r*q+c], w[c*q+r] = v, v
		}
	}
}

// singular says whether a term's Lambda has a zero column.
func (s *Space) singular(i int) bool {
	q := s.p.terms[i].q
	for c := range q {
		if s.lambda[i][c*q+c] == 0 {
			return true
		}
	}
	return false
}

// small is the diagonal of Lambda that counts as 0: an effect whose variance is this little of what the levels can tell.
func (t *term) small() float64 { return 1e-5 / math.Sqrt(t.weight) }

// canonical brings scaled thetas to the form where each diagonal is above small, or its whole column 0; T stays the same.
// A diagonal below 0 means the column's sign, but for the last column, where it means that the step went through 0.
func (m *minimiser) canonical(theta []float64) {
	k := 0
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		part := theta[k : k+t.thetas()]
		k += len(part)
		t.canonical(part, t.small())
	}
}

func (t *term) canonical(theta []float64, small float64) {
	if t.Independent || t.q == 1 {
		for c, v := range theta {
			if v < small {
				theta[c] = 0
			}
		}
		return
	}
	k := 0
	for c := range t.q {
		n := t.q - c
		col := theta[k : k+n]
		switch {
		case c == t.q-1 && col[0] < small:
			col[0] = 0
		case col[0] < 0:
			for r := range col {
				col[r] = -col[r]
			}
		}
		if col[0] < small {
			t.drop(theta, c, k)
		}
		k += n
	}
}

// drop makes column c (its first theta at k) 0 and moves what stood below its diagonal into the later columns, by plane
// rotations of rows: Lambda keeps Lambda Lambda' up to the diagonal that is dropped.
func (t *term) drop(theta []float64, c, k int) {
	col := theta[k : k+t.q-c]
	col[0] = 0
	at := k + len(col)
	for r := c + 1; r < t.q; r++ { // rotate column c into column r so that row r of column c becomes 0
		v := col[r-c]
		next := theta[at : at+t.q-r]
		at += len(next)
		h := math.Hypot(v, next[0])
		if h == 0 {
			continue
		}
		cos, sin := next[0]/h, v/h
		for a := range next {
			x, y := next[a], col[r-c+a]
			next[a], col[r-c+a] = cos*x+sin*y, cos*y-sin*x
		}
	}
}
