package answer

import (
	"errors"
	"fmt"
	"strings"

	"lastsip/analysis/mixed"
	"lastsip/analysis/panel"
)

// ageFit is the model of one mean per age step.
type ageFit struct {
	*mixed.Fit
	degrees  *mixed.Degrees
	means    []float64        // expected score at each step
	against  []mixed.Contrast // every older step less the first
	compared *mixed.Comparisons
	plain    string // why units have no slope of their own; empty: they have
}

// ageWithin is how near adjusted p-values about 0.05 come to the truth: critical values then are good to three digits, and a page
// does not wait.
const ageWithin = 2e-4

// errNoLimits says that a fit has no standard errors to speak of.
var errNoLimits = errors.New("a limit is not a number")

// fit estimates the model: units with an own level and slope, with an own level alone where slopes cannot be told, without
// either where every unit was tasted once. why says what stands against all of these.
func (t *ageTable) fit() (f *ageFit, why string) {
	table, err := t.table()
	if err != nil {
		return nil, "the scores make no table: " + err.Error()
	}
	level := mixed.Random{Group: []string{"unit"}}
	slope := level
	slope.Slopes = []mixed.Term{mixed.Numeric{Name: "age"}}
	tries := [][]mixed.Random{{slope}, {level}}
	if len(t.units()) == len(t.rows) {
		tries = [][]mixed.Random{nil}
	}
	for i, random := range tries {
		f := &ageFit{}
		if f.infer(table, random) != nil {
			continue
		}
		if i > 0 {
			f.plain = fmt.Sprintf("The tastes are too few to tell how much faster one %s falls than another; one slope is taken for all.", t.unit)
		}
		return f, ""
	}
	return nil, "these scores leave nothing to judge differences by: too few of them, or without any scatter"
}

// infer fits the model with some random terms, and compares the steps with the first.
func (f *ageFit) infer(table *mixed.Table, random []mixed.Random) (err error) {
	spec := mixed.Spec{Response: "score", Fixed: []mixed.Term{mixed.Factor{Name: "step"}}, Random: random}
	if f.Fit, err = spec.Fit(table); err != nil {
		return err
	}
	means, err := f.Means([]string{"step"})
	if err != nil {
		return err
	}
	if f.degrees, err = f.tested(); err != nil {
		return err
	}
	for _, m := range means {
		one, err := f.degrees.Infer(m.L, Level)
		if err != nil {
			return err
		}
		f.means = append(f.means, one.Estimate)
	}
	f.against = mixed.AgainstFirst(means)
	if f.compared, err = f.degrees.Contrasts(f.against, mixed.ContrastOptions{Adjust: mixed.MaxT, Level: Level, Within: ageWithin}); err != nil {
		return err
	}
	for _, c := range f.compared.List {
		if !finite(c.Estimate, c.SE, c.DF, c.JointLower, c.JointUpper, c.P, c.Adjusted) {
			return errNoLimits
		}
	}
	return nil
}

// tested prepares tests; a variance at its boundary is held there for the degrees of freedom.
func (f *ageFit) tested() (*mixed.Degrees, error) {
	d, err := f.Degrees(mixed.Default)
	if err != nil || len(f.Singular()) == 0 || d.Method() != mixed.KenwardRoger {
		return d, err
	}
	return f.Degrees(mixed.KenwardRogerDropped)
}

// table makes the columns of the model; the labels of steps are in their order.
func (t *ageTable) table() (*mixed.Table, error) {
	names := make([]string, len(t.steps))
	for k := range names {
		names[k] = fmt.Sprintf("%d", k)
	}
	step, age := make([]string, len(t.rows)), make([]float64, len(t.rows))
	for i, x := range t.rows {
		step[i], age[i] = names[t.of[i]], panel.Minutes(x.Age)
	}
	return mixed.NewTable(mixed.Numbers("score", t.scores), mixed.Labels("step", step, names...), mixed.Numbers("age", age), mixed.Labels("unit", t.who))
}

// compare fills in the steps: means, differences from the youngest, tests.
func (a *AgeDifferences) compare(f *ageFit) error {
	a.Status = OK
	if !f.Converged() {
		a.Status = NotConverged
	}
	if f.plain != "" {
		a.Warnings = append(a.Warnings, f.plain)
	}
	a.Singular = singularWords(f.Singular(), a.Unit)
	a.DF = f.degrees.Method().String()
	if f.degrees.Method() == mixed.KenwardRogerDropped {
		a.DF = mixed.KenwardRoger.String()
	}
	for k, m := range f.means {
		a.Steps[k].Mean = m
	}
	for k, c := range f.compared.List {
		x := &a.Steps[k+1]
		x.Difference, x.SE, x.DF, x.Lower, x.Upper = c.Estimate, c.SE, c.DF, c.JointLower, c.JointUpper
		if a.Units >= pFrom && a.Unit == "taster" {
			x.P, x.PAdjusted = Of(c.P), Of(c.Adjusted)
		}
		if a.FirstSure.Empty() && a.worse(x) {
			a.FirstSure = Of(x.AgeMin)
		}
	}
	return a.sameness(f)
}

// worse tells whether a step is surely not as good as fresh.
func (a *AgeDifferences) worse(x *AgeDifference) bool {
	if a.Better == panel.BetterHigh.String() {
		return x.Upper < 0
	}
	return x.Lower > 0
}

// better tells whether a step is surely better than fresh.
func (a *AgeDifferences) better(x *AgeDifference) bool {
	if a.Better == panel.BetterHigh.String() {
		return x.Lower > 0
	}
	return x.Upper < 0
}

// sameness tests from the youngest step upward and stops at the first failure, so that no test needs adjusting.
func (a *AgeDifferences) sameness(f *ageFit) error {
	if a.Margin.Empty() {
		return nil
	}
	m := a.Margin.Float()
	tests, err := f.degrees.Equivalent(f.against, mixed.Margins{Lower: -m, Upper: m}, sameAlpha)
	if err != nil {
		return err
	}
	a.SameStatus = BeyondLastAge
	for k, e := range tests {
		x := &a.Steps[k+1]
		x.Lower90, x.Upper90 = Of(e.Lower), Of(e.Upper)
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

// singularWords names variances at their boundary in words.
func singularWords(singular []string, unit string) []string {
	var out []string
	for _, s := range singular {
		switch {
		case strings.Contains(s, "correlation"):
			out = append(out, fmt.Sprintf("how a %s's level and slope hang together", unit))
		case strings.HasPrefix(s, "slope"):
			out = append(out, fmt.Sprintf("how far %ss' slopes lie apart", unit))
		default:
			out = append(out, fmt.Sprintf("how far %ss' levels lie apart", unit))
		}
	}
	return out
}
