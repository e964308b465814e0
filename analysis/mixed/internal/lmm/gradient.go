package lmm

// differentiate fills grad: for each term the q*q matrix W Lambda, W the derivative of the criterion with respect to the
// term's T. With K the system over (u, beta) (over u alone for the deviance) its first part is the sum over levels of the
// blocks of Z'[Z Lambda, X] K^-1, the second -(n or n-p)/r^2 Z'(y - X beta - Z b) u'.
//
// In the rest the first part is schur [Lambda; I] K^-1 with K the rest's system. In a block it is Z'Z Lambda M^-1 less
// F Q F' Lambda, where M = L L', F = Z'[Z_rest, X] - Z'Z Lambda M^-1 Lambda'Z'[Z_rest, X], and Q is K^-1 of the rest with
// Lambda on both sides.
func (s *Space) differentiate(reml bool) {
	s.solve()
	k := s.p.rest
	if reml {
		k += s.p.p
	}
	for i := range s.grad {
		clear(s.grad[i])
		clear(s.part[i])
	}
	s.inv.inverse(s.factor, k, s.work)
	s.differentiateRest(k)
	for i := range s.p.blocks {
		s.differentiateBlock(&s.p.blocks[i], reml, k)
	}
	w := s.weight(reml)
	for i := range s.p.terms {
		t, l, d, part := &s.p.terms[i], s.lambda[i], s.grad[i], s.part[i]
		q := t.q
		for r := range q {
			for c := range q {
				for a := c; a < q; a++ {
					d[r*q+c] -= part[r*q+a] * l[a*q+c]
				}
			}
		}
		for _, at := range t.at {
			for r := range q {
				for c := range q {
					d[r*q+c] -= w * s.g[at+r] * s.u[at+c]
				}
			}
		}
	}
}

// differentiateRest adds the rest's first part and turns inv into Q.
func (s *Space) differentiateRest(k int) {
	first := s.p.effects - s.p.rest
	for i := range s.p.terms {
		t, d := &s.p.terms[i], s.grad[i]
		if t.nested {
			continue
		}
		q := t.q
		for _, at := range t.at {
			for a := range q {
				h := s.half.row(at - first + a)[:k]
				for c := range q {
					d[a*q+c] += dot(h, s.inv.row(at-first+c))
				}
			}
		}
	}
	s.enclose(k)
}

// enclose turns the leading k rows of inv into Q: Lambda on both sides.
func (s *Space) enclose(k int) {
	s.eachRest(func(t *term, l []float64, j int) { // from the left, the last row first
		q := t.q
		for a := q - 1; a >= 0; a-- {
			row := s.inv.row(j + a)[:k]
			scale(l[a*q+a], row)
			for c := range a {
				axpy(l[a*q+c], s.inv.row(j + c)[:k], row)
			}
		}
	})
	for i := range k {
		s.leftTimes(s.inv.row(i))
	}
}

// leftTimes multiplies a row over the rest with Lambda' from the right, in place.
func (s *Space) leftTimes(row []float64) {
	s.eachRest(func(t *term, l []float64, j int) {
		q, v := t.q, row[j:j+t.q]
		for a := q - 1; a >= 0; a-- {
			v[a] = dot(l[a*q:a*q+a+1], v)
		}
	})
}

// differentiateBlock adds a block's Z'Z Lambda M^-1 to grad and F Q F' to part, of which the levels' own q*q blocks count.
func (s *Space) differentiateBlock(b *block, reml bool, k int) {
	p, n := s.p, b.size
	r := s.blockProducts(b)  // L^-1 Lambda'Z'Z
	m := s.scratch.b.x[:n*n] // M^-1 Lambda'Z'Z
	copy(m, r)
	s.blockChol(b).backwardRows(m, n)
	for _, x := range b.members {
		q, d := p.terms[x.term].q, s.grad[x.term]
		for a := range q {
			for c := range q {
				d[a*q+c] += m[(x.row+c)*n+x.row+a]
			}
		}
	}
	met := len(b.cols)
	if !reml {
		met -= p.p
	}
	if met == 0 {
		return
	}
	f := s.blockFree(b, r, met)
	for _, x := range b.members {
		q, part := p.terms[x.term].q, s.part[x.term]
		for a := range q {
			v := s.throughQ(f[(x.row+a)*met:(x.row+a+1)*met], b.cols[:met], k)
			for c := range a + 1 {
				h := dot(v, f[(x.row+c)*met:])
				part[a*q+c] += h
				if a != c {
					part[c*q+a] += h
				}
			}
		}
	}
}

// throughQ is Q f over the columns that a block meets, in scratch.
func (s *Space) throughQ(f []float64, cols []int32, k int) []float64 {
	v := s.scratch.row[:len(f)]
	clear(v)
	for j, x := range f {
		row := s.inv.row(int(cols[j]))
		if len(f) == k {
			axpy(x, row[:k], v)
			continue
		}
		for i, c := range cols {
			v[i] += x * row[c]
		}
	}
	return v
}

// blockChol is L of a block.
func (s *Space) blockChol(b *block) matrix {
	return matrix{b.size, s.chol[b.zz : b.zz+b.size*b.size]}
}

// blockProducts is R = L^-1 Lambda'Z'Z of a block, in scratch.
func (s *Space) blockProducts(b *block) []float64 {
	n := b.size
	r := s.scratch.a.x[:n*n]
	copy(r, s.p.zz[b.zz:])
	s.blockLeft(b, r, n)
	s.blockChol(b).forwardRows(r, n)
	return r
}

// blockFree is F over the first met columns that a block meets, by rows, in scratch: what Z'[Z_rest, X] leaves of itself
// once the block's own effects are taken out. r is blockProducts.
func (s *Space) blockFree(b *block, r []float64, met int) []float64 {
	n, w := b.size, len(b.cols)
	f := s.scratch.free[:n*met]
	for a := range n {
		row := f[a*met : (a+1)*met]
		copy(row, s.p.zc[b.zc+a*w:])
		for c := range n {
			axpy(-r[c*n+a], s.coupled[b.zc+c*w:b.zc+c*w+met], row)
		}
	}
	return f
}
