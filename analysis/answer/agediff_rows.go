package answer

import (
	"fmt"
	"strings"
)

// warn says what to doubt.
func (a *AgeDifferences) warn(s *scoreRows) {
	say := func(format string, x ...any) { a.Warnings = append(a.Warnings, fmt.Sprintf(format, x...)) }
	if len(a.Singular) > 0 {
		say("These scores cannot tell %s.", list(a.Singular))
	}
	first, last := &a.Steps[0], &a.Steps[len(a.Steps)-1]
	if 2*first.Tasters < a.Units {
		say("Fresh rests on %d of %s.", first.Tasters, Count(a.Units, a.Unit))
	}
	switch {
	case last.Tasters >= first.Tasters || a.Unit != "taster":
	case s.oneByOne(): // nobody left: each age was given to some of them
		say("%s%smin rests on %d of %s.", Age(last.AgeMin), nbsp, last.Tasters, Count(a.Units, a.Unit))
	default:
		say("At %s%smin %d of %s are left; what the others would have given is judged by their earlier scores.", Age(last.AgeMin), nbsp, last.Tasters, Count(a.Units, a.Unit))
	}
	if s.attribute.Category {
		say("%s was ticked in boxes; here the boxes are taken as equal steps.", upperFirst(a.Attribute))
	}
}

// tabulate writes the rows of results.csv: per age step the mean and the difference from the youngest with limits for all
// steps together, p-values where there are any, the plain limits behind sameness, and the age up to which it is the same.
func (a *AgeDifferences) tabulate() {
	a.ageRows(AgeBlind{Counts: a.Counts, Status: a.Status, FreshAge: a.FreshAge, Steps: a.Steps, SameUpTo: a.SameUpTo, SameStatus: a.SameStatus}, "")
	if a.Blind != nil {
		a.ageRows(*a.Blind, withoutAwares)
	}
}

// ageRows are the rows of one choice of tastes.
func (a *AgeDifferences) ageRows(b AgeBlind, variant string) {
	row := func(statistic, method, unit string) Row {
		r := a.statusRow(statistic, method, variant, b.Status, unit)
		r.count(b.Counts)
		r.Attribute = a.Attribute
		if a.Best.Finite() {
			r.Note = "distance from the best, " + a.Best.String()
		}
		return r
	}
	for k, x := range b.Steps {
		at := func(statistic, method, unit string, v Num, note string) Row {
			r := row(statistic, method, unit)
			r.AgeMin, r.Value = Of(x.AgeMin), v
			if note != "" {
				r.Note = joinNotes(r.Note, note)
			}
			return r
		}
		a.Rows = append(a.Rows, at("mean", "mixed", "points", Of(x.Mean), ""))
		if k == 0 {
			continue
		}
		r := at("difference", "mixed", "points", Of(x.Difference), fmt.Sprintf("less the mean at %s min; limits: max-t over %s; standard error %s, %s degrees of freedom", Age(b.FreshAge), plain(Count(len(b.Steps)-1, "age")), points(x.SE), points(x.DF)))
		r.Lower, r.Upper, r.Level = Of(x.Lower), Of(x.Upper), Of(a.Level)
		a.Rows = append(a.Rows, r)
		if x.PAdjusted.Finite() {
			a.Rows = append(a.Rows, at("p_adjusted", "max_t", "1", x.PAdjusted, "of the difference from the youngest age; unadjusted "+points(x.P.Float())))
		}
		if x.Lower90.Finite() {
			r := at("difference", "two_one_sided", "points", Of(x.Difference), "limits of this age alone, to be set beside the margin")
			r.Lower, r.Upper, r.Level = x.Lower90, x.Upper90, Of(1-2*sameAlpha)
			a.Rows = append(a.Rows, r)
		}
	}
	r := row("same_up_to", "two_one_sided", "min")
	r.Status, r.Value = b.SameStatus, b.SameUpTo
	if b.Status == NotConverged && b.SameStatus != NotAsked {
		r.Status = NotConverged
	}
	if a.Margin.Finite() {
		r.Level, r.Note = Of(1-2*sameAlpha), joinNotes(r.Note, "within "+a.Margin.String()+" points")
	}
	a.Rows = append(a.Rows, r)
}

// plain takes unbreakable spaces out.
func plain(s string) string { return strings.ReplaceAll(s, nbsp, " ") }
