package multiplicity

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// companion is a structure with a law that is known without points, near the correlations of a group: a few missing rows turn
// comparisons with one control, or all pairs, into matrices that are nearly but not quite of that form. Points then have to
// tell the small difference only (a control variate).
type companion struct {
	law  part
	corr *mat.SymDense
}

// nearEnough is how far a correlation may be from that of its companion.
const nearEnough = 0.06

// nearest finds a companion, nil when there is none.
func nearest(corr mat.Symmetric, group []int, both bool) *companion {
	if both {
		if k, c := pairsCorrelation(corr, group); c != nil && far(corr, group, c) <= nearEnough {
			return &companion{pairs{k}, c}
		}
	}
	l := fittedLoads(corr, group)
	c := mat.NewSymDense(len(group), nil)
	for i := range group {
		c.SetSym(i, i, 1)
		for j := range i {
			c.SetSym(i, j, l[i]*l[j])
		}
	}
	if far(corr, group, c) > nearEnough {
		return nil
	}
	return &companion{newProduct(l, both), c}
}

// far is the largest difference between the correlations of the group and c.
func far(corr mat.Symmetric, group []int, c *mat.SymDense) float64 {
	out := 0.0
	for i, gi := range group {
		for j, gj := range group[:i] {
			out = max(out, math.Abs(corr.At(gi, gj)-c.At(i, j)))
		}
	}
	return out
}

// fittedLoads minimises sum over i != j of (corr_ij - l_i l_j)^2, load by load; none is nearer to 1 than points can follow.
func fittedLoads(corr mat.Symmetric, group []int) []float64 {
	l := make([]float64, len(group))
	for i := range l { // start from the signs of the first row
		l[i] = math.Copysign(0.7, corr.At(group[0], group[i]))
	}
	for range 50 {
		for i := range l {
			var up, down float64
			for j := range l {
				if j != i {
					up += corr.At(group[i], group[j]) * l[j]
					down += l[j] * l[j]
				}
			}
			if down > 0 {
				l[i] = max(-0.97, min(0.97, up/down))
			}
		}
	}
	return l
}

// aligned gives directions of the companion in the space of rows, turned to be as near to them as can be (Procrustes); both
// get as many coordinates.
func (c *companion) aligned(rows [][]float64) (own, turned [][]float64, ok bool) {
	all := make([]int, len(rows))
	for i := range all {
		all[i] = i
	}
	b, ok := directions(c.corr, all)
	if !ok {
		return nil, nil, false
	}
	rank := max(len(rows[0]), len(b[0]))
	a, other := padded(rows, rank), padded(b, rank)
	var cross mat.Dense
	cross.Mul(other.T(), a)
	var svd mat.SVD
	if !svd.Factorize(&cross, mat.SVDFull) {
		return nil, nil, false
	}
	var u, v, turn, out mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	turn.Mul(&u, v.T())
	out.Mul(other, &turn)
	for i := range rows {
		own = append(own, a.RawRowView(i))
		turned = append(turned, out.RawRowView(i))
	}
	return own, turned, true
}

// padded is a matrix of the rows with zeros up to so many columns.
func padded(rows [][]float64, columns int) *mat.Dense {
	m := mat.NewDense(len(rows), columns, nil)
	for i, r := range rows {
		for k, v := range r {
			m.Set(i, k, v)
		}
	}
	return m
}
