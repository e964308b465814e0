package lmm

// SetResponse puts another response of n values on the same design, as a bootstrap does. y is not kept.
func (s *Space) SetResponse(y []float64) {
	p := s.p
	s.ready = none
	copy(s.resid, y)
	s.total = dot(y, y)
	clear(s.ols)
	if !p.xbad {
		s.fixed(s.ols)
		p.xchol.forward(p.p, s.ols)
		p.xchol.backward(p.p, s.ols)
		for k, col := range p.x {
			axpy(-s.ols[k]/p.xscale[k], col, s.resid)
		}
	}
	s.yy = dot(s.resid, s.resid)
	clear(s.zy)
	s.fixed(s.zy[p.effects:])
	for k := range p.terms {
		t := &p.terms[k]
		for c, col := range t.Columns {
			if col == nil {
				for i, l := range t.Level {
					s.zy[t.at[l]+c] += s.resid[i]
				}
				continue
			}
			f := 1 / t.scale[c]
			for i, l := range t.Level {
				s.zy[t.at[l]+c] += s.resid[i] * f * col[i]
			}
		}
	}
}

// fixed writes X'resid to v.
func (s *Space) fixed(v []float64) {
	for k, col := range s.p.x {
		v[k] = dot(s.resid, col) / s.p.xscale[k]
	}
}
