package mixed

import "gonum.org/v1/gonum/mat"

// sums holds what traces over a symmetric k*k matrix A come to once levels are summed out. With A_ab the q*w block of level
// a of term t and level b of term s,
//
//	first[t][i,j]            = sum_a  A_aa[i,j]                       so that tr(A D)     = sum d[i,j] first[t][i,j]
//	second[t][s][i,j,u,v]    = sum_ab A_ab[i,u] A_ab[j,v]  (t <= s)   so that tr(A D A E) = sum d[i,j] e[u,v] second[t][s][i,j,u,v]
//
// for D = I kron d in term t and E = I kron e in term s.
type sums struct {
	first  [][]float64
	second [][][]float64
}

// summed makes the sums of a, as of o's terms.
func (o *optimum) summed(a *mat.Dense) sums {
	out := sums{first: make([][]float64, len(o.blocks)), second: make([][][]float64, len(o.blocks))}
	raw := a.RawMatrix()
	for t := range o.blocks {
		b := &o.blocks[t]
		q := b.q()
		out.first[t] = make([]float64, q*q)
		for first := b.at; first < b.at+b.size(); first += q {
			for i := range q {
				for j := range q {
					out.first[t][i*q+j] += raw.Data[(first+i)*raw.Stride+first+j]
				}
			}
		}
		out.second[t] = make([][]float64, len(o.blocks))
		for s := t; s < len(o.blocks); s++ {
			out.second[t][s] = crossed(raw.Data, raw.Stride, b, &o.blocks[s])
		}
	}
	return out
}

// crossed is second[t][s].
func crossed(a []float64, stride int, t, s *block) []float64 {
	q, w, size := t.q(), s.q(), s.size()
	out := make([]float64, q*q*w*w)
	for first := t.at; first < t.at+t.size(); first += q {
		for i := range q {
			x := a[(first+i)*stride+s.at:][:size]
			for j := range i + 1 { // [i,j,u,v] = [j,i,v,u]
				y := a[(first+j)*stride+s.at:][:size]
				to := out[(i*q+j)*w*w:][:w*w]
				products(x, y, w, to)
			}
		}
	}
	for i := range q {
		for j := range i {
			for u := range w {
				for v := range w {
					out[((j*q+i)*w+v)*w+u] = out[((i*q+j)*w+u)*w+v]
				}
			}
		}
	}
	return out
}

// products adds sum_b x[b,u] y[b,v] to to[u,v].
func products(x, y []float64, w int, to []float64) {
	if w == 1 {
		sum := 0.0
		for i, v := range x {
			sum += v * y[i]
		}
		to[0] += sum
		return
	}
	for b := 0; b < len(x); b += w {
		for u := range w {
			xu := x[b+u]
			for v := range w {
				to[u*w+v] += xu * y[b+v]
			}
		}
	}
}

// trace is tr(A D).
func (s *sums) trace(dir direction) float64 { return inner(dir.d, s.first[dir.term]) }

// traceOfTwo is tr(A D A E).
func (s *sums) traceOfTwo(d, e direction) float64 {
	if d.term > e.term {
		d, e = e, d
	}
	second, sum := s.second[d.term][e.term], 0.0
	for i, v := range d.d {
		if v != 0 {
			sum += v * inner(e.d, second[i*len(e.d):][:len(e.d)])
		}
	}
	return sum
}

// squares is sum_a e_a e_a' of each term: e'DE e and the like come from it as traces do.
func (o *optimum) squares(e []float64) [][]float64 {
	out := make([][]float64, len(o.blocks))
	for t := range o.blocks {
		b := &o.blocks[t]
		out[t] = make([]float64, b.q()*b.q())
		products(e[b.at:b.at+b.size()], e[b.at:b.at+b.size()], b.q(), out[t])
	}
	return out
}
