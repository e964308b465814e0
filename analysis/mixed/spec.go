package mixed

import (
	"cmp"
	"errors"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed/internal/lmm"
)

// ErrExact says that nothing is left for the residual: the likelihood has no maximum. Fewer terms may leave a scatter, but one
// that is not the rows' own.
var ErrExact = errors.New("is met exactly by the model")

// What else makes a fit impossible, besides the faults of package dataerr.
var (
	errConstant = errors.New("does not vary")
	errNearly   = errors.New("is nearly a combination of the columns before it")
	errFinite   = errors.New("gives estimates that are not finite numbers")
)

// Spec is a linear mixed model. Terms are taken as they stand: an interaction brings no main effects with it.
type Spec struct {
	Response    string // column of numbers
	Fixed       []Term
	NoIntercept bool
	Random      []Random // none: ordinary least squares
	ML          bool     // maximum likelihood; default is REML
}

// Fit estimates the model. Faults in the table, in the names or in what the data can tell are errors, all of one stage at
// once; doubts about an answer that stands are in Warnings, Singular, Aliased and Converged. Neither s nor t is kept
// changed or changed later.
func (s Spec) Fit(t *Table) (*Fit, error) {
	if t == nil {
		return nil, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give a table with at least one row"}
	}
	y, yErr := s.response(t)
	fixed, x, xErr := newFixed(s, t, y)
	groups := make([]*grouping, len(s.Random))
	bad := []error{yErr, xErr}
	for k, r := range s.Random {
		g, err := newGrouping(r, t)
		groups[k], bad = g, append(bad, err)
	}
	if err := errors.Join(bad...); err != nil {
		return nil, err
	}
	warnings, err := identified(groups)
	if err != nil {
		return nil, err
	}
	f := &Fit{spec: s.clone(), table: t, y: y, x: x, fixed: fixed, groups: groups, warnings: slices.Concat(fixed.doubts, warnings)}
	if err := f.solve(); err != nil {
		return nil, err
	}
	return f, nil
}

func (s Spec) clone() Spec {
	s.Fixed, s.Random = slices.Clone(s.Fixed), slices.Clone(s.Random)
	return s
}

func (s Spec) response(t *Table) ([]float64, error) {
	y, err := t.numeric(s.Response)
	if err != nil {
		return nil, err
	}
	if slices.Max(y) == slices.Min(y) {
		return nil, &dataerr.Cell{Column: s.Response, Value: number(y[0]), Err: errConstant, Want: "a response with a single value tells nothing of effects or variances"}
	}
	return y, finite([][]float64{y}, []string{s.Response})
}

// centred gives y less its mean.
func centred(y []float64) []float64 {
	out := slices.Clone(y)
	floats.AddConst(-floats.Sum(y)/float64(len(y)), out)
	return out
}

// solve runs the kernel and takes its results out.
func (f *Fit) solve() error {
	terms := make([]lmm.Term, len(f.groups))
	first := 0
	for k, g := range f.groups {
		terms[k] = g.kernel()
		g.first = first
		first += g.thetas()
	}
	f.problem = lmm.New(f.x, f.y, terms)
	space := f.problem.Space()
	f.optimum = space.Fit(f.REML(), nil)
	f.deviance = space.Deviance(f.optimum.Theta, f.REML())
	f.beta = space.Beta()
	f.sigma = space.Sigma(f.REML())
	p := len(f.beta)
	f.covariance = mat.NewSymDense(p, space.Unscaled())
	f.covariance.ScaleSym(f.sigma*f.sigma, f.covariance)
	f.ztHX = space.ZtHX()
	f.modes, f.modeCov = make([][]float64, len(terms)), make([][]float64, len(terms))
	for k := range terms {
		f.modes[k], f.modeCov[k] = space.Modes(k), space.ModeCovariance(k)
	}
	switch {
	case f.meets():
		return &dataerr.Cell{Column: f.spec.Response, Err: ErrExact, Want: "fixed and random effects leave nothing for the residual, so that the likelihood has no maximum; use fewer terms, or more rows for each level"}
	case !f.sound():
		return &dataerr.Cell{Column: f.spec.Response, Err: errFinite, Want: cmp.Or(f.optimum.Why, "use other units: these numbers are too small or too large")}
	}
	f.judge()
	return nil
}
