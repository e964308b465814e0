package lmm

import "math"

// evaluate factors the system at the current Lambda and returns the criterion.
func (s *Space) evaluate(reml bool) float64 {
	p, r := s.p, s.p.effects
	e := r + p.p
	for i := range e {
		h, f := s.half.row(i), s.factor.row(i)
		copy(h, p.cross.row(i))
		s.right(h)
		copy(f[:i+1], h)
		if i < r { // left() needs the whole block on the diagonal
			copy(f[:e], h)
		}
	}
	for i := range r {
		s.factor.row(i)[e] = 0
	}
	s.left()
	for i := range r {
		s.factor.add(i, i, 1)
	}
	last := s.factor.row(e)
	copy(last, s.zy)
	s.right(last)
	last[e] = s.yy
	s.ready = factored
	s.logH, s.logX, s.r2 = 0, 0, 0
	if s.factor.cholesky(0, e) >= 0 {
		s.logX = math.Inf(1)
		return s.criterion(reml)
	}
	s.factor.forward(e, last[:e])
	s.r2 = s.yy - dot(last[:e], last)
	for i := range e {
		d := 2 * math.Log(s.factor.at(i, i))
		if i < r {
			s.logH += d
		} else {
			s.logX += d + 2*math.Log(p.xscale[i-r])
		}
	}
	return s.criterion(reml)
}

// right multiplies a row of cross-products with Lambda from the right, in place.
func (s *Space) right(row []float64) {
	for k := range s.p.terms {
		t, l := &s.p.terms[k], s.lambda[k]
		q := t.q
		part := row[t.offset : t.offset+t.Levels*q]
		if q == 1 {
			for j := range part {
				part[j] *= l[0]
			}
			continue
		}
		for j := 0; j < len(part); j += q {
			v := part[j : j+q]
			for c := range q { // column c of the product needs entries c.. only
				sum := 0.0
				for a := c; a < q; a++ {
					sum += v[a] * l[a*q+c]
				}
				v[c] = sum
			}
		}
	}
}

// left multiplies the first r rows of factor with Lambda' from the left, in place.
func (s *Space) left() {
	for k := range s.p.terms {
		t, l := &s.p.terms[k], s.lambda[k]
		q := t.q
		for j := t.offset; j < t.offset+t.Levels*q; j += q {
			for c := range q {
				rc := s.factor.row(j + c)[:j+q]
				for i := range rc {
					rc[i] *= l[c*q+c]
				}
				for a := c + 1; a < q; a++ {
					axpy(l[a*q+c], s.factor.row(j + a)[:j+q], rc)
				}
			}
		}
	}
}

// solve finds u, b, beta and g at the last evaluation.
func (s *Space) solve() {
	if s.ready >= solved {
		return
	}
	p, r := s.p, s.p.effects
	e := r + p.p
	x := s.low.x[:e] // free between evaluations
	copy(x, s.factor.row(e))
	s.factor.backward(e, x)
	copy(s.u, x)
	copy(s.beta, x[r:])
	s.lift(s.u, s.b)
	for i := range r {
		row := p.cross.row(i)
		s.g[i] = s.zy[i] - dot(row[:r], s.b) - dot(row[r:], s.beta)
	}
	s.ready = solved
}

// lift writes Lambda u to b.
func (s *Space) lift(u, b []float64) {
	for k := range s.p.terms {
		t, l := &s.p.terms[k], s.lambda[k]
		q := t.q
		for j := t.offset; j < t.offset+t.Levels*q; j += q {
			for a := range q {
				b[j+a] = dot(l[a*q:a*q+a+1], u[j:])
			}
		}
	}
}
