package panelcsv

import (
	"fmt"
	"slices"
	"time"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

const (
	halfDay     = 12 * time.Hour
	day         = 24 * time.Hour
	agreeWithin = 30 * time.Second // stated age against clock times
)

// evening places times of day on one axis that runs over midnight.
type evening struct {
	start time.Duration // since midnight
	given bool
}

// place gives the time since midnight before the evening.
func (e evening) place(at time.Duration) time.Duration {
	switch {
	case e.given && e.start-at > halfDay, !e.given && at < e.start:
		return at + day
	}
	return at
}

// eveningOf finds the start where none is given: the earliest time that leaves no gap over 12 h. On the circle of the day
// at most one gap is that wide; the evening starts after it, or with the earliest time where there is none.
func eveningOf(times []time.Duration) evening {
	if len(times) == 0 {
		return evening{}
	}
	slices.Sort(times)
	for i := 1; i < len(times); i++ {
		if times[i]-times[i-1] > halfDay {
			return evening{start: times[i]}
		}
	}
	return evening{start: times[0]}
}

// evenings finds the start of every session, from all times of making and tasting.
func (r *reader) evenings(rows []tasteRow) map[string]evening {
	out := map[string]evening{}
	times := map[string][]time.Duration{}
	add := func(session string, c clock) {
		if c.given {
			times[session] = append(times[session], c.at)
		}
	}
	for i := range rows {
		add(rows[i].session, rows[i].tasted)
	}
	for i := range r.choices {
		add(r.choices[i].Session, r.choices[i].tasted)
	}
	for i := range r.glass {
		add(r.glass[i].Session, r.glass[i].made)
	}
	for s, t := range times {
		if r.desc != nil && r.desc.start != "" {
			c, _ := parseClock(r.desc.start)
			out[s] = evening{start: c.at, given: true}
			continue
		}
		out[s] = eveningOf(t)
	}
	return out
}

// ages finds the age of every row.
func (r *reader) ages(rows []tasteRow) {
	evenings := r.evenings(rows)
	for i := range r.glass {
		if g := &r.glass[i]; g.made.given {
			g.Made, g.HasMade = evenings[g.Session].place(g.made.at), true
		}
	}
	for i := range rows {
		if row := &rows[i]; !row.ageFault {
			before := len(r.faults)
			r.age(row, evenings[row.session])
			row.ageFault = len(r.faults) > before
		}
	}
	r.sameAge(rows)
	r.choiceAges(evenings)
}

// since gives the time between the making of a glass and a tasting; false where the tasting comes first.
func (e evening) since(tasted clock, g *glass) (time.Duration, bool) {
	age := e.place(tasted.at) - g.Made
	if age < -halfDay {
		age += day
	}
	return age, age >= 0
}

// age: what is stated wins, then the clock, then the plan.
func (r *reader) age(row *tasteRow, e evening) {
	g := &r.glass[row.glass]
	s := &row.taste
	byClock, timed := time.Duration(0), row.tasted.given && g.made.given
	if timed {
		var after bool
		if byClock, after = e.since(row.tasted, g); !after {
			column, want := "tasted_at", fmt.Sprintf("the drink was made at %s (%s)", g.made.text, g.madeAt)
			if row.fromRound {
				column, want = "round", want+", after this round was called"
			}
			r.at(r.tastes, row.row, column, dataerr.ErrOrder, want)
			return
		}
	}
	switch {
	case row.hasAge:
		s.Age, s.AgeFrom = panel.Age(row.ageMin), panel.AgeStated
		if timed && !row.fromRound && (s.Age-byClock).Abs() > agreeWithin+row.tasted.doubt()+g.made.doubt() {
			r.at(r.tastes, row.row, "age_min", dataerr.ErrConflict, fmt.Sprintf("tasted_at %s less made_at %s (%s) is %s minutes; correct one of them, or leave one out",
				row.tasted.text, g.made.text, g.madeAt, ftoa(panel.Minutes(byClock))))
		}
	case timed:
		s.Age, s.AgeFrom = byClock, panel.AgeClock
	case row.hasPlanned:
		s.Age, s.AgeFrom = s.Planned, panel.AgePlanned
	case row.tasted.given:
		r.fault(dataerr.Cell{File: r.tastes.file, Row: row.line, Column: "made_at", Err: dataerr.ErrMissing,
			Want: "give the time of making here or in pours.csv, or the age in age_min"})
	case r.tastes.has("age_min"):
		r.at(r.tastes, row.row, "age_min", dataerr.ErrMissing, "write minutes since the drink was finished, such as 4.5")
	case r.tastes.get(row.row, "round") != "" && r.rounds.there:
		r.at(r.tastes, row.row, "round", dataerr.ErrMissing, "no time of this round stands in "+r.rounds.file+"; give called_at there, or the time or age here")
	case !r.tastes.has("tasted_at") && r.tastes.has("round"):
		r.at(r.tastes, row.row, "round", dataerr.ErrMissing, "name the round as rounds.csv does")
	default:
		r.at(r.tastes, row.row, "tasted_at", dataerr.ErrMissing, wantClock)
	}
}

// sameAge refuses two different rows about one taster, glass and age.
func (r *reader) sameAge(rows []tasteRow) {
	type key struct {
		taster string
		glass  int
		age    time.Duration
	}
	first := make(map[key]int, len(rows))
	for i := range rows {
		row := &rows[i]
		if row.ageFault {
			continue
		}
		k := key{row.taster, row.glass, row.taste.Age}
		if line, twice := first[k]; twice {
			r.fault(dataerr.Cell{File: r.tastes.file, Row: row.line, Column: "pour", Value: r.tastes.get(row.row, "pour"), Err: dataerr.ErrConflict,
				Want: fmt.Sprintf("line %d has the same taster, pour and age but is not the same row; keep one of them", line)})
			continue
		}
		first[k] = row.line
	}
}
