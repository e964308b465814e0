package survival

import (
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/survival/internal/law"
)

// RobustCov returns the covariance of Theta that holds when rows of one cluster depend on each other, or the family is not
// quite true: V (sum_c u_c u_c') V times G/(G-1), V the model's covariance, u_c the sum of weighted scores of cluster c, G
// the number of clusters with weight [P4]. Without Cluster each row is a cluster. For 30 clusters or more; below that it is
// too small still. An error (*dataerr.Cell) with fewer than two clusters; NaN where Singular.
func (f *ParametricFit) RobustCov() (*mat.SymDense, error) {
	cov, err := f.robust()
	if err != nil {
		return nil, err
	}
	return f.outerCov(cov), nil
}

// robust is RobustCov about the covariates' means.
func (f *ParametricFit) robust() ([]float64, error) {
	d, m := f.design, f.Params
	subjects := d.subjects()
	sum, clusters := make([]float64, m*m), 0
	score := make([]float64, m)
	shapes := make([]law.Shape, len(d.labels))
	for g := range shapes {
		shapes[g] = d.shapeOf(f.theta, g)
	}
	for c := range subjects.Len() {
		clear(score)
		counts := false
		for _, i := range subjects.Rows(c) {
			if d.weight[i] > 0 {
				d.addScore(i, f.theta, shapes, score)
				counts = true
			}
		}
		if !counts {
			continue
		}
		clusters++
		for j := range m {
			for k := range m {
				sum[j*m+k] += score[j] * score[k]
			}
		}
	}
	if clusters < 2 {
		return nil, &dataerr.Cell{Column: "Cluster", Value: strconv.Itoa(clusters) + " clusters", Err: dataerr.ErrTooFew, Want: "a robust covariance needs two clusters, and 30 to be of use"}
	}
	v := mat.NewDense(m, m, append([]float64(nil), f.cov...))
	var half, whole mat.Dense
	half.Mul(v, mat.NewDense(m, m, sum))
	whole.Mul(&half, v)
	whole.Scale(float64(clusters)/float64(clusters-1), &whole)
	return whole.RawMatrix().Data, nil
}

// subjects are the clusters, or the rows.
func (d *design) subjects() *resample.Subjects {
	label := d.cluster
	if label == nil {
		label = make([]int, len(d.rows))
		for i := range label {
			label[i] = i
		}
	}
	return resample.NewSubjects(label)
}

// addScore adds the weighted gradient of row i.
func (d *design) addScore(i int, theta []float64, shapes []law.Shape, score []float64) {
	x, g := d.x[i*d.p:(i+1)*d.p], int(d.stratum[i])
	var r law.Deriv
	shapes[g].Row(&d.rows[i], inner(x, theta[:d.p]), &r)
	w := d.weight[i]
	for j, v := range x {
		score[j] += w * r.E * v
	}
	if d.family.law().HasScale() {
		score[d.p+g] += w * r.A
	}
	if d.family.law().HasShape() {
		score[d.m-1] += w * r.Q
	}
}
