package answer

import (
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// sameAlpha is the level of each of the two one-sided tests of sameness.
const sameAlpha = 0.05

// NewAgeDifferences answers: from which age on is the drink surely not as good as fresh, and up to which age is it shown to be
// the same? Fresh is the youngest age step.
//
// The expected overall score has one mean per age step in a linear mixed model with the terms of the prime window: tasters (of
// one taster alone batches, or pours where these are not known) with an own level and slope, evenings, batches and modes where
// there are several. Every older step is compared with the youngest; limits and p-values hold for all steps together (max-t, at
// the smallest degrees of freedom of any of them). Where the scale is best in the middle the distance from the best stands for
// the score. Below three tasters (or three pours of one) nothing is compared; p-values are given from six tasters on. Sameness
// is asked where a margin was stated beforehand.
func NewAgeDifferences(in Input, d endpoint.Drink) (*AgeDifferences, error) {
	out := &AgeDifferences{Head: in.head("difference", d), Level: Level, SameStatus: NotAsked}
	out.Method = "Expected overall score with one mean per age step, in a linear mixed model by restricted maximum likelihood with the tasters, evenings, batches and modes of the prime window. Every older step less the youngest: limits and p-values hold for all steps together (max-t); standard errors and degrees of freedom after Kenward and Roger (Satterthwaite above 5,000 rows), the smallest of all steps for each; a variance estimated at zero is held there. " +
		"The same as fresh: two one-sided t tests at 5 % each, from the youngest step upward to the first that fails."
	out.Source = "Laird & Ware 1982, Biometrics 38, 963; Kenward & Roger 1997, Biometrics 53, 983; max-t: Hothorn, Bretz & Westfall 2008, Biom. J. 50, 346; sameness: Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657"
	overall := in.Panel.Settings.Overall
	out.Settings = in.settings(d, "overall", "scale of "+overall, "best of "+overall, "same_margin")
	s, best, why := in.ageScores(d, nil)
	if why != "" {
		out.unanswered(NotAsked, why)
		return out, nil
	}
	out.describe(in, s, best)
	if why := s.tooFewForAges(); why != "" {
		out.unanswered(NotEnough, why)
		return out, nil
	}
	f, why := newAgeFit(s)
	if why != "" {
		out.unanswered(NotEnough, why)
		return out, nil
	}
	if err := out.compare(s, f); err != nil {
		return nil, fmt.Errorf("differences between ages of %s: %w", title(d), err)
	}
	if err := out.withoutAware(in, d, s); err != nil {
		return nil, fmt.Errorf("differences between ages of %s, without those who knew it: %w", title(d), err)
	}
	out.say()
	out.warn(s)
	out.tabulate()
	return out, nil
}

// describe fills in what does not need the model: the attribute, counts, steps and each taster's own differences.
func (a *AgeDifferences) describe(in Input, s *scoreRows, best Num) {
	a.Attribute, a.Better, a.Best = s.attribute.Name, s.attribute.Better.String(), best
	if best.Finite() {
		a.Better = panel.BetterMiddle.String()
	}
	a.Unit, a.Units, a.Decimals = s.unit, s.units, s.decimals()
	a.Counts = in.counts(s.tastes)
	if s.missing > 0 {
		a.Counts.LeftOut = []LeftOut{{"no " + a.Attribute + " given", s.missing}}
	}
	if m := in.Panel.Settings.SameMargin; m > 0 {
		a.Margin = Of(m)
	}
	a.Own = s.ownDifferences(in)
	for k, age := range s.steps {
		x := AgeDifference{AgeMin: age}
		x.Tasters, x.Tastes = s.at(k)
		a.Steps = append(a.Steps, x)
	}
	if len(a.Steps) > 0 {
		a.FreshAge = a.Steps[0].AgeMin
	}
}

// compare fills in the steps, turned back into the scale's own direction.
func (a *AgeDifferences) compare(s *scoreRows, f *ageFit) error {
	a.Status = OK
	if !f.fit.Converged() {
		a.Status = NotConverged
		a.Warnings = append(a.Warnings, "The fit of the scores did not settle ("+f.fit.Why()+"): take its numbers with care.")
	}
	a.Warnings = append(a.Warnings, f.model.notes...)
	a.DF, a.Singular = f.df(), f.model.untold(f.fit)
	for k, m := range f.means {
		a.Steps[k].Mean = s.sign * m
	}
	for k, c := range f.compared.List {
		x := &a.Steps[k+1]
		x.Difference, x.SE, x.DF = s.sign*c.Estimate, c.SE, c.DF
		x.Lower, x.Upper = min(s.sign*c.JointLower, s.sign*c.JointUpper), max(s.sign*c.JointLower, s.sign*c.JointUpper)
		if a.Units >= pFrom && a.Unit == "taster" {
			x.P, x.PAdjusted = Of(c.P), Of(c.Adjusted)
		}
		if a.FirstSure.Empty() && a.worse(x) {
			a.FirstSure = Of(x.AgeMin)
		}
	}
	return a.sameness(f, s.sign)
}

// withoutAware compares again without the tastes of those who made or knew the drink, where there are any.
func (a *AgeDifferences) withoutAware(in Input, d endpoint.Drink, all *scoreRows) error {
	if !slices.ContainsFunc(all.rows, func(r scoreRow) bool { return r.aware }) {
		return nil
	}
	other := &AgeDifferences{Level: a.Level, SameStatus: NotAsked}
	s, best, _ := in.ageScores(d, notAware)
	other.describe(in, s, best)
	why := s.tooFewForAges()
	if why == "" {
		var f *ageFit
		if f, why = newAgeFit(s); why == "" {
			if err := other.compare(s, f); err != nil {
				return err
			}
		}
	}
	if why != "" || other.Unit != a.Unit {
		a.Warnings = append(a.Warnings, "Without the tastes by those who made or knew the drink too little is left to compare.")
		return nil
	}
	a.Blind = &AgeBlind{Counts: other.Counts, FreshAge: other.FreshAge, Status: other.Status, Steps: other.Steps, FirstSure: other.FirstSure, SameUpTo: other.SameUpTo, SameStatus: other.SameStatus}
	return nil
}

// worse tells whether a step is surely not as good as fresh, better whether it is surely better.
func (a *AgeDifferences) worse(x *AgeDifference) bool {
	return a.loss(x.Lower) > 0 && a.loss(x.Upper) > 0
}

func (a *AgeDifferences) better(x *AgeDifference) bool {
	return a.loss(x.Lower) < 0 && a.loss(x.Upper) < 0
}

// loss turns a difference so that worse is above zero.
func (a *AgeDifferences) loss(x float64) float64 {
	if a.Better == panel.BetterHigh.String() {
		return 0 - x
	}
	return x
}

// unanswered says why nothing is compared.
func (a *AgeDifferences) unanswered(status, why string) {
	a.Status, a.Unsaid, a.SameStatus = status, why, status
	a.Steps, a.Own = nil, nil
	a.add("Differences between ages are not answered: " + why + ".")
	for _, x := range [][3]string{{"difference", "mixed", "points"}, {"same_up_to", "two_one_sided", "min"}} {
		r := a.statusRow(x[0], x[1], "", status, x[2])
		r.Attribute = a.Attribute
		a.Rows = append(a.Rows, r)
	}
}

// finite tells whether all numbers are.
func finite(all ...float64) bool {
	return !slices.ContainsFunc(all, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
}
