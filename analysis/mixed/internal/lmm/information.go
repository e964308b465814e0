package lmm

// information is the work space of the average information.
type information struct {
	h    [][]float64 // per theta, d: h_a over the rest
	z    [][]float64 // per theta, d+p: [Z_rest, X]'Z h_a, then L^-1 [Lambda'; I] of it less taken
	used [][]float64 // per theta, d+p: what the blocks take of it
	hb   [][]float64 // per theta: h_a in one block
	zb   [][]float64 // per theta: Z'Z h_a in one block, then L^-1 Lambda' of it
	at   matrix      // thetas: the matrix itself, both triangles
	dot  []float64   // thetas: g'h_a
	own  []int       // thetas: their term
	row  []int       // thetas: row and column in Lambda
	col  []int
}

func (w *information) init(p *Problem, size int) {
	m := p.thetas
	rows := func(n int) [][]float64 {
		all, out := make([]float64, m*n), make([][]float64, m)
		for i := range out {
			out[i] = all[i*n : (i+1)*n]
		}
		return out
	}
	w.h, w.z, w.used, w.hb, w.zb = rows(p.rest), rows(p.rest+p.p), rows(p.rest+p.p), rows(size), rows(size)
	w.at, w.dot = square(m), make([]float64, m)
	for i := range p.terms {
		p.terms[i].each(func(r, c int) { w.own, w.row, w.col = append(w.own, i), append(w.row, r), append(w.col, c) })
	}
}

// inform fills info.at with the average information about the scaled thetas, for the criterion (twice that of the
// log-likelihood), sigma^2 profiled out: with g = Z'Py, h_a = (dT/dtheta_a) g and s2 = r2/(n or n-p) it is
//
//	(h_a' Z'PZ h_b - (g'h_a)(g'h_b) / r2) / s2,  h_a' Z'PZ h_b = h_a' Z'Z h_b less the products of what the factor makes of
//
// [Z Lambda, X]'Z h.
func (s *Space) inform(reml bool) {
	s.solve()
	p, w := s.p, &s.info
	d, e := p.rest, p.rest+p.p
	first := p.effects - d
	clear(w.at.x)
	clear(w.dot)
	for a := range w.h {
		clear(w.h[a])
		clear(w.used[a])
		if t := &p.terms[w.own[a]]; !t.nested {
			for _, at := range t.at {
				s.perturb(a, s.g[at:], s.u[at:], w.h[a][at-first:])
			}
		}
		for i := range e {
			w.z[a][i] = dot(w.h[a], p.cross.row(i))
		}
	}
	for i := range p.blocks {
		s.informBlock(&p.blocks[i])
	}
	for a, h := range w.h {
		z := w.z[a]
		w.dot[a] += dot(h, s.g[first:])
		for b := range a + 1 {
			w.at.add(a, b, dot(w.h[b], z))
		}
	}
	for a := range w.h {
		s.informRest(a)
	}
	scale := s.weight(reml)
	for a := range w.h {
		for b := range a + 1 {
			v := scale * (w.at.at(a, b) - w.dot[a]*w.dot[b]/s.r2)
			w.at.x[a*w.at.n+b] = v
			w.at.x[b*w.at.n+a] = v
		}
	}
}

// informBlock adds one block's products.
func (s *Space) informBlock(b *block) {
	p, w, n, met := s.p, &s.info, b.size, len(b.cols)
	d := met - p.p
	l := s.blockChol(b)
	for a := range w.h {
		own := p.terms[w.own[a]].nested
		h, z := w.hb[a][:n], w.zb[a][:n]
		clear(h)
		clear(z)
		if own {
			for _, m := range b.members {
				if m.term == w.own[a] {
					s.perturb(a, s.g[b.at+m.row:], s.u[b.at+m.row:], h[m.row:])
				}
			}
			w.dot[a] += dot(h, s.g[b.at:])
			for i, v := range h {
				axpy(v, p.zz[b.zz+i*n:b.zz+(i+1)*n], z)
				b.spread(v, p.zc[b.zc+i*met:], w.z[a])
			}
		} else {
			for i := range z {
				z[i] = b.collect(p.zc[b.zc+i*met:b.zc+i*met+d], w.h[a])
			}
		}
		for c := range a + 1 {
			w.at.add(a, c, dot(w.hb[c][:n], z))
		}
		s.blockLeft(b, z, 1)
		l.forward(n, z)
		for c := range a + 1 {
			w.at.add(a, c, -dot(w.zb[c][:n], z))
		}
		for i, v := range z {
			b.spread(v, s.coupled[b.zc+i*met:], w.used[a])
		}
	}
}

// spread adds f row, over the columns met, to a vector over all columns; collect is the product of such a row with one.
func (b *block) spread(f float64, row, to []float64) {
	if len(b.cols) == len(to) {
		axpy(f, row[:len(to)], to)
		return
	}
	for k, c := range b.cols {
		to[c] += f * row[k]
	}
}

func (b *block) collect(row, from []float64) float64 {
	sum := 0.0
	for k, v := range row {
		sum += v * from[b.cols[k]]
	}
	return sum
}

// informRest takes the rest's products off.
func (s *Space) informRest(a int) {
	w, e := &s.info, s.p.rest+s.p.p
	z := w.z[a]
	axpy(-1, w.used[a], z)
	s.right(z)
	s.factor.forward(e, z)
	for b := range a + 1 {
		w.at.add(a, b, -dot(z, w.z[b]))
	}
}

// perturb adds (dT/dtheta_a) g of one level to h: row and column of theta in Lambda are r, c, so that dT = e_r l_c' + l_c e_r'.
func (s *Space) perturb(a int, g, u, h []float64) {
	w := &s.info
	q, l, r, c := s.p.terms[w.own[a]].q, s.lambda[w.own[a]], w.row[a], w.col[a]
	h[r] += u[c]
	for k := c; k < q; k++ {
		h[k] += l[k*q+c] * g[r]
	}
}
