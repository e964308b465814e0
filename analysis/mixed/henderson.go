package mixed

import "math"

// henderson solves parts of Henderson's equations at the optimum. With T = Lambda Lambda' and B = T Z' H^-1 X the error of
// (beta, b) has, over sigma^2, the covariance
//
//	beta: U = (X' H^-1 X)^-1    beta, b: -U B'    b: Lambda M^-1 Lambda' + B U B'
//
// so that x beta + z b has (x - B'z)' U (x - B'z) + z' Lambda M^-1 Lambda' z.
type henderson struct {
	f      *Fit
	modes  []float64 // all random effects
	lambda [][]float64
	term   []int // of each effect
	cross  []sparseRow
	pc     []float64   // diagonal of M
	b, c   []float64   // Lambda v, Z'Z Lambda v
	cg     [][]float64 // work of the solver
}

// henderson prepares; named says that random effects will be asked for.
func (f *Fit) henderson(named bool) *henderson {
	h := &henderson{f: f}
	if !named {
		return h
	}
	h.modes, h.term = make([]float64, f.problem.Effects()), make([]int, f.problem.Effects())
	for k, g := range f.groups {
		offset := f.problem.Offset(k)
		copy(h.modes[offset:], f.modes[k])
		for i := range f.modes[k] {
			h.term[offset+i] = k
		}
		h.lambda = append(h.lambda, f.lambda(g))
	}
	return h
}

// given subtracts B'z from x and gives z' Lambda M^-1 Lambda' z.
func (h *henderson) given(row effectRow, x []float64) float64 {
	tz := h.relative(row)
	p := len(x)
	for k, at := range tz.at {
		for j := range x {
			x[j] -= tz.z[k] * h.f.ztHX[at*p+j]
		}
	}
	first := h.term[row.at[0]]
	if h.term[row.at[len(row.at)-1]] == first { // one level of one term: the kernel has that block
		q := len(h.f.groups[first].names)
		level := (row.at[0] - h.f.problem.Offset(first)) / q
		block, s := h.f.modeCov[first][level*q*q:], 0.0
		for i, v := range row.z {
			for j, w := range row.z {
				s += v * w * block[i*q+j]
			}
		}
		return s
	}
	return h.solve(row)
}

// relative gives T z.
func (h *henderson) relative(row effectRow) effectRow {
	out := effectRow{at: row.at, z: make([]float64, len(row.z))}
	h.blocks(row.at, func(from, q int, l []float64) {
		u := make([]float64, q)
		for j := range q {
			for i := j; i < q; i++ {
				u[j] += l[i*q+j] * row.z[from+i]
			}
		}
		for i := range q {
			for j := range i + 1 {
				out.z[from+i] += l[i*q+j] * u[j]
			}
		}
	})
	return out
}

// blocks calls do for each level in a row: its first place, the number of its columns and Lambda.
func (h *henderson) blocks(at []int, do func(from, q int, l []float64)) {
	for from := 0; from < len(at); {
		k := h.term[at[from]]
		q := len(h.f.groups[k].names)
		do(from, q, h.lambda[k])
		from += q
	}
}

// solve gives w' M^-1 w for w = Lambda' z by conjugate gradients [9], M = Lambda' Z'Z Lambda + I with its diagonal as
// preconditioner. M has no eigenvalue below 1, so that the residual bounds the error.
func (h *henderson) solve(row effectRow) float64 {
	n := len(h.term)
	if h.cross == nil {
		h.cross = h.f.crossProducts()
		h.pc, h.b, h.c = h.diagonal(), make([]float64, n), make([]float64, n)
		h.cg = [][]float64{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	}
	w, u, r, s, d, md := h.cg[0], h.cg[1], h.cg[2], h.cg[3], h.cg[4], h.cg[5]
	clear(w)
	clear(u)
	h.blocks(row.at, func(from, q int, l []float64) {
		for j := range q {
			for i := j; i < q; i++ {
				w[row.at[from]+j] += l[i*q+j] * row.z[from+i]
			}
		}
	})
	copy(r, w)
	for i := range s {
		s[i] = r[i] / h.pc[i]
	}
	copy(d, s)
	rs, goal := inner(r, s), 1e-14*norm(w)
	for step := 0; step < 10*n+100 && norm(r) > goal; step++ {
		h.multiply(d, md)
		a := rs / inner(d, md)
		for i := range u {
			u[i] += a * d[i]
			r[i] -= a * md[i]
			s[i] = r[i] / h.pc[i]
		}
		next := inner(r, s)
		for i := range d {
			d[i] = s[i] + next/rs*d[i]
		}
		rs = next
	}
	return inner(w, u)
}

// multiply sets out = M v.
func (h *henderson) multiply(v, out []float64) {
	b, c := h.b, h.c
	clear(b)
	h.each(func(at, q int, l []float64) {
		for i := range q {
			for j := range i + 1 {
				b[at+i] += l[i*q+j] * v[at+j]
			}
		}
	})
	for i, row := range h.cross {
		sum := 0.0
		for k, at := range row.at {
			sum += row.v[k] * b[at]
		}
		c[i] = sum
	}
	copy(out, v)
	h.each(func(at, q int, l []float64) {
		for j := range q {
			for i := j; i < q; i++ {
				out[at+j] += l[i*q+j] * c[at+i]
			}
		}
	})
}

// each calls do for every level of every term.
func (h *henderson) each(do func(at, q int, l []float64)) {
	for k, g := range h.f.groups {
		q, offset := len(g.names), h.f.problem.Offset(k)
		for level := range g.levels {
			do(offset+level*q, q, h.lambda[k])
		}
	}
}

// diagonal gives the diagonal of M.
func (h *henderson) diagonal() []float64 {
	out := make([]float64, len(h.term))
	h.each(func(at, q int, l []float64) {
		for j := range q {
			s := 1.0
			for i := j; i < q; i++ {
				for k := j; k < q; k++ {
					s += l[i*q+j] * l[k*q+j] * h.cross[at+i].value(at+k)
				}
			}
			out[at+j] = math.Max(s, 1)
		}
	})
	return out
}
