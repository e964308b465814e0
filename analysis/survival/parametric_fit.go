package survival

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/likelihood"
)

// ParametricFit is a fitted family. It never changes after Fit, and may be used by several goroutines at once.
type ParametricFit struct {
	Family     Family
	Coef       []float64 // intercept first, then one per covariate, on the scale of log T
	Scale      []float64 // scale of W in each stratum, as Labels; 1 for Exponential and Gamma
	Shape      []float64 // Gamma: k of each stratum; GeneralizedGamma: Q; else nil
	Labels     []int     // of the strata, ascending; 0 where there is one
	LogLik     float64   // sum of weight times log-probability, or log-density of T for exact rows
	AIC        float64   // -2 LogLik + 2 Params
	N          float64   // sum of the weights
	Rows       int       // rows with a weight above 0
	Params     int       // parameters
	Level      float64   // of the limits
	Iterations int       // Newton steps of the last search
	Converged  bool      // the gradient is zero up to rounding, and the information positive definite
	Singular   bool      // the information cannot be inverted with meaning: Cov, errors and delta limits are NaN

	design *design
	theta  []float64 // parameters about the covariates' means
	cov    []float64 // m x m by rows, about the means
	tol    float64
}

func newParametricFit(d *design, r *solver, level float64) *ParametricFit {
	f := &ParametricFit{Family: d.family, Labels: slices.Clone(d.labels), LogLik: r.max.Value, AIC: -2*r.max.Value + 2*float64(d.m),
		N: d.total, Rows: d.used, Params: d.m, Level: level, Iterations: r.max.Iterations, Converged: r.max.Converged && !r.singular,
		Singular: r.singular, design: d, theta: slices.Clone(r.theta), tol: r.newton.Tol}
	f.cov = make([]float64, d.m*d.m)
	if !f.Singular {
		f.Singular = !invertInformation(r.newton.Hess, f.cov, d.m)
		f.Converged = f.Converged && !f.Singular
	}
	if f.Singular {
		for i := range f.cov {
			f.cov[i] = math.NaN()
		}
	}
	f.Coef = f.outer(f.theta)[:d.p]
	for g := range d.labels {
		a := 0.0
		if d.family != Exponential {
			a = math.Exp(f.theta[d.p+g])
		}
		switch d.family {
		case Exponential:
			f.Scale = append(f.Scale, 1)
		case Gamma:
			f.Scale, f.Shape = append(f.Scale, 1), append(f.Shape, a)
		default:
			f.Scale = append(f.Scale, a)
		}
	}
	if d.family == GeneralizedGamma {
		f.Shape = []float64{f.theta[d.m-1]}
	}
	return f
}

// invertInformation writes the inverse of minus a Hessian (lower triangle) into cov, both triangles.
func invertInformation(hess, cov []float64, m int) bool {
	chol, scale := make([]float64, m*m), make([]float64, m)
	for i := range m {
		scale[i] = math.Sqrt(-hess[i*m+i])
		for j := range i + 1 {
			chol[i*m+j] = -hess[i*m+j] / (scale[i] * scale[j])
		}
	}
	if !(likelihood.Cholesky(chol, m) > 1e-13) {
		return false
	}
	column := make([]float64, m)
	for j := range m {
		clear(column)
		column[j] = 1
		likelihood.CholeskySolve(chol, m, column)
		for i := range m {
			cov[i*m+j] = column[i] / (scale[i] * scale[j])
		}
	}
	return true
}

// outer gives parameters about 0 instead of the covariates' means.
func (f *ParametricFit) outer(theta []float64) []float64 {
	out := slices.Clone(theta)
	for j := 1; j < f.design.p; j++ {
		out[0] -= f.design.mean[j] * theta[j]
	}
	return out
}

// Theta returns the parameters in the order of Cov, as a copy: the coefficients, then the log scale (Gamma: log k) of each
// stratum where there is one, then Q of GeneralizedGamma.
func (f *ParametricFit) Theta() []float64 { return f.outer(f.theta) }

// Cov returns the covariance of Theta, Params x Params: the inverse of the observed information. NaN where Singular.
func (f *ParametricFit) Cov() *mat.SymDense { return f.outerCov(f.cov) }

// SE returns the standard errors of Theta, by Cov.
func (f *ParametricFit) SE() []float64 {
	cov := f.Cov()
	se := make([]float64, f.Params)
	for j := range se {
		se[j] = math.Sqrt(cov.At(j, j))
	}
	return se
}

// outerCov moves a covariance from the covariates' means to 0.
func (f *ParametricFit) outerCov(cov []float64) *mat.SymDense {
	m := f.Params
	move := mat.NewDense(m, m, nil)
	for j := range m {
		move.Set(j, j, 1)
	}
	for j := 1; j < f.design.p; j++ {
		move.Set(0, j, -f.design.mean[j])
	}
	var half, whole mat.Dense
	half.Mul(move, mat.NewDense(m, m, slices.Clone(cov)))
	whole.Mul(&half, move.T())
	out := mat.NewSymDense(m, nil)
	for j := range m {
		for k := range j + 1 {
			out.SetSym(j, k, (whole.At(j, k)+whole.At(k, j))/2)
		}
	}
	return out
}

// Warnings returns caveats to print beside the numbers; nil when there are none.
func (f *ParametricFit) Warnings() []error {
	if err := f.unfinished(true); err != nil {
		return []error{err}
	}
	return nil
}

// unfinished is the fault of a fit that did not converge or, where that is asked, is Singular.
func (f *ParametricFit) unfinished(singular bool) error {
	switch {
	case f.Singular && singular:
		return &UnfinishedError{Family: f.Family, Singular: true, Iterations: f.Iterations}
	case !f.Converged && !f.Singular:
		return &UnfinishedError{Family: f.Family, Iterations: f.Iterations}
	}
	return nil
}

// UnfinishedError is the warning of a parametric fit whose numbers are not to be relied on.
type UnfinishedError struct {
	Family     Family
	Singular   bool // else the search did not converge
	Iterations int
}

func (e *UnfinishedError) Error() string {
	if e.Singular {
		return fmt.Sprintf("the rows leave a parameter of the %s fit open: its information is singular, and it has no standard errors; take fewer covariates or strata, or a family with fewer parameters", e.Family)
	}
	return fmt.Sprintf("the %s fit has not reached its maximum after %d steps; raise MaxIter", e.Family, e.Iterations)
}

// place finds the contrast of x and the number of a stratum by its label.
func (f *ParametricFit) place(x []float64, stratum int) (contrast []float64, g int, err error) {
	var bad []error
	if len(x) != f.design.p-1 {
		bad = append(bad, &dataerr.Cell{Column: "x", Value: strconv.Itoa(len(x)) + " covariates", Err: dataerr.ErrConflict,
			Want: "give as many covariates as the fit has, " + strconv.Itoa(f.design.p-1)})
	}
	for j, v := range x {
		if !(v-v == 0) {
			bad = append(bad, &dataerr.Cell{Column: covariateName(j), Value: number(v), Err: dataerr.ErrNumber, Want: "a covariate is a finite number"})
		}
	}
	g, ok := slices.BinarySearch(f.Labels, stratum)
	if !ok {
		bad = append(bad, &dataerr.Cell{Column: "stratum", Value: strconv.Itoa(stratum), Err: dataerr.ErrUnknown, Want: fmt.Sprint("give one of the strata of the fit, ", f.Labels)})
	}
	if bad != nil {
		return nil, 0, join(bad, nil)
	}
	return f.design.contrast(x), g, nil
}
