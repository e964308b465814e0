package panelcsv

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// choiceRow is a row of choices.csv on its way to a panel.Choice.
type choiceRow struct {
	panel.Choice
	row    int
	tasted clock
	age    [2]float64 // minutes, of pour_a and pour_b
	hasAge [2]bool
}

// readChoices reads choices.csv; ages from clock times are found later.
func (r *reader) readChoices(t *table) {
	if t == nil {
		return
	}
	r.choiceTable = t
	type key struct{ session, taster, trial string }
	first := map[key]int{}
	for _, i := range r.distinct(t, "taster") {
		c := choiceRow{row: i, Choice: panel.Choice{Session: r.sessionOf(t, i), Taster: t.get(i, "taster"), Trial: t.get(i, "trial"),
			Origin: panel.Origin{File: t.file, Line: t.rows[i].line}}}
		if t.get(i, "answer") == "" {
			r.count(c.Session, "choice without an answer", 1)
			continue
		}
		before := len(r.faults)
		r.needed(t, i, "every choice has a taster", "taster")
		r.needed(t, i, "number the trials of a taster, from 1", "trial")
		r.test(t, i, &c)
		c.PourA = r.glassAt(t, i, "pour_a", c.Session, c.Taster)
		c.PourB = r.glassAt(t, i, "pour_b", c.Session, c.Taster)
		if c.PourA >= 0 && c.PourA == c.PourB {
			r.at(t, i, "pour_b", dataerr.ErrConflict, "it is pour_a too; a choice is between two glasses")
		}
		c.age[0], c.hasAge[0] = r.numberAt(t, i, "age_a_min", 0, maxAgeMin, wantAge)
		c.age[1], c.hasAge[1] = r.numberAt(t, i, "age_b_min", 0, maxAgeMin, wantAge)
		c.tasted = r.clockAt(t, i, "tasted_at")
		c.Position = r.positionAt(t, i)
		if len(r.faults) > before {
			continue
		}
		k := key{c.Session, c.Taster, c.Trial}
		if line, twice := first[k]; twice {
			r.at(t, i, "trial", dataerr.ErrConflict, fmt.Sprintf("line %d is this taster's trial of the same name but not the same row; number the trials of a taster", line))
			continue
		}
		first[k] = c.Origin.Line
		r.choices = append(r.choices, c)
	}
}

// test reads the kind of test and its answer, case, spaces and hyphens apart.
func (r *reader) test(t *table, i int, c *choiceRow) {
	bare := func(s string) string {
		return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(s))
	}
	written := t.get(i, "test")
	k := slices.IndexFunc(panel.Tests, func(s string) bool { return bare(s) == bare(written) })
	switch {
	case written == "":
		r.at(t, i, "test", dataerr.ErrMissing, "write one of: "+strings.Join(panel.Tests, ", "))
		return
	case k < 0:
		r.at(t, i, "test", dataerr.ErrUnknown, "write one of: "+strings.Join(panel.Tests, ", "))
		return
	}
	c.Test = panel.Tests[k]
	c.Answer = strings.ToLower(t.get(i, "answer"))
	if answers := panel.Answers(c.Test); !slices.Contains(answers, c.Answer) {
		r.at(t, i, "answer", dataerr.ErrUnknown, fmt.Sprintf("a trial of %s is answered with one of: %s", c.Test, strings.Join(answers, ", ")))
	}
}

// choiceAges finds the ages of both glasses of every choice: what is stated, then the clock, then the plan of the code.
func (r *reader) choiceAges(evenings map[string]evening) {
	t := r.choiceTable
	for k := range r.choices {
		c := &r.choices[k]
		before := len(r.faults)
		c.AgeA = r.choiceAge(c, 0, "a", c.PourA, evenings[c.Session])
		c.AgeB = r.choiceAge(c, 1, "b", c.PourB, evenings[c.Session])
		if len(r.faults) > before || c.Test == panel.Preference {
			continue
		}
		switch {
		case c.AgeA < c.AgeB:
			r.at(t, c.row, "pour_a", dataerr.ErrOrder, fmt.Sprintf("pour_a of a forced choice is the older; it is %s min old, pour_b %s min",
				ftoa(panel.Minutes(c.AgeA)), ftoa(panel.Minutes(c.AgeB))))
		case c.AgeA == c.AgeB:
			r.find(dataerr.Cell{File: t.file, Row: c.Origin.Line, Column: "pour_a", Value: t.get(c.row, "pour_a"), Err: ErrSameAge,
				Want: "there was no difference of age to notice; is one of the ages wrong?"})
		}
	}
}

// choiceAge finds the age of one glass of a choice; side is a or b.
func (r *reader) choiceAge(c *choiceRow, i int, side string, pour int, e evening) (age time.Duration) {
	t, g := r.choiceTable, &r.glass[pour]
	timed := c.tasted.given && g.made.given
	var byClock time.Duration
	if timed {
		var after bool
		if byClock, after = e.since(c.tasted, g); !after {
			r.at(t, c.row, "tasted_at", dataerr.ErrOrder, fmt.Sprintf("pour_%s was made at %s (%s)", side, g.made.text, g.madeAt))
			return 0
		}
	}
	column := "age_" + side + "_min"
	switch {
	case c.hasAge[i]:
		age = panel.Age(c.age[i])
		if timed && (age-byClock).Abs() > agreeWithin+c.tasted.doubt()+g.made.doubt() {
			r.at(t, c.row, column, dataerr.ErrConflict, fmt.Sprintf("tasted_at %s less made_at %s (%s) is %s minutes; correct one of them, or leave one out",
				c.tasted.text, g.made.text, g.madeAt, ftoa(panel.Minutes(byClock))))
		}
		return age
	case timed:
		return byClock
	}
	if k := r.codeAt(t.get(c.row, "pour_"+side)); k != nil && k.HasPlanned {
		if r.plannedChoices++; r.plannedChoices == 1 {
			r.plannedChoice = dataerr.Cell{File: t.file, Row: c.Origin.Line, Column: "pour_" + side, Value: k.Code, Err: ErrPlannedAge}
		}
		return k.Planned
	}
	want := fmt.Sprintf("give the age of pour_%s, or tasted_at here and made_at in pours.csv", side)
	if !t.has(column) {
		want += "; there is no column " + column
	}
	r.at(t, c.row, column, dataerr.ErrMissing, want)
	return 0
}
