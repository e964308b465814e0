package lmm

import "math"

// eigen is the work space for eigenvalues of small symmetric matrices.
type eigen struct {
	values  []float64 // q
	vectors matrix    // q, one per column
	work    matrix    // q
}

func (e *eigen) init(q int) {
	e.values, e.vectors, e.work = make([]float64, q), square(q), square(q)
}

// factor finds values and vectors of w (q*q by rows) by Jacobi's rotations.
func (e *eigen) factor(w []float64, q int) {
	e.values, e.vectors, e.work = e.values[:q], matrix{q, e.vectors.x[:q*q]}, matrix{q, e.work.x[:q*q]}
	a, v := e.work, e.vectors
	copy(a.x, w)
	clear(v.x)
	for i := range q {
		v.x[i*q+i] = 1
	}
	for range 40 {
		off, all := 0.0, 0.0
		for i := range q {
			all += a.at(i, i) * a.at(i, i)
			for j := range i {
				off += a.at(i, j) * a.at(i, j)
			}
		}
		if off <= 1e-30*all {
			break
		}
		for i := range q {
			for j := range i {
				e.rotate(j, i)
			}
		}
	}
	for i := range q {
		e.values[i] = a.at(i, i)
	}
}

// rotate makes entry (i, j) 0.
func (e *eigen) rotate(i, j int) {
	a, q := e.work, e.work.n
	if a.at(i, j) == 0 {
		return
	}
	h := (a.at(j, j) - a.at(i, i)) / (2 * a.at(i, j))
	t := 1 / (math.Abs(h) + math.Hypot(h, 1))
	if h < 0 {
		t = -t
	}
	c := 1 / math.Hypot(t, 1)
	s := t * c
	for k := range q {
		x, y := a.at(k, i), a.at(k, j)
		a.x[k*q+i], a.x[k*q+j] = c*x-s*y, s*x+c*y
	}
	for k := range q {
		x, y := a.at(i, k), a.at(j, k)
		a.x[i*q+k], a.x[j*q+k] = c*x-s*y, s*x+c*y
		x, y = e.vectors.at(k, i), e.vectors.at(k, j)
		e.vectors.x[k*q+i], e.vectors.x[k*q+j] = c*x-s*y, s*x+c*y
	}
}

// smallest is the index of the smallest value.
func (e *eigen) smallest() int {
	at := 0
	for k, v := range e.values {
		if v < e.values[at] {
			at = k
		}
	}
	return at
}
