package lmm

// differentiate fills grad: for each term the q*q matrix W Lambda, W the derivative of the criterion with respect to the
// term's T. With K the system over (u, beta) (over u alone for the deviance) its first part is the sum over levels of the
// blocks of Z'[Z Lambda, X] K^-1, the second -(n or n-p)/r^2 Z'(y - X beta - Z b) u'.
func (s *Space) differentiate(reml bool) {
	s.solve()
	p, k := s.p, s.p.effects
	if reml {
		k += p.p
	}
	s.inv.inverse(s.factor, k, s.low)
	w := s.weight(reml)
	for i := range p.terms {
		t, d := &p.terms[i], s.grad[i]
		q := t.q
		clear(d)
		for j := t.offset; j < t.offset+t.Levels*q; j += q {
			for a := range q {
				h := s.half.row(j + a)[:k]
				for c := range q {
					d[a*q+c] += dot(h, s.inv.row(j+c)) - w*s.g[j+a]*s.u[j+c]
				}
			}
		}
	}
}
