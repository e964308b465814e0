package survival

import (
	"math"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/survival/internal/law"
)

// MeanTo returns the restricted mean, the mean of min(T, horizon) = the area under S from 0 to horizon, at covariates x in
// a stratum (0 where the fit has none). It is integrated numerically, to a relative error below 1e-9. SE is by the delta
// method, limits are normal and cut at 0 and horizon. Errors are *dataerr.Cell for arguments, and *UnfinishedError for a fit
// that did not converge or is Singular.
func (f *ParametricFit) MeanTo(horizon float64, x []float64, stratum int) (ParametricEstimate, error) {
	contrast, g, err := f.place(x, stratum)
	if bad := horizonFault(horizon); bad != nil {
		err = join([]error{bad}, []error{err})
	}
	if err != nil {
		return ParametricEstimate{}, err
	}
	if err := f.unfinished(true); err != nil {
		return ParametricEstimate{}, err
	}
	s := f.design.shapeOf(f.theta, g)
	value, e, a, q := s.Mean(math.Log(horizon), inner(contrast, f.theta))
	se := math.Sqrt(quadraticForm(f.cov, f.gradient(contrast, g, e, a, q)))
	z := normalPoint(f.Level)
	return ParametricEstimate{Value: value, SE: se, SELog: se / value, Level: f.Level,
		Lower: max(value-z*se, 0), Upper: min(value+z*se, horizon)}, nil
}

// gradient is that of a function of location (derivative e), log scale or shape of stratum g (a) and Q (q).
func (f *ParametricFit) gradient(contrast []float64, g int, e, a, q float64) []float64 {
	grad := make([]float64, f.Params)
	for j, c := range contrast {
		grad[j] = e * c
	}
	if f.Family.law().HasScale() {
		grad[f.design.p+g] = a
	}
	if f.Family.law().HasShape() {
		grad[f.Params-1] = q
	}
	return grad
}

// At returns S(t) = P(T > t) at covariates x in a stratum (0 where the fit has none), a fraction; 1 below and at 0.
func (f *ParametricFit) At(t float64, x []float64, stratum int) (float64, error) {
	s, err := f.ShareAt(t, x, stratum)
	return s.Value, err
}

// ShareAt is At with a standard error by the delta method and limits symmetric on the scale log(-log S). Limited is false,
// and the limits are 0 and 1, where S is 0 or 1 and where the fit is Singular.
func (f *ParametricFit) ShareAt(t float64, x []float64, stratum int) (Share, error) {
	contrast, g, err := f.place(x, stratum)
	if math.IsNaN(t) {
		err = join([]error{&dataerr.Cell{Column: "t", Value: number(t), Err: dataerr.ErrNumber, Want: "give a time"}}, []error{err})
	}
	if err != nil {
		return Share{Value: math.NaN(), SE: math.NaN()}, err
	}
	if t <= 0 {
		return Share{Value: 1, Upper: 1}, nil
	}
	if math.IsInf(t, 1) {
		return Share{Upper: 1}, nil
	}
	var d law.Deriv
	s := f.design.shapeOf(f.theta, g)
	s.Survival(math.Log(t), inner(contrast, f.theta), &d)
	p := math.Exp(d.L)
	if p == 0 || p == 1 {
		return Share{Value: p, Upper: 1}, nil
	}
	rel := math.Sqrt(quadraticForm(f.cov, f.gradient(contrast, g, d.E, d.A, d.Q)))
	if math.IsNaN(rel) {
		return Share{Value: p, SE: rel, Upper: 1}, nil
	}
	return newShare(p, rel, LogLogLimits, normalPoint(f.Level)), nil
}
