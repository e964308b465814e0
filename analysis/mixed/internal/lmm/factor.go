package lmm

import "math"

// evaluate factors the system at the current Lambda and returns the criterion.
func (s *Space) evaluate(reml bool) float64 {
	p := s.p
	d, e := p.rest, p.rest+p.p
	for i := range e {
		copy(s.schur.row(i)[:i+1], p.cross.row(i))
	}
	last := s.schur.row(e)
	copy(last, s.zy[p.effects-d:])
	last[e] = s.yy
	s.logH, s.logX, s.r2 = s.eliminate(), 0, 0
	s.schur.mirror()
	s.ready = factored
	s.assemble()
	if s.factor.cholesky(e, d, 0) >= 0 || p.xbad {
		s.logX = math.Inf(1)
		return s.criterion(reml)
	}
	fit := s.factor.row(e)
	s.factor.forward(e, fit)
	s.r2 = last[e] - dot(fit[:e], fit)
	if s.r2 < 1e-8*s.yy {
		s.refine()
	}
	for i := range e {
		v := 2 * math.Log(s.factor.at(i, i))
		if i < d {
			s.logH += v
		} else {
			s.logX += v + 2*math.Log(p.xscale[i-d])
		}
	}
	return s.criterion(reml)
}

// assemble fills half and the lower triangle of factor: Lambda' schur Lambda + I, Lambda the rest's part and ones for X.
func (s *Space) assemble() {
	d, e := s.p.rest, s.p.rest+s.p.p
	for i := range e {
		h := s.half.row(i)
		copy(h, s.schur.row(i))
		s.right(h)
		copy(s.factor.row(i), h)
	}
	s.left()
	for i := range d {
		s.factor.add(i, i, 1)
	}
	last := s.factor.row(e)
	copy(last, s.schur.row(e))
	s.right(last)
}

// right multiplies a row over the rest (and more behind) with Lambda from the right, in place.
func (s *Space) right(row []float64) {
	first := s.p.effects - s.p.rest
	for k := range s.p.terms {
		t, l := &s.p.terms[k], s.lambda[k]
		if t.nested {
			continue
		}
		q, at := t.q, t.at[0]-first
		part := row[at : at+t.Levels*q]
		if q == 1 {
			scale(l[0], part)
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

// left multiplies the first d rows of factor, up to the blocks on the diagonal, with Lambda' from the left, in place.
func (s *Space) left() {
	s.eachRest(func(t *term, l []float64, j int) {
		q := t.q
		for c := range q {
			row := s.factor.row(j + c)[:j+q]
			scale(l[c*q+c], row)
			for a := c + 1; a < q; a++ {
				axpy(l[a*q+c], s.factor.row(j + a)[:j+q], row)
			}
		}
	})
}

// eachRest visits the levels of the rest, with the row of their first effect.
func (s *Space) eachRest(visit func(t *term, lambda []float64, row int)) {
	first := s.p.effects - s.p.rest
	for k := range s.p.terms {
		t := &s.p.terms[k]
		if t.nested {
			continue
		}
		for _, at := range t.at {
			visit(t, s.lambda[k], at-first)
		}
	}
}

// solve finds u, b, beta and g at the last evaluation; all 0 where X has dependent columns.
func (s *Space) solve() {
	if s.ready >= solved {
		return
	}
	p := s.p
	d, e := p.rest, p.rest+p.p
	first := p.effects - d
	s.ready = solved
	if math.IsInf(s.logX, 1) { // no factor
		clear(s.u)
		clear(s.b)
		clear(s.g)
		clear(s.beta)
		return
	}
	x := s.scratch.row[:e]
	copy(x, s.factor.row(e))
	s.factor.backward(e, x)
	copy(s.u[first:], x[:d])
	copy(s.beta, x)
	s.eachRest(func(t *term, l []float64, j int) {
		for a := range t.q {
			s.beta[j+a] = dot(l[a*t.q:a*t.q+a+1], x[j:])
		}
	})
	copy(s.b[first:], s.beta[:d])
	last := s.schur.row(e)
	for i := range d {
		s.g[first+i] = last[i] - dot(s.schur.row(i)[:e], s.beta)
	}
	for i := range p.blocks {
		s.solveBlock(&p.blocks[i])
	}
}

// refine sums r^2 and g over the rows, where the differences of large numbers have lost their digits.
func (s *Space) refine() {
	s.solve()
	s.r2 = dot(s.u, s.u)
	clear(s.g)
	for i, v := range s.resid {
		for k, col := range s.p.x {
			v -= s.beta[s.p.rest+k] / s.p.xscale[k] * col[i]
		}
		for k := range s.p.terms {
			t := &s.p.terms[k]
			for c, at := 0, t.at[t.Level[i]]; c < t.q; c++ {
				v -= s.b[at+c] * t.value(i, c)
			}
		}
		for k := range s.p.terms {
			t := &s.p.terms[k]
			for c, at := 0, t.at[t.Level[i]]; c < t.q; c++ {
				s.g[at+c] += v * t.value(i, c)
			}
		}
		s.r2 += v * v
	}
}

// value is the scaled entry of a row in a term's column.
func (t *term) value(row, c int) float64 {
	if t.Columns[c] == nil {
		return 1
	}
	return t.Columns[c][row] / t.scale[c]
}

// solveBlock finds u, b and g of one block from what it meets: u = L'^-1 (L^-1 Lambda'Z'y - coupled (b, beta)),
// g = Z'y - Z'Z b - Z'[Z_rest, X] (b, beta).
func (s *Space) solveBlock(b *block) {
	p, w := s.p, len(b.cols)
	met := s.scratch.row[:w]
	for k, c := range b.cols {
		met[k] = s.beta[c]
	}
	u, v, g := s.u[b.at:b.at+b.size], s.b[b.at:b.at+b.size], s.g[b.at:b.at+b.size]
	for a := range b.size {
		u[a] = s.zyBlock[b.at+a] - dot(met, s.coupled[b.zc+a*w:])
	}
	s.blockChol(b).backward(b.size, u)
	s.blockLift(b, u, v)
	for a := range b.size {
		g[a] = s.zy[b.at+a] - dot(met, p.zc[b.zc+a*w:]) - dot(v, p.zz[b.zz+a*b.size:])
	}
}
