package lmm

import "math"

// curvature fills hess, a positive definite stand-in for the second derivatives with respect to theta, and free, the thetas
// whose column of Lambda is not 0. To the average information it adds what T = Lambda Lambda' itself bends:
// 2 W_rr for an entry of row r, where that is positive. W vanishes at an optimum within the bounds.
func (m *minimiser) curvature() {
	copy(m.hess.x, m.s.info.at.x)
	m.free = m.free[:0]
	k := 0
	for i := range m.s.p.terms {
		t, l, d := &m.s.p.terms[i], m.s.lambda[i], m.s.grad[i]
		full := true
		for c := range t.q {
			full = full && l[c*t.q+c] > 0
		}
		t.each(func(r, c int) {
			if l[c*t.q+c] > 0 {
				m.free = append(m.free, k)
				if full {
					if w := slopeOf(t, l, d, r); w > 0 {
						m.hess.add(k, k, 2*w)
					}
				}
			}
			k++
		})
	}
}

// slopeOf is W_rr = (grad Lambda^-1)_rr for a nonsingular Lambda.
func slopeOf(t *term, l, d []float64, r int) float64 {
	if t.Independent {
		return d[r*t.q+r] / l[r*t.q+r]
	}
	// x Lambda = row r of grad, from the last column back; W is needed at column r only
	var buf [16]float64
	x := buf[:]
	if t.q > len(x) {
		return 0
	}
	x = x[:t.q]
	for c := t.q - 1; c >= r; c-- {
		v := d[r*t.q+c]
		for a := c + 1; a < t.q; a++ {
			v -= x[a] * l[a*t.q+c]
		}
		x[c] = v / l[c*t.q+c]
	}
	return x[r]
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
