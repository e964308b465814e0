package survival

import (
	"math"

	"lastsip/analysis/dataerr"
)

// KaplanMeier is the product-limit estimate of S(t) = P(T > t) from exact and right-censored rows [T1]:
// S(t) = prod_{s <= t} (1 - d_s/n_s), d_s events among n_s at risk at s. Its variance is Greenwood's [T2],
// S(t)^2 sum_{s <= t} d_s/(n_s (n_s - d_s)). Beside it the cumulative hazard of Nelson and Aalen, sum_{s <= t} d_s/n_s, with
// variance sum d_s/n_s^2 [T3]. Rows are taken as independent, and censoring as unrelated to what was still to come. The zero
// value works.
type KaplanMeier struct {
	Scale LimitScale // scale on which limits are symmetric; the zero value is LogLogLimits
	Level float64    // of the two-sided limits, a fraction; 0 means 0.95
}

// defaultLevel stands where a Level is left 0.
const defaultLevel = 0.95

// Fit estimates the curve from rows, all of weight 1. Errors are joined *dataerr.Cell with 1-based row, column and value: no
// rows, a time that is NaN, negative or infinite, Level outside 0 to 1. Without any event the curve stays at 1, which a
// warning says. rows is neither kept nor changed.
func (spec KaplanMeier) Fit(rows []Timed) (*KaplanMeierFit, error) {
	return spec.FitWeighted(rows, nil)
}

// FitWeighted is Fit with a weight for each row, as for NPMLE.FitWeighted. A weight is a number of subjects: 2 is the same
// row twice, also in the standard errors. For other weights (of a survey, say) the curve is right and its errors are not.
func (spec KaplanMeier) FitWeighted(rows []Timed, weights []float64) (*KaplanMeierFit, error) {
	level, bad := levelOf(spec.Level)
	if err := spec.Scale.check(); err != nil {
		bad = append(bad, err)
	}
	if err := join(bad, []error{checkTimed(rows, weights)}); err != nil {
		return nil, err
	}
	stamps := make([]stamp, 0, len(rows))
	for i, r := range rows {
		if weights == nil || weights[i] > 0 {
			stamps = append(stamps, newStamp(r.Time, r.Event, i))
		}
	}
	f := &KaplanMeierFit{Rows: len(stamps), Level: level, Scale: spec.Scale, z: normalPoint(level)}
	f.tally(sortStamps(stamps), weights)
	f.estimate()
	if f.Events == 0 {
		f.warnings = append(f.warnings, &dataerr.Cell{Column: "Event", Err: dataerr.ErrTooFew,
			Want: "no row has an event, so the curve stays at 1 and its standard errors and limits say nothing; look for longer"})
	}
	return f, nil
}

// levelOf gives the level meant, and the fault in it.
func levelOf(level float64) (float64, []error) {
	if level == 0 {
		return defaultLevel, nil
	}
	return level, checkFraction("Level", level, "give a fraction such as 0.95, or 0 for that default")
}

// tally makes one step per distinct time, with events, censorings and rows at risk. The latter are summed from the last
// time back, so that nobody is left over by rounding.
func (f *KaplanMeierFit) tally(stamps []stamp, weights []float64) {
	distinct := 0
	for i := range stamps {
		if i == 0 || stamps[i].key>>1 != stamps[i-1].key>>1 {
			distinct++
		}
	}
	f.steps = make([]Step, 0, distinct)
	for i, s := range stamps {
		if i == 0 || s.key>>1 != stamps[i-1].key>>1 {
			f.steps = append(f.steps, Step{Time: s.time()})
		}
		step, w := &f.steps[len(f.steps)-1], 1.0
		if weights != nil {
			w = weights[s.row]
		}
		if s.key&1 == 0 {
			step.Events += w
		} else {
			step.Censored += w
		}
	}
	after := 0.0
	for k := len(f.steps) - 1; k >= 0; k-- {
		s := &f.steps[k]
		s.AtRisk = after + s.Censored + s.Events
		after = s.AtRisk
		f.Events += s.Events
	}
	f.N = after
}

// estimate fills in the curve, the hazard, their errors and the limits. Where S is 0 Greenwood's sum is infinite.
func (f *KaplanMeierFit) estimate() {
	s, greenwood, hazard, hazardVar := 1.0, 0.0, 0.0, 0.0
	share := newShare(1, 0, f.Scale, f.z)
	for k := range f.steps {
		step := &f.steps[k]
		if d, n := step.Events, step.AtRisk; d > 0 {
			stay := step.Censored
			if k+1 < len(f.steps) {
				stay += f.steps[k+1].AtRisk
			}
			s *= stay / n
			greenwood += d / n / stay
			hazard += d / n
			hazardVar += d / n / n
			share = newShare(s, math.Sqrt(greenwood), f.Scale, f.z)
		}
		step.Share, step.CumHazard, step.CumHazardSE = share, hazard, math.Sqrt(hazardVar)
	}
}
