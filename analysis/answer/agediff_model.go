package answer

import (
	"errors"
	"fmt"

	"lastsip/analysis/mixed"
)

// ageWithin is how near adjusted p-values about 0.05 come to the truth: critical values then are good to three digits, and a page
// does not wait.
const ageWithin = 2e-4

// ageFit is the model of one mean per age step. Scores are turned so that higher is better.
type ageFit struct {
	model    *scoreModel
	fit      *mixed.Fit
	degrees  *mixed.Degrees
	means    []float64        // expected score at each step
	against  []mixed.Contrast // every older step less the first
	compared *mixed.Comparisons
	exact    bool // tasters' levels and slopes leave no scatter
}

// Why a model of these scores says nothing about ages.
const (
	whyApart   = "some ages were not tasted on the same evenings, from the same batches or in the same way as others, so that age cannot be told from these"
	whyNothing = "these scores leave nothing to judge differences by: too few of them, or without any scatter"
)

// newAgeFit fits the model. Where tasters' slopes leave no standard errors they are left out.
func newAgeFit(s *scoreRows) (f *ageFit, why string) {
	m, err := newScoreModel(s)
	if err != nil {
		return nil, whyNothing
	}
	f = &ageFit{model: m}
	if why = f.infer(); why != whyNothing || m.noSlope || f.exact {
		return f, why
	}
	m.noSlope = true
	if why = f.infer(); why == "" {
		m.notes = append(m.notes, alikeNote)
	}
	return f, why
}

// infer compares the steps with the first.
func (f *ageFit) infer() (why string) {
	var err error
	if f.fit, err = f.model.fit(mixed.Factor{Name: stepColumn}); err != nil {
		f.exact = errors.Is(err, mixed.ErrExact)
		return whyNothing
	}
	means, err := f.fit.Means([]string{stepColumn})
	if err != nil {
		return whyApart
	}
	if f.degrees, err = f.tested(); err != nil {
		return whyNothing
	}
	f.against, f.means = mixed.AgainstFirst(means), nil
	for _, m := range means {
		one, err := f.degrees.Infer(m.L, Level)
		if err != nil {
			return whyNothing
		}
		f.means = append(f.means, one.Estimate)
	}
	if f.compared, err = f.degrees.Contrasts(f.against, mixed.ContrastOptions{Adjust: mixed.MaxT, Level: Level, Within: ageWithin}); err != nil {
		return whyNothing
	}
	for _, c := range f.compared.List {
		if !finite(c.Estimate, c.SE, c.DF, c.JointLower, c.JointUpper, c.P, c.Adjusted) {
			return whyNothing
		}
	}
	return ""
}

// tested prepares tests; a variance at its boundary is held there for the degrees of freedom.
func (f *ageFit) tested() (*mixed.Degrees, error) {
	d, err := f.fit.Degrees(mixed.Default)
	if err != nil || len(f.fit.Singular()) == 0 || d.Method() != mixed.KenwardRoger {
		return d, err
	}
	return f.fit.Degrees(mixed.KenwardRogerDropped)
}

// df names the method of the degrees of freedom.
func (f *ageFit) df() string {
	if m := f.degrees.Method(); m != mixed.KenwardRogerDropped {
		return m.String()
	}
	return mixed.KenwardRoger.String()
}

// sameness tests from the youngest step upward and stops at the first failure, so that no test needs adjusting.
func (a *AgeDifferences) sameness(f *ageFit, sign float64) error {
	if a.Margin.Empty() {
		return nil
	}
	m := a.Margin.Float()
	tests, err := f.degrees.Equivalent(f.against, mixed.Margins{Lower: -m, Upper: m}, sameAlpha)
	if err != nil {
		return fmt.Errorf("sameness: %w", err)
	}
	a.SameStatus = BeyondLastAge
	for k, e := range tests {
		x := &a.Steps[k+1]
		x.Lower90, x.Upper90 = Of(min(sign*e.Lower, sign*e.Upper)), Of(max(sign*e.Lower, sign*e.Upper))
		switch {
		case a.SameStatus != BeyondLastAge:
		case e.Equivalent:
			x.Same, a.SameUpTo = true, Of(x.AgeMin)
		case k == 0:
			a.SameStatus = Never
		default:
			a.SameStatus = OK
		}
	}
	return nil
}
