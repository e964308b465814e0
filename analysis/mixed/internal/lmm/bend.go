package lmm

// bend writes W of one term to w (q*q, symmetric): the derivative of the criterion with respect to T, without dividing by
// Lambda. The state must be that of differentiate with the same reml. It loses digits where Lambda is large, but serves
// where it is singular.
func (s *Space) bend(i int, reml bool, w []float64) {
	p := s.p
	t, q := &p.terms[i], p.terms[i].q
	clear(w)
	k := p.rest
	if reml {
		k += p.p
	}
	if t.nested {
		for b := range p.blocks {
			s.bendBlock(&p.blocks[b], i, reml, k, w)
		}
	} else {
		s.bendRest(t, k, w)
	}
	f := s.weight(reml)
	for _, at := range t.at {
		for a := range q {
			for c := range a + 1 {
				w[a*q+c] -= f * s.g[at+a] * s.g[at+c]
			}
		}
	}
	matrix{q, w}.mirror()
}

// bendRest adds schur - schur Q schur over the levels' blocks.
func (s *Space) bendRest(t *term, k int, w []float64) {
	first := s.p.effects - s.p.rest
	v := s.scratch.row[:k]
	for _, at := range t.at {
		for a := range t.q {
			row := s.schur.row(at - first + a)
			for j := range k {
				v[j] = dot(s.inv.row(j)[:k], row)
			}
			for c := range a + 1 {
				w[a*t.q+c] += row[at-first+c] - dot(v, s.schur.row(at-first+c))
			}
		}
	}
}

// bendBlock adds Z'Z - R'R - F Q F' over the levels of term i in one block, with R and F as in differentiate.
func (s *Space) bendBlock(b *block, i int, reml bool, k int, w []float64) {
	p, n, q := s.p, b.size, s.p.terms[i].q
	r := s.blockProducts(b)
	met := len(b.cols)
	if !reml {
		met -= p.p
	}
	f := s.blockFree(b, r, met)
	for _, x := range b.members {
		if x.term != i {
			continue
		}
		for a := range q {
			v := s.throughQ(f[(x.row+a)*met:(x.row+a+1)*met], b.cols[:met], k)
			for c := range a + 1 {
				sum := p.zz[b.zz+(x.row+a)*n+x.row+c] - dot(v, f[(x.row+c)*met:])
				for j := range n {
					sum -= r[j*n+x.row+a] * r[j*n+x.row+c]
				}
				w[a*q+c] += sum
			}
		}
	}
}
