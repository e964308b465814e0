package survival

import (
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/survival/internal/law"
)

// Family is a law of lifetimes with log T = x'b + scale W.
type Family int

const (
	Exponential      Family = iota // W smallest extreme value, scale 1: a constant hazard
	Weibull                        // W smallest extreme value: shape 1/scale, Weibull scale exp(x'b)
	LogNormal                      // W normal
	LogLogistic                    // W logistic
	Gamma                          // T = exp(x'b) G, G gamma with shape k and rate 1: mean k exp(x'b)
	GeneralizedGamma               // W of shape Q [P1]: 1 Weibull, 0 log-normal, Q = scale gamma
)

var familyNames = [...]string{"exponential", "weibull", "lognormal", "loglogistic", "gamma", "generalized_gamma"}

// String is the family's name: "exponential", "weibull", "lognormal", "loglogistic", "gamma" or "generalized_gamma".
func (f Family) String() string {
	if f < 0 || int(f) >= len(familyNames) {
		return "Family(" + strconv.Itoa(int(f)) + ")"
	}
	return familyNames[f]
}

// law is the kernel's name of the family.
func (f Family) law() law.Family { return law.Family(f) }

// Parametric fits a family to intervals by maximum likelihood: damped Newton steps on the log-likelihood with its gradient
// and Hessian (closed forms; for the two gamma families integrals of closed forms, see package law). Rows may be exact,
// left-, right- or interval-censored. With one stratum the likelihood of the first four families has one maximum at most
// [P2], and none exactly where the rows allow it to rise for ever [P3]; Fit then returns a *NoMaximumError. GeneralizedGamma
// may have several: the best of the maxima from the Weibull, log-normal and gamma fits and a left-skewed start is taken.
// Rows are taken as independent given x, for rows that share a subject see RobustCov. The zero value fits an exponential.
type Parametric struct {
	Family  Family
	Strata  []int   // label of each row, any numbers: rows of one label share a scale (Gamma: a shape); nil for one scale
	Cluster []int   // label of each row, any numbers: rows of one label are one subject, for RobustCov and Bootstrap; nil: each its own
	Level   float64 // of two-sided limits, a fraction; 0 means 0.95
	MaxIter int     // most Newton steps from one start; 0 means 100
	Tol     float64 // stop when the squared Newton decrement, in units of log-likelihood, is no more; 0 means 1e-16
}

// Largest sum of weights of a parametric fit; beyond it the curvature of the likelihood can no longer be told from rounding.
const largestParametricSum = 1e12

// Fit estimates coefficients and scales from rows. x holds one slice of covariates for each row, all of one length,
// without the intercept, which is always there; nil means none. weights are numbers of subjects (finite, >= 0, not all 0;
// nil means all 1): weight 2 is the row twice, weight 0 the row absent. Nothing given is kept or changed.
//
// Errors are joined *dataerr.Cell with 1-based row, column and value for bad cells (those of NPMLE, and a time of exactly
// 0, which has no chance under any family), covariates that are linear combinations of earlier ones, and strata without
// weight; or one *NoMaximumError. A fit that did not converge, or whose information is singular, says so.
func (spec Parametric) Fit(rows []Interval, x [][]float64, weights []float64) (*ParametricFit, error) {
	level, err := spec.check(rows, x, weights)
	if err != nil {
		return nil, err
	}
	d, err := newDesign(spec, rows, x, weights)
	if err != nil {
		return nil, err
	}
	r := d.solver(d.sample, 0)
	r.newton.MaxIter, r.newton.Tol = spec.MaxIter, spec.Tol
	if r.newton.Tol == 0 {
		r.newton.Tol = 1e-16 * min(1, d.total)
	}
	if err := d.impossible(d.sample); err != nil {
		return nil, err
	}
	if err := r.fit(); err != nil {
		return nil, err
	}
	if err := r.diagnose(true); err != nil {
		return nil, err
	}
	return newParametricFit(d, r, level), nil
}

// check gives every fault in the spec and the data.
func (spec Parametric) check(rows []Interval, x [][]float64, weights []float64) (level float64, err error) {
	level, bad := levelOf(spec.Level)
	cell := func(row int, column, value string, err error, want string) {
		bad = append(bad, &dataerr.Cell{Row: row, Column: column, Value: value, Err: err, Want: want})
	}
	if spec.Family < 0 || int(spec.Family) >= len(familyNames) {
		cell(0, "Family", spec.Family.String(), dataerr.ErrUnknown, "give one of Exponential to GeneralizedGamma")
	}
	if spec.MaxIter < 0 {
		cell(0, "MaxIter", strconv.Itoa(spec.MaxIter), dataerr.ErrRange, "give a number of steps, or 0 for 100")
	}
	if err := nonNegative(spec.Tol); err != nil {
		cell(0, "Tol", number(spec.Tol), err, "give a small number such as 1e-16, or 0 for that default")
	}
	for i, o := range rows {
		if o.L == 0 && o.R == 0 {
			cell(i+1, "R", "0", dataerr.ErrRange, "a time of exactly 0 has no chance under a law of positive times; leave the row out and say so, or give it an upper end above 0")
		}
	}
	for _, l := range []struct {
		column string
		have   []int
	}{{"Strata", spec.Strata}, {"Cluster", spec.Cluster}} {
		if l.have != nil && len(l.have) != len(rows) {
			bad = append(bad, labels(l.column, len(l.have), len(rows)))
		}
	}
	if x != nil && len(x) != len(rows) {
		cell(0, "x", strconv.Itoa(len(x))+" rows", dataerr.ErrConflict, "give covariates for each of the "+strconv.Itoa(len(rows))+" rows, or nil")
	}
	for i, c := range x {
		if len(c) != len(x[0]) {
			cell(i+1, "x", strconv.Itoa(len(c))+" covariates", dataerr.ErrConflict, "give every row as many covariates as the first, "+strconv.Itoa(len(x[0])))
		}
		for j, v := range c {
			if !(v-v == 0) {
				cell(i+1, covariateName(j), number(v), dataerr.ErrNumber, "a covariate is a finite number")
			}
		}
	}
	total := 0.0
	for _, w := range weights {
		total += w
	}
	if total > largestParametricSum && total <= largestSum {
		cell(0, "weight", number(total), dataerr.ErrRange, "the sum of the weights is at most 1e12 in a parametric fit; scale them down")
	}
	return level, join(bad, []error{checkIntervals(rows, weights)})
}

// covariateName names column j of x, 0-based, as in messages.
func covariateName(j int) string { return "x[" + strconv.Itoa(j) + "]" }
