package survival

import (
	"math"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/likelihood"
)

// LimitKind says how limits of a quantile are made.
type LimitKind int

const (
	DeltaLog      LimitKind = iota // symmetric in log time, by the delta method
	DeltaNatural                   // symmetric in time, by the delta method; the lower limit may lie below 0
	ProfileLimits                  // where twice the profile log-likelihood has fallen by the chi-square quantile on one degree of freedom
	RobustLog                      // as DeltaLog, with RobustCov
)

// ParametricEstimate is an estimate in the unit of the rows with two-sided limits. An open upper limit is +Inf, an open
// lower limit 0.
type ParametricEstimate struct {
	Value, Lower, Upper float64
	SE                  float64 // standard error of Value by the delta method
	SELog               float64 // and of its logarithm
	Level               float64 // of the limits; 0 where the cut was the caller's
}

// quantile is a log quantile as a function of the parameters.
type quantile struct {
	contrast []float64
	g        int
	p        float64
}

func (f *ParametricFit) quantileOf(x []float64, stratum int, p float64) (quantile, error) {
	contrast, g, err := f.place(x, stratum)
	if err := join(checkFraction("p", p, "give the share that has ended, above 0 and below 1"), []error{err}); err != nil {
		return quantile{}, err
	}
	return quantile{contrast: contrast, g: g, p: p}, nil
}

// logQuantile gives the log quantile at theta and its gradient, grad of length m or nil.
func (d *design) logQuantile(q quantile, theta, grad []float64) float64 {
	s := d.shapeOf(theta, q.g)
	off := s.Quantile(q.p)
	if grad != nil {
		clear(grad)
		copy(grad, q.contrast)
		if d.family.law().HasScale() {
			grad[d.p+q.g] = off.A
		}
		if d.family.law().HasShape() {
			grad[d.m-1] = off.Q
		}
	}
	return inner(q.contrast, theta) + off.V
}

// Quantile returns the time by which a share p has ended at covariates x in a stratum (0 where the fit has none), with
// limits at the level of the fit. A profile may be open at an end; where the fit is Singular its limits hold, and Value is one
// of several times that are as likely. Errors are *dataerr.Cell for arguments, and *UnfinishedError for limits by the delta
// method where the fit is Singular, for a fit that did not converge, and where a profile could not be traced.
func (f *ParametricFit) Quantile(x []float64, stratum int, p float64, how LimitKind) (ParametricEstimate, error) {
	q, err := f.quantileOf(x, stratum, p)
	if err != nil {
		return ParametricEstimate{}, err
	}
	cov := f.cov
	switch how {
	case DeltaLog, DeltaNatural:
		if err := f.unfinished(true); err != nil {
			return ParametricEstimate{}, err
		}
	case ProfileLimits:
		e, err := f.profiled(q, likelihood.ChiSquareCut(f.Level))
		e.Level = f.Level
		return e, err
	case RobustLog:
		if err := f.unfinished(true); err != nil {
			return ParametricEstimate{}, err
		}
		if cov, err = f.robust(); err != nil {
			return ParametricEstimate{}, err
		}
	default:
		return ParametricEstimate{}, &dataerr.Cell{Column: "how", Value: strconv.Itoa(int(how)), Err: dataerr.ErrUnknown,
			Want: "give DeltaLog, DeltaNatural, ProfileLimits or RobustLog"}
	}
	e := f.delta(q, cov)
	z := normalPoint(f.Level)
	if how == DeltaNatural {
		e.Lower, e.Upper = e.Value-z*e.SE, e.Value+z*e.SE
	} else {
		e.Lower, e.Upper = e.Value*math.Exp(-z*e.SELog), e.Value*math.Exp(z*e.SELog)
	}
	return e, nil
}

// ProfileQuantile is Quantile with profile limits at a cut of the caller's: the ends of the times at which twice the fall
// of the profile log-likelihood is at most cut (>= 0; +Inf gives open limits). With likelihood's small-panel cut the
// limits hold for few subjects.
func (f *ParametricFit) ProfileQuantile(x []float64, stratum int, p, cut float64) (ParametricEstimate, error) {
	q, err := f.quantileOf(x, stratum, p)
	if !(cut >= 0) {
		err = join([]error{&dataerr.Cell{Column: "cut", Value: number(cut), Err: dataerr.ErrRange, Want: "give a number of at least 0"}}, []error{err})
	}
	if err != nil {
		return ParametricEstimate{}, err
	}
	return f.profiled(q, cut)
}

// delta gives value and standard errors by a covariance.
func (f *ParametricFit) delta(q quantile, cov []float64) ParametricEstimate {
	grad := make([]float64, f.Params)
	psi := f.design.logQuantile(q, f.theta, grad)
	se := math.Sqrt(quadraticForm(cov, grad))
	return ParametricEstimate{Value: math.Exp(psi), SELog: se, SE: math.Exp(psi) * se, Level: f.Level}
}

// quadraticForm is v' a v.
func quadraticForm(a, v []float64) float64 {
	m, sum := len(v), 0.0
	for i := range v {
		sum += v[i] * inner(a[i*m:(i+1)*m], v)
	}
	return max(sum, 0)
}
