package survival

import (
	"errors"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/survival/internal/law"
)

// ErrAliased marks a covariate that is a linear combination of the intercept and earlier covariates.
var ErrAliased = errors.New("is a linear combination of the intercept and earlier covariates")

// sample is what is resampled: rows on the log scale and their weights.
type sample struct {
	rows   []law.Obs
	weight []float64
}

// design is what stays: covariates, strata and the layout of the parameters (coefficients, log scale or shape of each
// stratum, Q).
type design struct {
	sample
	family  Family
	x       []float64 // n x p by rows: 1, then the covariates less their means
	mean    []float64 // p, first 0
	p, m    int       // coefficients; parameters
	stratum []int32   // of each row
	labels  []int     // of the strata, ascending
	cluster []int     // of each row, or nil
	total   float64   // sum of the weights
	used    int       // rows with weight above 0
	spread  float64   // range of the finite logs, 1 where there is none
}

func newDesign(spec Parametric, rows []Interval, x [][]float64, weights []float64) (*design, error) {
	n := len(rows)
	d := &design{family: spec.Family, stratum: make([]int32, n), labels: []int{0}, cluster: slices.Clone(spec.Cluster)}
	d.rows, d.weight = make([]law.Obs, n), make([]float64, n)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, o := range rows {
		d.rows[i], d.weight[i] = law.NewObs(o.L, o.R), 1
		if weights != nil {
			d.weight[i] = weights[i]
		}
		if d.weight[i] == 0 {
			continue
		}
		d.total += d.weight[i]
		d.used++
		for _, v := range []float64{d.rows[i].Lo, d.rows[i].Hi} {
			if !math.IsInf(v, 0) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	if d.spread = hi - lo; !(d.spread > 0) {
		d.spread = 1
	}
	if spec.Strata != nil {
		d.labels = slices.Compact(slices.Sorted(slices.Values(spec.Strata)))
		for i, s := range spec.Strata {
			k, _ := slices.BinarySearch(d.labels, s)
			d.stratum[i] = int32(k)
		}
	}
	d.columns(x)
	d.m = d.p
	if d.family.law().HasScale() {
		d.m += len(d.labels)
	}
	if d.family.law().HasShape() {
		d.m++
	}
	return d, errors.Join(d.emptyStratum(), d.aliased())
}

// columns lays out the covariates about their weighted means.
func (d *design) columns(x [][]float64) {
	n := len(d.rows)
	d.p = 1
	if n > 0 && x != nil {
		d.p += len(x[0])
	}
	d.x, d.mean = make([]float64, n*d.p), make([]float64, d.p)
	for j := 1; j < d.p; j++ {
		for i, c := range x {
			d.mean[j] += d.weight[i] / d.total * c[j-1]
		}
	}
	for i := range n {
		d.x[i*d.p] = 1
		for j := 1; j < d.p; j++ {
			d.x[i*d.p+j] = x[i][j-1] - d.mean[j]
		}
	}
}

func (d *design) emptyStratum() error {
	sum := make([]float64, len(d.labels))
	for i, s := range d.stratum {
		sum[s] += d.weight[i]
	}
	var bad []error
	for k, s := range sum {
		if s == 0 {
			bad = append(bad, &dataerr.Cell{Column: "Strata", Value: strconv.Itoa(d.labels[k]), Err: dataerr.ErrTooFew,
				Want: "a stratum needs a row of weight above 0; leave its rows out"})
		}
	}
	return errors.Join(bad...)
}

// aliased names the covariates that add nothing to those before them: what is left of them after projection (Gram-Schmidt
// with weights) is below 1e-9 of their spread, or the spread is rounding of their mean.
func (d *design) aliased() error {
	var bad []error
	var basis [][]float64
	for j := 1; j < d.p; j++ {
		v := make([]float64, len(d.rows))
		for i := range v {
			v[i] = math.Sqrt(d.weight[i]/d.total) * d.x[i*d.p+j]
		}
		whole := norm(v)
		for range 2 { // twice is enough for orthogonality
			for _, b := range basis {
				c := inner(b, v)
				for i := range v {
					v[i] -= c * b[i]
				}
			}
		}
		left := norm(v)
		if whole <= 1e-13*math.Abs(d.mean[j]) || left <= 1e-9*whole {
			bad = append(bad, &dataerr.Cell{Column: covariateName(j - 1), Err: ErrAliased, Want: "leave it out"})
			continue
		}
		for i := range v {
			v[i] /= left
		}
		basis = append(basis, v)
	}
	return errors.Join(bad...)
}

// contrast gives the multipliers of the coefficients at covariates x.
func (d *design) contrast(x []float64) []float64 {
	c := make([]float64, d.p)
	c[0] = 1
	for j := 1; j < d.p; j++ {
		c[j] = x[j-1] - d.mean[j]
	}
	return c
}

// shapeOf is the law of stratum g at theta.
func (d *design) shapeOf(theta []float64, g int) law.Shape {
	a, q := 0.0, 0.0
	if d.family.law().HasScale() {
		a = theta[d.p+g]
	}
	if d.family.law().HasShape() {
		q = theta[d.m-1]
	}
	return law.New(d.family.law(), a, q)
}

// start gives coefficients and scale of a least-squares line through the rows' mid-points (the finite end where there is
// one). coef has room for p.
func (d *design) start(s sample, coef, gram []float64) (scale float64) {
	clear(coef)
	clear(gram)
	p, sum := d.p, 0.0
	for i, o := range s.rows {
		w := s.weight[i]
		if w == 0 || o.Kind == law.Nothing {
			continue
		}
		x, y := d.x[i*p:(i+1)*p], middleOf(o)
		sum += w
		for j, v := range x {
			coef[j] += w * v * y
			for k := range j + 1 {
				gram[j*p+k] += w * v * x[k]
			}
		}
	}
	for j := range p {
		gram[j*p+j] *= 1 + 1e-10
	}
	if likelihood.Cholesky(gram, p) > 0 {
		likelihood.CholeskySolve(gram, p, coef)
	} else { // a resample may lack a column
		y := coef[0] / sum
		clear(coef)
		coef[0] = y
	}
	ss := 0.0
	for i, o := range s.rows {
		if w := s.weight[i]; w > 0 && o.Kind != law.Nothing {
			r := middleOf(o) - inner(d.x[i*p:(i+1)*p], coef)
			ss += w * r * r
		}
	}
	return max(math.Sqrt(ss/sum), 1e-3*d.spread)
}

func middleOf(o law.Obs) float64 {
	switch o.Kind {
	case law.Left:
		return o.Hi
	case law.Between:
		return (o.Lo + o.Hi) / 2
	}
	return o.Lo
}

func inner(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

func norm(a []float64) float64 { return math.Sqrt(inner(a, a)) }
