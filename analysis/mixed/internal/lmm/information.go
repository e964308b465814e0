package lmm

// information is the work space of the average information.
type information struct {
	h, f []([]float64) // per theta: r, r+p
	at   matrix        // thetas: the matrix itself, both triangles
	dot  []float64     // thetas: g'h
}

func (w *information) init(p *Problem) {
	for range p.thetas {
		w.h = append(w.h, make([]float64, p.effects))
		w.f = append(w.f, make([]float64, p.effects+p.p))
	}
	w.at = square(p.thetas)
	w.dot = make([]float64, p.thetas)
}

// inform fills info.at with the average information about the scaled thetas, for the criterion (twice that of the
// log-likelihood), sigma^2 profiled out: with g = Z'Py, h_a = (dT/dtheta_a) g and s2 = r2/(n or n-p) it is
//
//	(h_a' Z'PZ h_b - (g'h_a)(g'h_b) / r2) / s2.
func (s *Space) inform(reml bool) {
	s.solve()
	p, r := s.p, s.p.effects
	e := r + p.p
	w := &s.info
	for a := range w.h {
		clear(w.h[a])
	}
	k := 0
	for i := range p.terms {
		t, l := &p.terms[i], s.lambda[i]
		q := t.q
		t.each(func(row, col int) {
			h := w.h[k]
			for j := t.offset; j < t.offset+t.Levels*q; j += q {
				h[j+row] += s.u[j+col]
				for c := col; c < q; c++ {
					h[j+c] += l[c*q+col] * s.g[j+row]
				}
			}
			k++
		})
	}
	clear(w.at.x)
	for a, h := range w.h {
		f := w.f[a]
		w.dot[a] = dot(h, s.g)
		for i := range e {
			f[i] = dot(h, p.cross.row(i))
		}
		for b := range a + 1 {
			w.at.add(a, b, dot(w.h[b], f))
		}
		s.lower(f)
		s.factor.forward(e, f)
	}
	scale := s.weight(reml)
	for a := range w.h {
		for b := range a + 1 {
			v := w.at.at(a, b) - dot(w.f[a], w.f[b]) - w.dot[a]*w.dot[b]/s.r2
			w.at.x[a*w.at.n+b] = v * scale
			w.at.x[b*w.at.n+a] = v * scale
		}
	}
}

// lower overwrites the first r entries of v with Lambda' v.
func (s *Space) lower(v []float64) { s.right(v) }
