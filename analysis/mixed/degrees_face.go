package mixed

import (
	"math"
	"slices"
)

// What counts as 0, as in Singular: a variance as a share of the residual variance (after the column is scaled to mean
// square 1), and the part of a variance that the columns before it leave free, as a share of it.
const (
	noVariance = flatness * flatness
	noFreedom  = flatness * flatness
)

// face is the smallest set of covariance matrices, closed under moving a little, that holds the estimate: a variance at 0
// stays at 0, a perfect correlation stays perfect. Its directions are the derivatives of T = Lambda Lambda' by elements of
// Lambda, which is brought into echelon form first: columns of 0 last, and above the pivot of its row an element is fixed,
// so that no two directions say the same.
func (o *optimum) face() (dirs []direction, lambda [][]float64) {
	lambda = make([][]float64, len(o.blocks))
	for t := range o.blocks {
		b := &o.blocks[t]
		own, l := b.face()
		for i := range own {
			own[i].term = t
		}
		dirs, lambda[t] = append(dirs, own...), l
	}
	return dirs, lambda
}

func (b *block) face() (dirs []direction, l []float64) {
	q := b.q()
	t := crossproduct(b.lambda, q)
	alive := make([]bool, q)
	for j := range q {
		alive[j] = t[j*q+j]*b.scale[j] > noVariance
	}
	if b.independent {
		l = make([]float64, q*q)
		for j := range q {
			if alive[j] {
				l[j*q+j] = math.Sqrt(t[j*q+j])
				dirs = append(dirs, element(l, q, j, j))
			}
		}
		return dirs, l
	}
	l, pivots := echelon(t, q, alive)
	for c := range pivots {
		for i := range q {
			if alive[i] && !slices.Contains(pivots[:c], i) {
				dirs = append(dirs, element(l, q, i, c))
			}
		}
	}
	return dirs, l
}

// element is the derivative of l l' by one element of l.
func element(l []float64, q, row, col int) direction {
	d := make([]float64, q*q)
	for j := range q {
		d[row*q+j] += l[j*q+col]
		d[j*q+row] += l[j*q+col]
	}
	return direction{d: d, row: row, col: col}
}

// crossproduct is l l' of a q*q matrix.
func crossproduct(l []float64, q int) []float64 {
	t := make([]float64, q*q)
	for i := range q {
		for j := range q {
			t[i*q+j] = inner(l[i*q:][:q], l[j*q:][:q])
		}
	}
	return t
}

// echelon finds l with l l' = t over the rows alive: column c has its first element at row pivots[c], pivots rise, the
// columns after the last pivot are 0.
func echelon(t []float64, q int, alive []bool) (l []float64, pivots []int) {
	l = make([]float64, q*q)
	for j := range q {
		if !alive[j] {
			continue
		}
		c := len(pivots)
		left := t[j*q+j] - inner(l[j*q:][:c], l[j*q:][:c])
		if left <= noFreedom*t[j*q+j] {
			continue
		}
		root := math.Sqrt(left)
		l[j*q+c] = root
		for i := j + 1; i < q; i++ {
			if alive[i] {
				l[i*q+c] = (t[i*q+j] - inner(l[i*q:][:c], l[j*q:][:c])) / root
			}
		}
		pivots = append(pivots, j)
	}
	return l, pivots
}

// entries are the directions that move one variance or covariance each, whether it is 0 or not: all the ways in which the
// covariance matrices may move.
func (o *optimum) entries() []direction {
	var dirs []direction
	for t := range o.blocks {
		b := &o.blocks[t]
		q := b.q()
		for i := range q {
			for j := range i + 1 {
				if i != j && b.independent {
					continue
				}
				d := make([]float64, q*q)
				d[i*q+j], d[j*q+i] = 1, 1
				dirs = append(dirs, direction{term: t, d: d, row: -1, col: -1})
			}
		}
	}
	return dirs
}
