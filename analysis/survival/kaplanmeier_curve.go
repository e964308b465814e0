package survival

import (
	"math"
	"slices"
	"sort"
)

// KaplanMeierFit is a product-limit curve. It never changes after Fit.
type KaplanMeierFit struct {
	N      float64    // sum of the weights
	Rows   int        // rows with a weight above 0
	Events float64    // sum of the weights of the events; 0: the curve stays at 1
	Level  float64    // of the limits, a fraction
	Scale  LimitScale // of the limits

	z        float64 // normal point of Level
	steps    []Step
	warnings []error
}

// Step is the curve from Time on, up to the next step: what happened at Time and the estimates after it.
type Step struct {
	Time                     float64 // a distinct time in the rows, of events or of censorings only
	AtRisk, Events, Censored float64 // sums of weights: at risk just before Time, events at it, censored at it
	Share                            // S(Time) = P(T > Time), Greenwood's error, limits
	CumHazard, CumHazardSE   float64 // Nelson and Aalen; per unit of nothing: an expected number of events
}

// Steps returns one step for each distinct time, in order, as a copy.
func (f *KaplanMeierFit) Steps() []Step { return slices.Clone(f.steps) }

// At returns S(t) = P(T > t) with its limits. known is false where the rows say nothing: past the last row, when that was
// censored, and for t NaN or negative; Share then holds the open ends 0 and 1 and NaN for the estimate.
func (f *KaplanMeierFit) At(t float64) (share Share, known bool) {
	k := f.last(t)
	switch {
	case !(t >= 0) || k == len(f.steps)-1 && t > f.steps[k].Time && f.steps[k].Value > 0:
		return Share{Value: math.NaN(), SE: math.NaN(), Upper: 1}, false
	case k < 0:
		return newShare(1, 0, f.Scale, f.z), true
	}
	return f.steps[k].Share, true
}

// AtRisk returns the sum of weights at risk at t: rows whose event or censoring comes at t or later. 0 for NaN.
func (f *KaplanMeierFit) AtRisk(t float64) float64 {
	k := sort.Search(len(f.steps), func(k int) bool { return f.steps[k].Time >= t })
	if k == len(f.steps) {
		return 0
	}
	return f.steps[k].AtRisk
}

// last is the number of the step in force at t, -1 before the first.
func (f *KaplanMeierFit) last(t float64) int {
	return sort.Search(len(f.steps), func(k int) bool { return f.steps[k].Time > t }) - 1
}

// StepQuantile is a quantile of T with limits, in the unit of the rows. Value is +Inf where the curve does not fall so far
// (the quantile lies beyond the rows). An end that is not reached is open: Lower 0, Upper +Inf.
type StepQuantile struct{ Value, Lower, Upper float64 }

// sameStep is how near a step must be to a share to be called equal to it.
const sameStep = 1e-8

// Quantile returns the p-quantile of T, the first time at which S(t) <= 1 - p. Where S equals 1 - p (within 1e-8) along a
// flat step every time on it may be the quantile: the midpoint of the step is given, of the last step up to the last row.
// Limits invert those of the curve: the first time at which its lower, or upper, limit is 1 - p or less [T5]; steps without
// limits are passed over. p is a fraction strictly between 0 and 1, else an error.
func (f *KaplanMeierFit) Quantile(p float64) (StepQuantile, error) {
	if bad := checkFraction("p", p, "give a fraction such as 0.5"); bad != nil {
		return StepQuantile{}, bad[0]
	}
	q := StepQuantile{Value: math.Inf(1), Lower: 0, Upper: math.Inf(1)}
	all := func(*Step) bool { return true }
	limited := func(s *Step) bool { return s.Limited }
	if at, ok := f.crossing(1-p, func(s *Step) float64 { return s.Value }, all); ok {
		q.Value = at
	}
	if at, ok := f.crossing(1-p, func(s *Step) float64 { return s.Lower }, limited); ok {
		q.Lower = at
	}
	if at, ok := f.crossing(1-p, func(s *Step) float64 { return s.Upper }, limited); ok {
		q.Upper = at
	}
	return q, nil
}

// crossing is the time at which a curve falls to level: the middle of the steps that equal it, else the first step below.
func (f *KaplanMeierFit) crossing(level float64, curve func(*Step) float64, counts func(*Step) bool) (float64, bool) {
	begun := -1
	for k := range f.steps {
		s := &f.steps[k]
		if !counts(s) {
			continue
		}
		v := curve(s)
		if v <= level+sameStep && begun < 0 {
			begun = k
		}
		if v < level-sameStep { // begun is set, as v is below it too
			return middle(f.steps[begun].Time, s.Time), true
		}
	}
	if begun < 0 {
		return 0, false
	}
	return middle(f.steps[begun].Time, f.steps[len(f.steps)-1].Time), true
}

func middle(a, b float64) float64 { return a + (b-a)/2 }

// Warnings returns caveats to print beside the numbers, as a copy; nil when there are none.
func (f *KaplanMeierFit) Warnings() []error { return slices.Clone(f.warnings) }
