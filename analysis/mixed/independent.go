package mixed

import "math"

// dependence says that a column is a combination of the first len(coef) independent ones.
type dependence struct {
	column int
	coef   []float64
}

// alike is the share of a column's length below which what the columns before it leave of it counts as rounding.
const alike = 1e-7

// independent parts columns into those that are linearly independent of the ones before them and the rest, by Householder
// QR in the order given, a column moving to the end when less than alike of its length is left (the limited pivoting of
// LINPACK's dqrdc2 [7]). Scale does not matter: columns are brought to length 1 first.
func independent(columns [][]float64) (kept []int, dropped []dependence) {
	var reflectors, r [][]float64 // r: columns of R of the kept
	length := make([]float64, len(columns))
	work := make([][]float64, len(columns))
	for j, c := range columns {
		length[j] = norm(c)
		v := make([]float64, len(c))
		if length[j] > 0 {
			for i := range c {
				v[i] = c[i] / length[j]
			}
		}
		work[j] = v
	}
	type left struct{ column, before int } // out of how many kept columns a column is made
	var aside []left
	for j := range columns {
		v, k := work[j], len(kept)
		for l, h := range reflectors {
			mirror(h, v[l:])
		}
		if k >= len(v) || norm(v[k:]) < alike || length[j] == 0 {
			aside = append(aside, left{j, k})
			continue
		}
		h := make([]float64, len(v)-k)
		copy(h, v[k:])
		size := norm(h)
		h[0] += math.Copysign(size, h[0])
		mirror(h, v[k:])
		reflectors, r, kept = append(reflectors, h), append(r, v[:k+1]), append(kept, j)
	}
	for _, a := range aside {
		coef := solveUpper(r[:a.before], work[a.column])
		for k := range coef { // on the scale of the columns; what is rounding beside the whole becomes 0
			if math.Abs(coef[k]) < 10*alike {
				coef[k] = 0
			}
			coef[k] *= length[a.column] / length[kept[k]]
		}
		dropped = append(dropped, dependence{a.column, coef})
	}
	return kept, dropped
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
