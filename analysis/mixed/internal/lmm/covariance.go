package lmm

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// ModeCovariance is, per level of a term, the q*q block of Lambda M^-1 Lambda', M = Lambda'Z'Z Lambda + I: the covariance
// of b given beta, over sigma^2. Levels*q*q values.
func (s *Space) ModeCovariance(term int) []float64 {
	p := s.p
	d, first := p.rest, p.effects-p.rest
	s.inv.inverse(s.factor, d, s.work)
	s.enclose(d)
	t := &p.terms[term]
	q := t.q
	out := make([]float64, t.Levels*q*q)
	put := func(level, a, c int, v float64) { out[(level*q+a)*q+c] = v / (t.scale[a] * t.scale[c]) }
	for l, at := range t.at {
		if !t.nested {
			for a := range q {
				for c := range q {
					put(l, a, c, s.inv.at(at-first+a, at-first+c))
				}
			}
			continue
		}
		b := &p.blocks[t.block[l]]
		own, through := s.blockModes(b, t, term, at-b.at)
		met := len(b.cols) - p.p
		for a := range q {
			v := s.throughQ(through[a*met:(a+1)*met], b.cols[:met], d)
			for c := range q {
				put(l, a, c, dot(own[a*b.size:(a+1)*b.size], own[c*b.size:])+dot(v, through[c*met:]))
			}
		}
	}
	return out
}

// blockModes is, for the q rows of one level, Lambda L'^-1 (q*s) and that times the coupling with the rest (q*met).
func (s *Space) blockModes(b *block, t *term, i, row int) (own, through []float64) {
	n, q, l, w := b.size, t.q, s.lambda[i], len(b.cols)
	met := w - s.p.p
	own, through = make([]float64, q*n), make([]float64, q*met)
	for a := range q {
		v := own[a*n : (a+1)*n]
		copy(v[row:], l[a*q:a*q+a+1])
		s.blockChol(b).forward(n, v)
		for c, f := range v {
			axpy(f, s.coupled[b.zc+c*w:b.zc+c*w+met], through[a*met:(a+1)*met])
		}
	}
	return own, through
}

// ZtHX is Z' H^-1 X, r*p by rows.
func (s *Space) ZtHX() []float64 {
	p := s.p
	d, place := p.rest, s.places()
	out := make([]float64, p.effects*p.p)
	s.eachSide(func(at int, base []float64, cols []int32, side []float64) {
		i, f := place.index[at], place.scale[at]
		for k := range p.p {
			v := base[len(base)-p.p+k] - dot(side, s.factor.row(d+k))
			out[i*p.p+k] = v * f * p.xscale[k]
		}
	})
	return out
}

// ZtHZ is Z' H^-1 Z, r*r. It is dense: r^2 values.
func (s *Space) ZtHZ() *mat.SymDense {
	p := s.p
	r, d, place := p.effects, p.rest, s.places()
	first := r - d
	base := mat.NewSymDense(r, nil)
	sides := make([]float64, max(r*d, 1))
	set := func(a, b int, v float64) {
		base.SetSym(place.index[a], place.index[b], v*place.scale[a]*place.scale[b])
	}
	s.eachSide(func(at int, row []float64, cols []int32, side []float64) {
		to := sides[place.index[at]*d : (place.index[at]+1)*d]
		copy(to, side)
		scale(place.scale[at], to)
		for k, c := range cols[:len(cols)-p.p] {
			set(at, first+int(c), row[k])
		}
	})
	for i := range p.blocks {
		b := &p.blocks[i]
		n, x := b.size, s.blockProducts(b)
		for a := range n {
			for c := range a + 1 {
				v := p.zz[b.zz+a*n+c]
				for k := range n {
					v -= x[k*n+a] * x[k*n+c]
				}
				set(b.at+a, b.at+c, v)
			}
		}
	}
	if d > 0 {
		blas64.Syrk(blas.NoTrans, -1, blas64.General{Rows: r, Cols: d, Stride: d, Data: sides}, 1, base.RawSymmetric())
	}
	return base
}

// eachSide visits the random effects in the kernel's order: base is what H of the blocks alone leaves of the products with
// the columns met (cols; those of X at the end), side (d) turns these into products with the whole H:
// Z'H^-1 [Z_rest, X] = base - side times L^-1 [Lambda' base of the rest].
func (s *Space) eachSide(visit func(at int, base []float64, cols []int32, side []float64)) {
	p := s.p
	d, e := p.rest, p.rest+p.p
	side := make([]float64, d)
	finish := func(at int, base []float64, cols []int32) {
		clear(side)
		for k, c := range cols[:len(cols)-p.p] {
			side[c] = base[k]
		}
		s.right(side)
		s.factor.forward(d, side)
		visit(at, base, cols, side)
	}
	for i := range p.blocks {
		b := &p.blocks[i]
		w := len(b.cols)
		f := s.blockFree(b, s.blockProducts(b), w)
		for a := range b.size {
			finish(b.at+a, f[a*w:(a+1)*w], b.cols)
		}
	}
	all := make([]int32, e)
	for i := range all {
		all[i] = int32(i)
	}
	for i := range d {
		finish(p.effects-d+i, s.schur.row(i)[:e], all)
	}
}

// places is where the kernel's effects stand in the caller's order, and their column's scale.
func (s *Space) places() (out struct {
	index []int
	scale []float64
}) {
	out.index, out.scale = make([]int, s.p.effects), make([]float64, s.p.effects)
	s.eachEffect(func(i, at int, scale float64) { out.index[at], out.scale[at] = i, scale })
	return out
}
