package survival

import (
	"math"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/internal/reply"
)

// Reply is one yes or no to "is this age past your limit?": Reject at Age minutes (finite, >= 0).
type Reply struct {
	Age    float64
	Reject bool
}

// ReplyUnit is all replies about one own limit: one glass tasted again and again, or all glasses of a style seen once.
type ReplyUnit struct {
	Subject int       // any label; units of one subject share a part of their deviation
	X       []float64 // covariates of the log median besides the intercept; the same length everywhere, nil for none
	Replies []Reply   // in any order, at least one
}

// ReplyModel is the model of yes-or-no replies about own limits that differ between subjects. A subject's own limit on a unit
// is log-normal, log m ~ N(x'b, sigma^2), and a reply at age a rejects with
//
//	P(reject) = s + (1 - 2 s) Phi((log a - log m)/tau),
//
// s fixed slips in both directions, tau the noise of a reply about the own limit; at tau = 0 a step: rejected from m on. At
// age 0 it is s. A probit with guessing floor and ceiling and a random threshold [R1, R2]; the likelihood is integrated over the own
// limit, exactly at tau = 0. The zero value, no slips, works.
type ReplyModel struct {
	Slips   float64 // fraction, 0 to below 0.5
	Sharp   bool    // tau is held at 0. With Slips 0, acceptance at L and rejection at R are the interval (L, R] of a log-normal time
	Level   float64 // of two-sided limits; 0 means 0.95
	MaxIter int     // most steps of one ascent; 0 means 200
}

// ReplyKind says what sort of maximum a ReplyFit is.
type ReplyKind int

const (
	ReplyInterior  ReplyKind = iota // a proper maximum
	ReplyAllAccept                  // the likelihood rises to the end where no limit is ever reached: every median is +Inf
	ReplyAllReject                  // it rises to the end where every limit is 0
	ReplyPlateau                    // all limits alike: sigma and tau are 0, and medians in a range are equally likely
	ReplyDivided                    // sigma goes to +Inf: limits lie below all ages or above, in some proportion
	ReplySeparated                  // one group of covariates at least accepts or rejects everything; its coefficient is infinite
)

// String gives a word for each kind.
func (k ReplyKind) String() string {
	return [...]string{"interior", "all_accept", "all_reject", "plateau", "divided", "separated"}[k]
}

// ReplyFit is a fitted ReplyModel. It does not change and may be used by several goroutines.
type ReplyFit struct {
	Coef             []float64 // of log median (minutes), intercept first; exp(Coef[0]) is the median where all X are 0. Not to be read beyond Interior and Plateau, where it may stand for an infinite value
	Sigma, Tau       float64   // log-sd of own limits, and of a reply about the own limit
	Apart            bool      // subjects have several units, so that SubjectSD and UnitSD can be told apart
	SubjectSD        float64   // log-sd of subjects (Apart)
	UnitSD           float64   // log-sd of a subject's units about the subject's mean (Apart); Sigma^2 is the sum of squares
	LogLik           float64
	Subjects, Units  int      // of weight above 0
	Replies, LeftOut int      // replies used, and rejections at age 0 left out because without slips they are impossible
	LeftOutRows      [][2]int // unit and reply of those, from 0
	Kind             ReplyKind
	Converged        bool
	Iterations       int

	model    ReplyModel
	subjects []reply.Subject
	problem  *reply.Problem
	top      reply.Maximum
	df       int
	k        float64
	warnings []error
}

// ReplyEstimate is a number with its profile limits. From < To only on a plateau, where every value between is as likely.
// Ages are in minutes: +Inf says open, or never reached, 0 open below. Shares are fractions.
type ReplyEstimate struct{ From, To, Lower, Upper, Level float64 }

// ReplyRatio is the time ratio per unit of a covariate, with the likelihood ratio 2 (max - max at ratio 1) and its p-value by
// the small-panel law.
type ReplyRatio struct {
	ReplyEstimate
	LR, P float64
}

// Fit estimates the model, every subject with weight 1.
func (m ReplyModel) Fit(units []ReplyUnit) (*ReplyFit, error) { return m.FitWeighted(units, nil) }

// FitWeighted is Fit with a weight for subjects (finite, >= 0; missing means 1); weight 2 is the subject twice in the likelihood,
// 0 leaves it out. Errors are joined *dataerr.Cell with the 1-based unit as row. Limits count subjects of weight above 0.
// The input is neither kept nor changed.
func (m ReplyModel) FitWeighted(units []ReplyUnit, weights map[int]float64) (*ReplyFit, error) {
	return m.fit(units, weights, nil)
}

// FitNear is Fit where a fit of nearly the same model to the same units is known: other slips, say. Where replies are many the
// maximum is looked for near that one only, which takes a fraction of the time.
func (m ReplyModel) FitNear(units []ReplyUnit, near *ReplyFit) (*ReplyFit, error) {
	return m.fit(units, nil, near)
}

func (m ReplyModel) fit(units []ReplyUnit, weights map[int]float64, near *ReplyFit) (*ReplyFit, error) {
	if err := m.check(units, weights); err != nil {
		return nil, err
	}
	if m.Level == 0 {
		m.Level = 0.95
	}
	if m.MaxIter == 0 {
		m.MaxIter = 200
	}
	f := &ReplyFit{model: m}
	subjects, err := f.gather(units, weights)
	if err != nil {
		return nil, err
	}
	f.problem = reply.New(reply.Law{Floor: m.Slips, Ceiling: 1 - m.Slips}, subjects)
	f.problem.Sharp = m.Sharp
	f.subjects = subjects
	f.degrees(subjects)
	f.maximise(near)
	return f, nil
}

// degrees sets the degrees of freedom of limits and the widening of sigma.
func (f *ReplyFit) degrees(subjects []reply.Subject) {
	n := len(subjects)
	f.df = n - 1
	for j := 1; j < f.problem.P; j++ {
		if constantWithin(subjects, j) {
			f.df--
		}
	}
	f.k = 1
	if n > 1 {
		f.k = math.Sqrt(float64(n) / float64(n-1))
	}
}

// constantWithin tells whether covariate j has one value within each subject.
func constantWithin(subjects []reply.Subject, j int) bool {
	for _, s := range subjects {
		for _, u := range s.Units {
			if u.Row[j] != s.Units[0].Row[j] {
				return false
			}
		}
	}
	return true
}

// cut is the small-panel cut of this fit.
func (f *ReplyFit) cut() float64 { return likelihood.SmallPanelCut(f.Subjects, f.df, f.model.Level) }

// Warnings are caveats to print beside the numbers: a fit that did not converge, left-out replies, an infinite estimate.
func (f *ReplyFit) Warnings() []error { return append([]error{}, f.warnings...) }
