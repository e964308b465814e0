package answer

import (
	"fmt"
	"math"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// sameAlpha is the level of each of the two one-sided tests of sameness.
const sameAlpha = 0.05

// NewAgeDifferences answers: from which age on is the drink surely not as good as fresh, and up to which age is it shown to be
// the same? Fresh is the youngest age step.
//
// The expected overall score has one mean per age step in a linear mixed model in which every taster has an own level and an
// own slope per minute (of one taster alone every batch, or pour where batches are not known, has). Every older step is
// compared with the youngest; limits and p-values hold for all steps together. Where the scale is best in the middle the
// distance from the best stands for the score. Below three tasters (or three pours of one) nothing is compared; p-values are
// given from six tasters on. Sameness is asked where a margin was stated beforehand.
func NewAgeDifferences(in Input, d endpoint.Drink) (*AgeDifferences, error) {
	out := &AgeDifferences{Head: in.head("difference", d), Level: Level, SameStatus: NotAsked}
	out.Method = "Linear mixed model by restricted likelihood: one mean of the overall score per age step, each taster with an own level and an own slope per minute. Every older step against the youngest: limits and p-values hold for all steps together (max-t), degrees of freedom and standard errors after Kenward and Roger (Satterthwaite above 5,000 tastes); a variance estimated at zero is left out of them. " +
		"Sameness: two one-sided tests at 5 % each, from the youngest age upward, until the first that fails."
	out.Source = "mixed model: Laird & Ware 1982, Biometrics 38, 963; Kenward & Roger 1997, Biometrics 53, 983; max-t: Hothorn, Bretz & Westfall 2008, Biom. J. 50, 346; sameness: Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657"
	overall := in.Panel.Settings.Overall
	out.Settings = in.settings(d, "overall", "scale of "+overall, "best of "+overall, "same_margin")
	t := in.ageTable(d)
	if why := t.whyNot(); why != "" {
		out.unanswered(NotAsked, why)
		return out, nil
	}
	out.describe(in, t)
	if why := t.tooFew(); why != "" {
		out.unanswered(NotEnough, why)
		return out, nil
	}
	f, why := t.fit()
	if why != "" {
		out.unanswered(NotEnough, why)
		return out, nil
	}
	if err := out.compare(f); err != nil {
		return nil, fmt.Errorf("differences between ages of %s: %w", title(d), err)
	}
	out.say()
	out.warn()
	out.tabulate()
	return out, nil
}

// describe fills in what does not need the model: the attribute, counts, steps and each taster's own differences.
func (a *AgeDifferences) describe(in Input, t *ageTable) {
	a.Attribute, a.Better = t.attribute.Name, t.attribute.Better.String()
	a.Unit, a.Decimals = t.unit, t.decimals()
	if t.attribute.Better == panel.BetterMiddle {
		a.Best = Of(t.attribute.Best)
	}
	c := in.counts(t.rows)
	c.LeftOut = t.leftOut()
	a.Counts = c
	a.Units = len(t.units())
	for k, s := range t.steps {
		x := AgeDifference{AgeMin: panel.Minutes(s.Mean), Tastes: s.N, Tasters: t.unitsAt(k)}
		if k == 0 {
			a.FreshAge = x.AgeMin
		}
		a.Steps = append(a.Steps, x)
	}
	a.Own = t.own(in)
	if m := in.Panel.Settings.SameMargin; m > 0 {
		a.Margin = Of(m)
	}
}

// unanswered says why nothing is compared.
func (a *AgeDifferences) unanswered(status, why string) {
	a.Status, a.Unsaid, a.SameStatus = status, why, status
	a.Steps, a.Own = nil, nil
	a.Sentences = append([]string{"Differences between ages are not answered: " + why + "."}, adviceFor(status)...)
	r := a.statusRow("difference", "mixed", "", status, "points")
	r.Attribute = a.Attribute
	same := a.statusRow("same_up_to", "two_one_sided", "", status, "min")
	same.Attribute = a.Attribute
	a.Rows = []Row{r, same}
}

func adviceFor(status string) []string {
	if status != NotAsked {
		return nil
	}
	return []string{"Give every taste an overall score, such as liking, and name it in datapackage.json (overall)."}
}

// finite tells whether all numbers are.
func finite(all ...float64) bool {
	for _, x := range all {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
