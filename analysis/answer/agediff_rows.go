package answer

import (
	"fmt"
	"strings"
)

// warn says what to doubt.
func (a *AgeDifferences) warn() {
	if a.Status == NotConverged {
		a.Warnings = append(a.Warnings, "The model's search did not settle; take its numbers as a hint only.")
	}
	if len(a.Singular) > 0 {
		a.Warnings = append(a.Warnings, upperFirst(strings.Join(a.Singular, "; "))+": estimated at its edge and left out of the degrees of freedom.")
	}
	first, last := &a.Steps[0], &a.Steps[len(a.Steps)-1]
	if 2*first.Tasters < a.Units {
		a.Warnings = append(a.Warnings, fmt.Sprintf("Fresh rests on %d of %s.", first.Tasters, Count(a.Units, a.Unit)))
	}
	if last.Tasters < first.Tasters && a.Unit == "taster" {
		a.Warnings = append(a.Warnings, fmt.Sprintf("At %s%smin %d of %s are left; what the others would have scored is judged by their earlier scores.", Age(last.AgeMin), nbsp, last.Tasters, Count(a.Units, a.Unit)))
	}
}

// tabulate writes the rows of results.csv: per age step the mean and the difference from the youngest with limits for all
// steps together, p-values where there are any, the plain limits behind sameness, and the age up to which it is the same.
func (a *AgeDifferences) tabulate() {
	for k, x := range a.Steps {
		r := a.stepRow(&x, "mean", "mixed", "points")
		r.Value, r.Note = Of(x.Mean), a.distanceNote()
		a.Rows = append(a.Rows, r)
		if k == 0 {
			continue
		}
		r = a.stepRow(&x, "difference", "mixed", "points")
		r.Value, r.Lower, r.Upper, r.Level = Of(x.Difference), Of(x.Lower), Of(x.Upper), Of(a.Level)
		r.Note = fmt.Sprintf("less the mean at %s min; limits: max-t over %d ages; standard error %s, %s degrees of freedom (%s)", Age(a.FreshAge), len(a.Steps)-1, points(x.SE), points(x.DF), a.DF)
		if d := a.distanceNote(); d != "" {
			r.Note = d + "; " + r.Note
		}
		a.Rows = append(a.Rows, r)
		if x.PAdjusted.Finite() {
			r = a.stepRow(&x, "p_adjusted", "max_t", "1")
			r.Value, r.Note = x.PAdjusted, "of the difference from the youngest age; alone "+x.P.String()
			a.Rows = append(a.Rows, r)
		}
		if x.Lower90.Finite() {
			r = a.stepRow(&x, "difference", "two_one_sided", "points")
			r.Value, r.Lower, r.Upper, r.Level = Of(x.Difference), x.Lower90, x.Upper90, Of(1-2*sameAlpha)
			r.Note = "limits of this age alone, to be set beside the margin"
			a.Rows = append(a.Rows, r)
		}
	}
	r := a.statusRow("same_up_to", "two_one_sided", "", a.SameStatus, "min")
	r.Attribute, r.Value = a.Attribute, a.SameUpTo
	if a.Margin.Finite() {
		r.Level, r.Note = Of(1-2*sameAlpha), "within "+a.Margin.String()+" points"
	}
	a.Rows = append(a.Rows, r)
}

// stepRow starts the row of one age step.
func (a *AgeDifferences) stepRow(x *AgeDifference, statistic, method, unit string) Row {
	r := a.statusRow(statistic, method, "", a.Status, unit)
	r.Attribute, r.AgeMin = a.Attribute, Of(x.AgeMin)
	return r
}

// distanceNote tells that scores are distances.
func (a *AgeDifferences) distanceNote() string {
	if a.Best.Empty() {
		return ""
	}
	return "distance from the best, " + a.Best.String()
}
