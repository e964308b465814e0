package survival

import (
	"math"
	"slices"
	"sort"
	"strconv"

	"lastsip/analysis/dataerr"
)

// CumulativeIncidence is the estimate of Aalen and Johansen for a time that ends by one of several causes [T9]: the share
// F_c(t) = P(T <= t, cause c) = sum_{s <= t} S(s-) d_cs/n_s, S the Kaplan-Meier curve of all causes together. The F_c and S
// sum to 1. Taking other causes for censoring, 1 less a Kaplan-Meier curve, would say how it went if they did not exist.
// Rows are taken as independent. The zero value works.
type CumulativeIncidence struct {
	Scale LimitScale // scale on which limits of F are symmetric; the zero value is LogLogLimits
	Level float64    // of the two-sided limits, a fraction; 0 means 0.95
}

// IncidenceFit holds a curve per cause. It never changes after Fit.
type IncidenceFit struct {
	Rows, Events int        // rows, and those of them that ended by some cause
	Level        float64    // of the limits, a fraction
	Scale        LimitScale // of the limits

	free   *KaplanMeierFit
	causes []int
	curves []*IncidenceCurve
}

// IncidenceCurve is F_c of one cause. It never changes after Fit.
type IncidenceCurve struct {
	Cause  int
	Events int // rows that ended by this cause
	steps  []IncidenceStep
	last   Step // of the curve of all causes
}

// IncidenceStep is F_c from Time on, up to the next step. There are two standard errors. SE (and with it the limits) is the
// infinitesimal jackknife, the root of the sum of squares of the derivatives of F_c in the rows' weights [T11]; for S it
// would be Greenwood's. AalenSE is the delta method with the hazard of each cause on its own, of variance
// d (n - d)/((n - 1) n^2) at a time with d events of that cause [T10]. They agree for many rows; with ties and few rows at
// risk the second is mostly the larger.
type IncidenceStep struct {
	Time    float64 // a distinct time in the rows, of events of any cause or of censorings only
	Events  float64 // events of this cause at Time
	Share           // F_c(Time), jackknife error, limits; where F_c is 0 the error is 0 and says nothing
	AalenSE float64
}

// Fit estimates one curve for each cause that is in rows. Errors are joined *dataerr.Cell: no rows, faulty times, a cause
// below 0, no event of any cause, Level or Scale not usable. rows is neither kept nor changed.
func (spec CumulativeIncidence) Fit(rows []Caused) (*IncidenceFit, error) {
	if err := checkCaused(rows); err != nil {
		return nil, err
	}
	all := make([]Timed, len(rows))
	count := map[int]int{}
	for i, r := range rows {
		all[i] = Timed{Time: r.Time, Event: r.Cause > 0}
		count[r.Cause]++
	}
	free, err := KaplanMeier(spec).Fit(all)
	if err != nil {
		return nil, err
	}
	if free.Events == 0 {
		return nil, &dataerr.Cell{Column: "Cause", Err: dataerr.ErrTooFew, Want: "no row ended by any cause, so there is no incidence; look for longer"}
	}
	f := &IncidenceFit{Rows: len(rows), Events: len(rows) - count[0], Level: free.Level, Scale: free.Scale, free: free}
	delete(count, 0)
	for c := range count {
		f.causes = append(f.causes, c)
	}
	slices.Sort(f.causes)
	for _, c := range f.causes {
		curve := &IncidenceCurve{Cause: c, Events: count[c], last: free.steps[len(free.steps)-1]}
		curve.steps = make([]IncidenceStep, len(free.steps))
		for k := range free.steps {
			curve.steps[k].Time = free.steps[k].Time
		}
		f.curves = append(f.curves, curve)
	}
	for _, r := range rows {
		if r.Cause > 0 {
			k := free.last(r.Time)
			f.curves[f.place(r.Cause)].steps[k].Events++
		}
	}
	for _, curve := range f.curves {
		curve.estimate(free)
	}
	return f, nil
}

// place is where a cause stands among the causes, len(causes) when it is not there.
func (f *IncidenceFit) place(cause int) int {
	k, ok := slices.BinarySearch(f.causes, cause)
	if !ok {
		return len(f.causes)
	}
	return k
}

// Causes returns the causes with at least one event, in order, as a copy.
func (f *IncidenceFit) Causes() []int { return slices.Clone(f.causes) }

// EventFree returns the Kaplan-Meier curve of all causes together, which never changes.
func (f *IncidenceFit) EventFree() *KaplanMeierFit { return f.free }

// Cause returns the curve of one cause; an error (*dataerr.Cell) when no row ended by it.
func (f *IncidenceFit) Cause(cause int) (*IncidenceCurve, error) {
	if k := f.place(cause); k < len(f.curves) {
		return f.curves[k], nil
	}
	return nil, &dataerr.Cell{Column: "Cause", Value: strconv.Itoa(cause), Err: dataerr.ErrUnknown,
		Want: "no row ended by this cause; give one that Causes lists"}
}

// Steps returns one step for each distinct time, in order, as a copy.
func (c *IncidenceCurve) Steps() []IncidenceStep { return slices.Clone(c.steps) }

// At returns the step in force at t; before the first one F_c is 0. known is false where the rows say nothing: past the last
// row, when that was censored, and for t NaN or negative; the estimates are then NaN and the ends open.
func (c *IncidenceCurve) At(t float64) (step IncidenceStep, known bool) {
	k := sort.Search(len(c.steps), func(k int) bool { return c.steps[k].Time > t }) - 1
	switch {
	case !(t >= 0) || t > c.last.Time && c.last.Value > 0:
		nan := math.NaN()
		return IncidenceStep{Time: t, Share: Share{Value: nan, SE: nan, Upper: 1}, AalenSE: nan}, false
	case k < 0:
		return IncidenceStep{Share: Share{Upper: 1}}, true
	}
	return c.steps[k], true
}
