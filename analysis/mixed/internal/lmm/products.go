package lmm

// multiply builds the cross-products of [Z, X] and the factor of X'X, row by row over what is not zero.
func (p *Problem) multiply() {
	p.cross = square(p.effects + p.p)
	at := make([]int, 0, 16)
	val := make([]float64, 0, 16)
	for i := range p.n {
		at, val = p.gather(i, at[:0], val[:0])
		for a, r := range at {
			row := p.cross.row(r)
			for b := range a + 1 {
				row[at[b]] += val[a] * val[b]
			}
		}
	}
	// Terms come in order, so a later entry has the larger index, except that levels never meet themselves.
	p.cross.mirror()
	p.xchol = square(p.p)
	for i := range p.p {
		copy(p.xchol.row(i), p.cross.row(p.effects + i)[p.effects:])
	}
	p.xbad = p.xchol.cholesky(0, p.p) >= 0
}

// gather lists the scaled entries of one row of [Z, X] that are not zero.
func (p *Problem) gather(i int, at []int, val []float64) ([]int, []float64) {
	for k := range p.terms {
		t := &p.terms[k]
		base := t.offset + t.Level[i]*t.q
		for c, col := range t.Columns {
			v := 1 / t.scale[c]
			if col != nil {
				v *= col[i]
			}
			at, val = append(at, base+c), append(val, v)
		}
	}
	for k, col := range p.x {
		if v := col[i]; v != 0 {
			at, val = append(at, p.effects+k), append(val, v/p.xscale[k])
		}
	}
	return at, val
}

// SetResponse puts another response of n values on the same design, as a bootstrap does.
func (s *Space) SetResponse(y []float64) {
	p := s.p
	s.ready = none
	r := p.effects
	clear(s.zy)
	for k, col := range p.x {
		s.ols[k] = dot(y, col) / p.xscale[k]
	}
	if p.xbad {
		clear(s.ols)
	} else {
		p.xchol.forward(p.p, s.ols)
		p.xchol.backward(p.p, s.ols)
	}
	copy(s.resid, y)
	for k, col := range p.x {
		axpy(-s.ols[k]/p.xscale[k], col, s.resid)
		s.zy[r+k] = 0
	}
	s.total, s.yy = dot(y, y), dot(s.resid, s.resid)
	for k, col := range p.x {
		s.zy[r+k] = dot(s.resid, col) / p.xscale[k]
	}
	for k := range p.terms {
		t := &p.terms[k]
		for c, col := range t.Columns {
			f := 1 / t.scale[c]
			for i, l := range t.Level {
				v := s.resid[i] * f
				if col != nil {
					v *= col[i]
				}
				s.zy[t.offset+l*t.q+c] += v
			}
		}
	}
}
