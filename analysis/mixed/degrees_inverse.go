package mixed

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// flattest is the smallest eigenvalue of a scaled information matrix, as a share of the largest, that counts as information.
const flattest = 1e-10

// inverse gives the covariance of the variance parameters, twice the inverse of info, second derivatives of a criterion that
// is -2 log-likelihood. info is scaled to a diagonal of ones first, so that units do not matter. What carries no
// information (a second derivative, or an eigenvalue, that is not above 0) is left out, and named in flat.
func (o *optimum) inverse(info []float64, dirs []direction, kind string) (cov []float64, flat []string) {
	m := len(dirs) + 1
	scale := make([]float64, m)
	var use []int
	for i := range m {
		if v := info[i*m+i]; v > 0 && !math.IsInf(v, 1) {
			scale[i] = math.Sqrt(v)
			use = append(use, i)
		} else if i == 0 {
			flat = append(flat, "the "+kind+" information about the residual variance is not above 0")
		} else {
			flat = append(flat, fmt.Sprintf("%s: the %s information about a variance is not above 0; its uncertainty is left out", o.blocks[dirs[i-1].term].group, kind))
		}
	}
	small := mat.NewSymDense(len(use), nil)
	for a, i := range use {
		for b, j := range use[:a+1] {
			small.SetSym(a, b, info[i*m+j]/(scale[i]*scale[j]))
		}
	}
	cov = make([]float64, m*m)
	var eigen mat.EigenSym
	if !eigen.Factorize(small, true) {
		return cov, append(flat, "the "+kind+" information about the variances could not be inverted")
	}
	values := eigen.Values(nil)
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for k, v := range values {
		if !(v > flattest*values[len(values)-1]) {
			flat = append(flat, "the "+kind+" information about the variances is singular; the uncertainty of one combination of them is left out")
			continue
		}
		for a, i := range use {
			for b, j := range use {
				cov[i*m+j] += 2 * vectors.At(a, k) * vectors.At(b, k) / (v * scale[i] * scale[j])
			}
		}
	}
	return cov, flat
}
