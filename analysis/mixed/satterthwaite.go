package mixed

import "gonum.org/v1/gonum/mat"

// The variance parameters are r = log s^2 and the elements of the face, that is of Lambda. With N = n - p and A as in
// projected (ML: N = n, and G for A in the traces of L), e = Z'H^-1 (y - X b), D_i = dT/dlambda_i, the criterion is
// N r + L(T) + R(T) exp(-r), and at its minimum, where R exp(-r) = N,
//
//	d2/dr dr     = N
//	d2/dr di     = e'D_i e / s^2
//	d2/di dj     = -tr(A D_i A D_j) + tr(A D_ij) + (2 e'D_i A D_j e - e'D_ij e) / s^2.
//
// The covariance C = s^2 U of the fixed effects has dC/dr = C and dC/di = s^2 U B'D_i B U.

// satterthwaite prepares Satterthwaite's degrees of freedom [10] from the observed information.
func (o *optimum) satterthwaite() *Degrees {
	dirs, lambda := o.face()
	var info []float64
	if o.zz != nil || len(dirs) == 0 {
		info = o.information(dirs)
	} else {
		info, dirs = o.differenced(dirs, lambda)
	}
	d := o.degrees(Satterthwaite, dirs)
	var flat []string
	d.spread, flat = o.inverse(info, dirs, "observed")
	d.notes = append(d.notes, o.held()...)
	d.notes = append(d.notes, flat...)
	return d
}

// information is the matrix of second derivatives above, (m+1)*(m+1), r first.
func (o *optimum) information(dirs []direction) []float64 {
	m := len(dirs) + 1
	out := make([]float64, m*m)
	out[0] = o.weight()
	if len(dirs) == 0 {
		return out
	}
	s2 := o.sigma * o.sigma
	a := o.projected()
	of := o.summed(a)
	if !o.reml {
		var g mat.Dense
		g.CloneFrom(o.zz)
		of = o.summed(&g)
	}
	ee := o.squares(o.zr)
	moved, pulled := make([]*mat.VecDense, len(dirs)), make([]mat.VecDense, len(dirs))
	for i, dir := range dirs {
		moved[i] = o.moved(dir)
		pulled[i].MulVec(a, moved[i])
	}
	for i, di := range dirs {
		cross := inner(di.d, ee[di.term]) / s2
		out[i+1], out[(i+1)*m] = cross, cross
		for j, dj := range dirs[:i+1] {
			v := -of.traceOfTwo(di, dj) + 2*mat.Dot(moved[i], &pulled[j])/s2
			if di.term == dj.term && di.col == dj.col { // D_ij = e_i e_j' + e_j e_i', of two rows of one column of Lambda
				at := di.row*o.blocks[di.term].q() + dj.row
				v += 2 * (of.first[di.term][at] - ee[di.term][at]/s2)
			}
			out[(i+1)*m+j+1], out[(j+1)*m+i+1] = v, v
		}
	}
	return out
}

// moved is D e over all effects.
func (o *optimum) moved(dir direction) *mat.VecDense {
	b := &o.blocks[dir.term]
	out := mat.NewVecDense(len(o.zr), nil)
	part := mat.NewVecDense(b.size(), o.zr[b.at:b.at+b.size()])
	copy(out.RawVector().Data[b.at:], turned(part, b.q(), dir.d).RawMatrix().Data)
	return out
}
