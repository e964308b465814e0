package survival

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// RestrictedMean is the mean of min(T, Horizon), the area under S from 0 to Horizon, in the unit of the rows.
type RestrictedMean struct {
	Horizon   float64
	Value, SE float64
	Limited   bool    // SE and limits have a value: an event happened by Horizon
	Lower     float64 // Value -+ z SE, cut at 0 and Horizon; these ends where not Limited
	Upper     float64
}

// MeanTo returns the restricted mean up to horizon with its standard error: the variance is
// sum_{t_i <= horizon} A_i^2 d_i/(n_i (n_i - d_i)), A_i the area from t_i to horizon [T6]. Limits are normal, at the level
// of the fit. Without an event by horizon the mean is horizon, its SE is 0 and says nothing (Limited false). An error
// (*dataerr.Cell) when horizon is not a time above 0, or lies past a last row that was censored, where the curve is unknown.
func (f *KaplanMeierFit) MeanTo(horizon float64) (RestrictedMean, error) {
	if err := f.horizonFault(horizon); err != nil {
		return RestrictedMean{}, err
	}
	m := RestrictedMean{Horizon: horizon, Value: horizon, Upper: horizon}
	last := f.last(horizon)
	end, area, variance := horizon, 0.0, 0.0
	for k := last; k >= 0; k-- {
		s := &f.steps[k]
		area += s.Value * (end - s.Time)
		end = s.Time
		if s.Events > 0 {
			m.Limited = true
			if s.Value > 0 { // else nothing is left of the area, and no error in it
				variance += area * area * (s.Events / s.AtRisk) / f.stay(k)
			}
		}
	}
	if m.Limited {
		m.Value, m.SE = end+area, math.Sqrt(variance)
		m.Lower, m.Upper = max(m.Value-f.z*m.SE, 0), min(m.Value+f.z*m.SE, horizon)
	}
	return m, nil
}

// stay is the sum of weights that outlive step k without event.
func (f *KaplanMeierFit) stay(k int) float64 {
	if k+1 < len(f.steps) {
		return f.steps[k].Censored + f.steps[k+1].AtRisk
	}
	return f.steps[k].Censored
}

func (f *KaplanMeierFit) horizonFault(horizon float64) error {
	if bad := horizonFault(horizon); bad != nil {
		return bad
	}
	if end := f.steps[len(f.steps)-1]; end.Value > 0 && horizon > end.Time {
		return &dataerr.Cell{Column: "horizon", Value: number(horizon), Err: dataerr.ErrRange,
			Want: "the last row was censored at " + number(end.Time) + ", and the curve is unknown after it; give a horizon of at most that"}
	}
	return nil
}

func horizonFault(horizon float64) error {
	err := nonNegative(horizon)
	if err == nil && horizon == 0 {
		err = dataerr.ErrRange
	}
	if err == nil {
		return nil
	}
	return &dataerr.Cell{Column: "horizon", Value: number(horizon), Err: err, Want: "give a time that is finite and above 0"}
}

// MeanDifference is the difference of two restricted means from independent rows, with a normal test of no difference.
type MeanDifference struct {
	Value, SE    float64 // second less first, unit of the rows
	Z, P         float64 // Value/SE and its two-sided p-value
	Lower, Upper float64 // Value -+ z SE at the level of the first
}

// MeanDifferenceTo compares the restricted means of two curves from independent rows: second less first. Errors as for
// MeanTo, and where neither curve has an event by horizon or no error is left to compare with.
func MeanDifferenceTo(first, second *KaplanMeierFit, horizon float64) (MeanDifference, error) {
	a, errA := first.MeanTo(horizon)
	b, errB := second.MeanTo(horizon)
	if err := join(nil, []error{errA, errB}); err != nil {
		return MeanDifference{}, err
	}
	d := MeanDifference{Value: b.Value - a.Value, SE: math.Hypot(a.SE, b.SE)}
	if !a.Limited || !b.Limited || d.SE == 0 {
		return MeanDifference{}, &dataerr.Cell{Column: "horizon", Value: number(horizon), Err: dataerr.ErrTooFew,
			Want: "both groups need an event before it, and one of them a row that goes on after that event, or the difference has no standard error"}
	}
	d.Z = d.Value / d.SE
	d.P = 2 * distuv.UnitNormal.Survival(math.Abs(d.Z))
	d.Lower, d.Upper = d.Value-first.z*d.SE, d.Value+first.z*d.SE
	return d, nil
}

// MeanRange is what a curve with masses of unknown place says about the mean of min(T, Horizon), in the unit of the rows.
type MeanRange struct {
	Horizon      float64
	Lower, Upper float64 // every mass at the left, at the right end of its set: the mean lies between whatever the place
	Even         float64 // masses spread evenly over their sets; that of an open last set counted at its left end
	Open         bool    // the last set is open and begins before Horizon: Even is low by an unknown amount
}

// MeanTo returns the range of the mean of min(T, horizon) that the curve leaves open. These are no limits: they hold for
// the estimate itself, not for the population. An error (*dataerr.Cell) when horizon is not a time above 0.
func (c *Curve) MeanTo(horizon float64) (MeanRange, error) {
	if err := horizonFault(horizon); err != nil {
		return MeanRange{}, err
	}
	m := MeanRange{Horizon: horizon}
	for k, s := range c.sets {
		l, r := min(s.L, horizon), min(s.R, horizon)
		m.Lower += c.mass[k] * l
		m.Upper += c.mass[k] * r
		even := l
		switch {
		case math.IsInf(s.R, 1):
			m.Open = s.L < horizon
		case s.L < r:
			inside := (r - l) / (s.R - s.L) // share of the set before horizon
			even = inside*middle(l, r) + (1-inside)*r
		}
		m.Even += c.mass[k] * even
	}
	return m, nil
}
