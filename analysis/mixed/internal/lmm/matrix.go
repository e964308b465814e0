package lmm

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
)

// matrix is a square matrix by rows.
type matrix struct {
	n int
	x []float64
}

func square(n int) matrix                { return matrix{n, make([]float64, n*n)} }
func (m matrix) row(i int) []float64     { return m.x[i*m.n : (i+1)*m.n] }
func (m matrix) at(i, j int) float64     { return m.x[i*m.n+j] }
func (m matrix) add(i, j int, v float64) { m.x[i*m.n+j] += v }

// mirror copies the lower triangle to the upper one.
func (m matrix) mirror() {
	for i := range m.n {
		for j := range i {
			m.x[j*m.n+i] = m.x[i*m.n+j]
		}
	}
}

// dot is a'b over the length of a.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	if len(a) > 16 {
		return blas64.Dot(blas64.Vector{N: len(a), Inc: 1, Data: a}, blas64.Vector{N: len(b), Inc: 1, Data: b})
	}
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// axpy adds f a to b.
func axpy(f float64, a, b []float64) {
	b = b[:len(a)]
	for i, v := range a {
		b[i] += f * v
	}
}

// scale multiplies a with f.
func scale(f float64, a []float64) {
	for i := range a {
		a[i] *= f
	}
}

// cholesky overwrites the lower triangle of the leading k rows with their Cholesky factor. The first `ones` rows belong to
// a matrix with ones added to its diagonal, so that their pivots are at least 1 whatever rounding makes of them; of the
// others it returns the first whose pivot is not above tolerance times its diagonal, or -1.
func (m matrix) cholesky(k, ones int, tolerance float64) int {
	for i := range k {
		ri := m.row(i)
		for j := range i {
			ri[j] = (ri[j] - dot(ri[:j], m.row(j))) / m.at(j, j)
		}
		was := ri[i]
		d := was - dot(ri[:i], ri)
		if i < ones {
			d = max(d, 1)
		} else if !(d > tolerance*was) {
			return i
		}
		ri[i] = math.Sqrt(d)
	}
	return -1
}

// dependent is the share of a column's square that must remain once the columns before it are taken out.
const dependent = 1e-13

// forward overwrites v with L^-1 v, L the leading k rows of the lower triangle.
func (m matrix) forward(k int, v []float64) {
	for i := range k {
		ri := m.row(i)
		v[i] = (v[i] - dot(ri[:i], v)) / ri[i]
	}
}

// backward overwrites v with L'^-1 v.
func (m matrix) backward(k int, v []float64) {
	for i := k - 1; i >= 0; i-- {
		ri := m.row(i)
		v[i] /= ri[i]
		axpy(-v[i], ri[:i], v)
	}
}

// forwardRows overwrites the matrix of m.n rows of w values with L^-1 times it, backwardRows with L'^-1 times it.
func (m matrix) forwardRows(x []float64, w int) {
	for i := range m.n {
		row := x[i*w : (i+1)*w]
		for j, f := range m.row(i)[:i] {
			axpy(-f, x[j*w:(j+1)*w], row)
		}
		scale(1/m.at(i, i), row)
	}
}

func (m matrix) backwardRows(x []float64, w int) {
	for i := m.n - 1; i >= 0; i-- {
		row := x[i*w : (i+1)*w]
		scale(1/m.at(i, i), row)
		for j, f := range m.row(i)[:i] {
			axpy(-f, row, x[j*w:(j+1)*w])
		}
	}
}

// inverse writes (L L')^-1 of the leading k rows of l to m, both triangles. low is work space of the same size.
func (m matrix) inverse(l matrix, k int, low matrix) {
	for i := range k { // low = L^-1
		ri, li := low.row(i)[:i+1], l.row(i)
		clear(ri)
		for j := range i {
			axpy(-li[j], low.row(j)[:j+1], ri)
		}
		for j := range i {
			ri[j] /= li[i]
		}
		ri[i] = 1 / li[i]
	}
	for i := range k {
		clear(m.row(i)[:k])
	}
	for a := range k { // L'^-1 L^-1: row a of L^-1 times itself
		ra := low.row(a)[:a+1]
		for i, f := range ra {
			axpy(f, ra[:i+1], m.row(i))
		}
	}
	for i := range k {
		for j := range i {
			m.x[j*m.n+i] = m.x[i*m.n+j]
		}
	}
}
