package mixed

import "math"

// dependence says that a column is a combination of the first len(coef) independent ones, but for a share of its length.
type dependence struct {
	column int
	coef   []float64
	own    float64
}

// elimination parts columns by what those before leave of them.
type elimination struct {
	kept    []int
	dropped []dependence // own below alike
	near    []dependence // among the kept, own below doubtful
}

// Shares of a column's length that the columns before it leave: below alike it is rounding; below unsafe too few digits are
// left for sums of squares, which are what everything rests on; below doubtful some are lost.
const (
	alike    = 1e-10
	unsafe   = 1e-5
	doubtful = 1e-4
)

// independent parts columns into those that are linearly independent of the ones before them and the rest.
func independent(columns [][]float64) (kept []int, dropped []dependence) {
	e := eliminate(columns)
	return e.kept, e.dropped
}

// eliminate is a Householder QR decomposition in the order given, a column moving to the end when less than alike of its
// length is left (the limited pivoting of LINPACK's dqrdc2 [7]). Scale does not matter: columns are brought to length 1
// first.
func eliminate(columns [][]float64) (e elimination) {
	var reflectors, r [][]float64 // r: columns of R of the kept
	length := make([]float64, len(columns))
	combine := func(j int, v []float64, own float64) dependence {
		coef := solveUpper(r[:len(v)], v)
		for k := range coef { // on the scale of the columns; what is rounding beside the whole becomes 0
			if math.Abs(coef[k]) < 10*max(alike, own) {
				coef[k] = 0
			}
			coef[k] *= length[j] / length[e.kept[k]]
		}
		return dependence{j, coef, own}
	}
	for j, c := range columns {
		v, k := make([]float64, len(c)), len(e.kept)
		if length[j] = norm(c); length[j] > 0 {
			for i := range c {
				v[i] = c[i] / length[j]
			}
		}
		for l, h := range reflectors {
			mirror(h, v[l:])
		}
		own := 0.0
		if k < len(v) {
			own = norm(v[k:])
		}
		if own < alike {
			e.dropped = append(e.dropped, combine(j, v[:min(k, len(v))], own))
			continue
		}
		if own < doubtful {
			e.near = append(e.near, combine(j, v[:k], own))
		}
		h := append([]float64{}, v[k:]...)
		h[0] += math.Copysign(own, h[0])
		mirror(h, v[k:])
		reflectors, r, e.kept = append(reflectors, h), append(r, v[:k+1]), append(e.kept, j)
	}
	return e
}

// solveUpper solves R c = v for the columns r of R.
func solveUpper(r [][]float64, v []float64) []float64 {
	c := make([]float64, len(r))
	for k := len(r) - 1; k >= 0; k-- {
		s := v[k]
		for l := k + 1; l < len(r); l++ {
			s -= r[l][k] * c[l]
		}
		c[k] = s / r[k][k]
	}
	return c
}
