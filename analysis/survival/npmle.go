package survival

import (
	"math"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/survival/internal/masses"
)

// NPMLE is Turnbull's nonparametric maximum likelihood estimate for intervals [1], see the package comment. The zero value works.
type NPMLE struct {
	Tol     float64 // stop when the gap max_j d_j - N is less; 0 means 1e-6. For N < 1 the gap must be below Tol N
	MaxIter int     // most steps of the solver (a few Newton moves each; ten is much); 0 means 10 000
}

// Defaults of NPMLE.
const (
	defaultTol     = 1e-6
	defaultMaxIter = 10_000
)

// Fit estimates the distribution from obs, one row each, all of weight 1. Errors are joined *dataerr.Cell with 1-based
// row, column and value: no rows, NaN, negative or infinite L, R below L. A fit that does not reach Tol is returned with
// Converged false and a *NotConvergedError among its warnings. obs is neither kept nor changed.
func (spec NPMLE) Fit(obs []Interval) (*Curve, error) { return spec.FitWeighted(obs, nil) }

// FitWeighted is Fit with a weight for each row (finite, >= 0, not all 0; nil means all 1). Weight 2 is the same row
// twice, weight 0 the row absent (its cells are checked all the same). A weight above 0 is at least 1e-100 of their sum, and
// the sum at most 1e300, so that every number that follows from them can be held.
func (spec NPMLE) FitWeighted(obs []Interval, weights []float64) (*Curve, error) {
	if err := join(spec.check(), []error{checkIntervals(obs, weights)}); err != nil {
		return nil, err
	}
	if spec.Tol == 0 {
		spec.Tol = defaultTol
	}
	if spec.MaxIter == 0 {
		spec.MaxIter = defaultMaxIter
	}
	rows, total, used := gather(obs, weights)
	p, candidates := reduce(rows)
	tol := spec.Tol * min(1, total)
	_, e := math.Frexp(total)
	for i := range p.Rows { // a power of two changes no digit, and keeps squares of weights from over- and underflow
		p.Rows[i].Weight = math.Ldexp(p.Rows[i].Weight, -e)
	}
	r := masses.Solve(p, math.Ldexp(tol, -e), spec.MaxIter)
	c := newCurve(candidates, r.Mass)
	c.LogLik, c.Gap, c.N, c.Rows, c.Iterations = math.Ldexp(r.LogLik, e), math.Ldexp(max(0, r.Gap), e), total, used, r.Iterations
	c.Converged = c.Gap < tol && !math.IsNaN(c.LogLik)
	if !c.Converged {
		c.warnings = append(c.warnings, &NotConvergedError{Gap: c.Gap, Tol: tol, Iterations: c.Iterations})
	}
	return c, nil
}

// check wants a usable spec.
func (spec NPMLE) check() (bad []error) {
	if err := nonNegative(spec.Tol); err != nil {
		bad = append(bad, &dataerr.Cell{Column: "Tol", Value: number(spec.Tol), Err: err, Want: "give a small number such as 1e-6, or 0 for that default"})
	}
	if spec.MaxIter < 0 {
		bad = append(bad, &dataerr.Cell{Column: "MaxIter", Value: strconv.Itoa(spec.MaxIter), Err: dataerr.ErrRange, Want: "give a number of steps, or 0 for 10 000"})
	}
	return bad
}
