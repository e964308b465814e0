package lmm

import "gonum.org/v1/gonum/mat"

// smallestEigen is the smallest eigenvalue of the symmetric part of w (q*q), its unit vector in v.
func smallestEigen(w []float64, q int, v []float64) float64 {
	a := mat.NewSymDense(q, nil)
	for i := range q {
		for j := range i + 1 {
			a.SetSym(i, j, (w[i*q+j]+w[j*q+i])/2)
		}
	}
	var e mat.EigenSym
	if !e.Factorize(a, true) {
		return 0
	}
	var vectors mat.Dense
	e.VectorsTo(&vectors)
	for i := range v {
		v[i] = vectors.At(i, 0)
	}
	return e.Values(nil)[0]
}
