package answer

import (
	"fmt"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// scoreRow is one overall score of a drink.
type scoreRow struct {
	age, score float64 // minutes; points, turned so that higher is better
	taster     string
	unit       string // whose rows belong together: the taster, or of one taster alone the pour
	session    string
	batch      string // empty: unknown
	mode       string
	aware      bool
	step       int // index into steps
}

// scoreRows are all overall scores of a drink with their age steps.
type scoreRows struct {
	attribute *panel.Attribute
	sign      float64 // 1; -1 where low is better: scores are turned
	rows      []scoreRow
	steps     []float64 // minutes: mean actual ages
	unit      string    // "taster", or "pour" where one taster made several
	units     int
	tastes    []panel.Taste // the rows they came from
	missing   int           // rows without an overall score
}

// scoreRowsOf gathers the overall scores of a drink in any mode; keep, when not nil, says which rows count. Where there is
// nothing to work with, why says what would be needed.
func (in Input) scoreRowsOf(d endpoint.Drink, keep func(panel.Taste) bool) (s *scoreRows, why string) {
	k := -1
	for i := range in.Panel.Attributes {
		if in.Panel.Attributes[i].Name == in.Panel.Settings.Overall && in.Panel.Settings.Overall != "" {
			k = i
		}
	}
	if k < 0 {
		return nil, "nobody was asked for an overall score (a column liking, or name another in datapackage.json under overall)"
	}
	s = &scoreRows{attribute: &in.Panel.Attributes[k], sign: 1, unit: "taster"}
	if s.attribute.Better == panel.BetterMiddle {
		return nil, fmt.Sprintf("%s is best in the middle of its scale, so a limit from below says nothing", s.attribute.Name)
	}
	if s.attribute.Better == panel.BetterLow {
		s.sign = -1
	}
	for _, t := range in.tastesOf(d) {
		switch {
		case keep != nil && !keep(t):
		case !t.Scores[k].Given:
			s.missing++
		default:
			s.tastes = append(s.tastes, t)
		}
	}
	steps, of := panel.AgeSteps(s.tastes)
	for _, st := range steps {
		s.steps = append(s.steps, panel.Minutes(st.Mean))
	}
	for i, t := range s.tastes {
		p := &in.Panel.Pours[t.Pour]
		r := scoreRow{age: panel.Minutes(t.Age), score: s.sign * t.Scores[k].Value, taster: t.Taster, unit: t.Taster,
			session: t.Session, mode: t.Mode.String(), aware: t.Aware, step: of[i]}
		if p.Batch != "" {
			r.batch = t.Session + "\x00" + p.Batch
		}
		s.rows = append(s.rows, r)
	}
	s.units = s.count(func(r *scoreRow) string { return r.unit })
	if s.units == 1 {
		s.byPour(in)
	}
	return s, ""
}

// byPour makes the independently made pour the unit of one taster's scores, where there are three.
func (s *scoreRows) byPour(in Input) {
	made := map[string]bool{}
	for i, t := range s.tastes {
		name := t.Session + "\x00" + in.Panel.Pours[t.Pour].ID
		if b := s.rows[i].batch; b != "" {
			name = b
		}
		made[name] = true
		s.rows[i].unit = name
	}
	s.unit, s.units = "pour", len(made)
}

func (s *scoreRows) count(of func(*scoreRow) string) int {
	seen := map[string]bool{}
	for i := range s.rows {
		seen[of(&s.rows[i])] = true
	}
	return len(seen)
}

// enough tells why no model can be asked, or nothing.
func (s *scoreRows) enough() string {
	switch {
	case len(s.rows) == 0:
		return "no overall score was given"
	case s.units < 3 && s.unit == "pour":
		return "one taster speaks for one person; from three independently made pours on the answer is for this taster"
	case s.units < 3:
		return "two tasters are too few to tell how tasters differ"
	case len(s.steps) < 3:
		return fmt.Sprintf("it was scored at %s only, and fewer than three ages cannot tell a course", Count(len(s.steps), "age"))
	case !slices.ContainsFunc(s.rows, func(r scoreRow) bool { return r.score != s.rows[0].score }):
		return fmt.Sprintf("every score is %s, so there is nothing that age could be seen to change", points(s.sign*s.rows[0].score))
	}
	return ""
}
