package mixed

import (
	"slices"

	"gonum.org/v1/gonum/mat"
)

// V is linear in s^2 and the entries of the covariance matrices. Nothing below depends on the basis chosen for the ways V
// may move, so V itself stands for s^2 and s^2 Z D_i Z' for the others. Then, with A = s^2 Z'PZ as in projected,
//
//	tr(P V P V) = n - p,   tr(P V P V_i) = tr(A D_i),   tr(P V_i P V_j) = tr(A D_i A D_j),
//	Q_ij - P_i C P_j = B'D_i A D_j B / s^2, and 0 where i or j is V,
//
// in the letters of Kenward and Roger [12]: P_i = -X'V^-1 V_i V^-1 X, Q_ij = X'V^-1 V_i V^-1 V_j V^-1 X, W = 2 (tr(P V_i P V_j))^-1.
// The adjusted covariance is C + 2 C [sum_ij W_ij (Q_ij - P_i C P_j)] C. Their second derivatives of V are 0.

// kenwardRoger prepares the method of Kenward and Roger. Where hold, covariances on their boundary are not moved.
func (o *optimum) kenwardRoger(hold bool) *Degrees {
	method, dirs := KenwardRoger, o.entries()
	held := o.held()
	if hold {
		method = KenwardRogerDropped
		dirs, _ = o.face()
	} else if o.singular != nil {
		held = append(slices.Clone(o.singular), "variances on their boundary count as if they could move")
	}
	d := o.degrees(method, dirs)
	d.notes = held
	m := len(dirs) + 1
	info := make([]float64, m*m)
	info[0] = float64(o.n - o.p)
	var a *mat.Dense
	if len(dirs) > 0 {
		a = o.projected()
		of := o.summed(a)
		for i, di := range dirs {
			info[i+1] = of.trace(di)
			info[(i+1)*m] = info[i+1]
			for j, dj := range dirs[:i+1] {
				v := of.traceOfTwo(di, dj)
				info[(i+1)*m+j+1], info[(j+1)*m+i+1] = v, v
			}
		}
	}
	var flat []string
	d.spread, flat = o.inverse(info, dirs, "expected")
	d.notes = append(d.notes, flat...)
	if len(dirs) > 0 {
		d.cov = o.adjusted(a, dirs, d.spread)
	}
	return d
}

// adjusted is s^2 (U + 2 U [sum_ij W_ij B'D_i A D_j B] U). The bracket has no negative eigenvalue.
func (o *optimum) adjusted(a *mat.Dense, dirs []direction, w []float64) []float64 {
	m := len(dirs) + 1
	k, _ := a.Dims()
	moved, pulled := make([]*mat.Dense, len(dirs)), make([]mat.Dense, len(dirs))
	for i, dir := range dirs {
		b := &o.blocks[dir.term]
		moved[i] = turned(o.zx.Slice(b.at, b.at+b.size(), 0, o.p), b.q(), dir.d)
		pulled[i].Mul(a.Slice(0, k, b.at, b.at+b.size()), moved[i])
	}
	sum := mat.NewDense(o.p, o.p, nil)
	for i, dir := range dirs {
		b := &o.blocks[dir.term]
		mixed := mat.NewDense(b.size(), o.p, nil) // sum_j W_ij A D_j B, the rows of this term
		var part mat.Dense
		for j := range dirs {
			part.Scale(w[(i+1)*m+j+1], pulled[j].Slice(b.at, b.at+b.size(), 0, o.p))
			mixed.Add(mixed, &part)
		}
		part.Reset()
		part.Mul(moved[i].T(), mixed)
		sum.Add(sum, &part)
	}
	u := mat.NewDense(o.p, o.p, o.unscaled)
	var usu mat.Dense
	usu.Mul(u, sum)
	usu.Mul(&usu, u)
	out := make([]float64, o.p*o.p)
	for i := range o.p {
		for j := range o.p {
			out[i*o.p+j] = o.sigma * o.sigma * (o.unscaled[i*o.p+j] + usu.At(i, j) + usu.At(j, i))
		}
	}
	return out
}
