package panelcsv

import (
	"fmt"
	"slices"
	"time"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// glass is a panel.Pour on its way, with the place of everything that was said about it.
type glass struct {
	panel.Pour
	style, serve, batch said
	made                clock
	madeAt              string   // place
	madeTold            []string // other times that were told as faults
	sips                int      // tastes in sip-through
	tasted              bool     // a row of tastes.csv is about it
}

// said is a value and the place that gave it.
type said struct {
	value, place string
	told         []string // other values that were told as faults
}

// glasses finds the glass of every row and puts together what the files say about it; rows without any answer are left out.
func (r *reader) glasses(rows []tasteRow) []tasteRow {
	kept := rows[:0]
	for _, row := range rows {
		if row.unused {
			r.count(row.session, "row without score, verdict or why", 1)
			continue
		}
		if row.taster == "" || row.pour == "" {
			continue // told already
		}
		described := r.describing(row.session, row.taster, row.pour)
		key := glassKey{row.session, "", row.pour}
		if row.taste.Mode == panel.SipThrough || len(described) > 0 && described[0].key.taster != "" {
			key.taster = row.taster
		}
		g, ok := r.index[key]
		if !ok {
			g = r.addGlass(key, row.taste.Origin, described)
		}
		row.glass = g
		r.glass[g].tasted = true
		r.tell(&r.glass[g], &row)
		kept = append(kept, row)
	}
	for i := range r.glass {
		r.needsStyle(&r.glass[i])
	}
	return kept
}

// addGlass makes a glass known and gives its index in r.glass.
func (r *reader) addGlass(key glassKey, at panel.Origin, described []*pourRow) int {
	g := glass{Pour: panel.Pour{Session: key.session, ID: key.pour, Taster: key.taster, Origin: at}}
	if len(described) > 0 {
		g.Origin = panel.Origin{File: described[0].file, Line: described[0].line}
	}
	r.describe(&g, described)
	r.glass = append(r.glass, g)
	r.index[key] = len(r.glass) - 1
	return len(r.glass) - 1
}

// describe adds what rows of pours.csv say.
func (r *reader) describe(g *glass, described []*pourRow) {
	for _, p := range described {
		o := panel.Origin{File: p.file, Line: p.line}
		r.say(&g.style, "style", p.style, o, true)
		r.say(&g.serve, "serve", p.serve, o, true)
		r.say(&g.batch, "batch", p.batch, o, true)
		r.sayMade(g, p.made, o)
		if g.VolumeML == 0 {
			g.VolumeML = p.volume
		}
	}
}

// tell adds what a row of tastes.csv says about its glass.
func (r *reader) tell(g *glass, row *tasteRow) {
	o := row.taste.Origin
	sure := row.modeGiven || row.taste.Mode == panel.SipThrough
	r.say(&g.style, "style", row.style, o, sure)
	r.say(&g.serve, "serve", row.serve, o, sure)
	r.say(&g.batch, "batch", row.batch, o, sure)
	r.sayMade(g, row.made, o)
	if row.taste.Mode == panel.SipThrough {
		g.sips++
	}
}

// say keeps the first value and makes a fault of another one.
func (r *reader) say(s *said, column, value string, o panel.Origin, modeSure bool) {
	switch {
	case value == "":
	case s.value == "":
		*s = said{value: value, place: place(o.File, o.Line)}
	case s.value != value:
		want := fmt.Sprintf("%s says %q about the same pour; write one of them in both places", s.place, s.value)
		if !modeSure {
			want += ", or give a mode column with sip_through if every taster had an own glass"
		}
		if !slices.Contains(s.told, value) { // once, not for every taste of the glass
			s.told = append(s.told, value)
			r.fault(dataerr.Cell{File: o.File, Row: o.Line, Column: column, Value: value, Err: dataerr.ErrConflict, Want: want})
		}
	}
}

// sayMade does the same for the time of making, where a time without seconds agrees with one that has them.
func (r *reader) sayMade(g *glass, c clock, o panel.Origin) {
	switch {
	case !c.given:
	case !g.made.given, !g.made.seconds && c.seconds && apart(g.made, c) <= time.Minute:
		g.made, g.madeAt = c, place(o.File, o.Line)
	case slices.Contains(g.madeTold, c.text):
	case apart(g.made, c) > 0 && !(g.made.seconds && !c.seconds && apart(g.made, c) <= time.Minute):
		g.madeTold = append(g.madeTold, c.text)
		r.fault(dataerr.Cell{File: o.File, Row: o.Line, Column: "made_at", Value: c.text, Err: dataerr.ErrConflict,
			Want: fmt.Sprintf("%s says %q about the same pour; write one of them in both places", g.madeAt, g.made.text)})
	}
}

// apart is the time between two times of day.
func apart(a, b clock) time.Duration { return (a.at - b.at).Abs() }

// needsStyle tells of a glass without a style, once.
func (r *reader) needsStyle(g *glass) {
	if g.style.value != "" || r.blind || r.codes.bad {
		return
	}
	c := dataerr.Cell{File: g.Origin.File, Row: g.Origin.Line, Column: "style", Err: dataerr.ErrMissing, Want: "name the drink style of every pour, here or in " + r.otherFile(g.Origin.File)}
	if r.pours.there && g.Origin.File == r.tastes.file {
		c.Column, c.Value, c.Err = "pour", g.ID, dataerr.ErrUnknown
		c.Want = r.pours.file + " has no such pour, and no style stands here"
	}
	if r.codes.there {
		c.Want += "; " + r.codes.file + " has no such code"
	}
	r.fault(c)
}

func (r *reader) otherFile(file string) string {
	if file == r.tastes.file {
		return r.shown("pours.csv")
	}
	return r.tastes.file
}
