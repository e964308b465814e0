package panelcsv

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

func itoa(n int) string { return strconv.Itoa(n) }

// exampleTaster marks a row that only shows how a sheet is filled in.
const (
	exampleTaster = "example"
	exampleRow    = "example row of the sheet"
)

// tasteRow is a row of tastes.csv on its way to a panel.Taste.
type tasteRow struct {
	row           int // in the table
	line          int
	session       string
	taster, pour  string
	made, tasted  clock
	ageMin        float64
	hasAge        bool
	planned       float64
	hasPlanned    bool
	fromRound     bool // tasted is the time at which the round was called
	ageFault      bool // a cell that its age needs is at fault
	modeGiven     bool
	unused        bool // no score, verdict or why
	glass         int  // index into reader.glass
	taste         panel.Taste
	style, serve  string
	batch         string
	scoresLeftOut int
}

// requireTastes tells of missing columns; false when rows cannot be read.
func (r *reader) requireTastes(pours *table) bool {
	if r.tastes.absent {
		return true
	}
	ok := r.required(r.tastes, "taster", "pour")
	if !r.tastes.has("age_min") && !r.tastes.has("tasted_at") && !(r.tastes.has("round") && r.rounds.there) && !r.blind {
		want := "give minutes since the drink was finished, or tasted_at and made_at"
		if r.tastes.has("round") {
			want += "; the rounds have no times, as there is no rounds.csv that can be read"
		}
		r.fault(dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: "age_min", Err: dataerr.ErrNoColumn, Want: want})
		ok = false
	}
	if !r.tastes.has("style") && pours == nil && r.desc.path("pours") == "" && len(r.entries["pours.csv"]) == 0 && !r.codes.there && !r.blind {
		r.fault(dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: "style", Err: dataerr.ErrNoColumn, Want: "name the drink style here or in pours.csv"})
		ok = false
	}
	told := slices.ContainsFunc(r.faults, func(c *dataerr.Cell) bool { return c.File == r.tastes.file })
	if len(r.tastes.rows) == 0 && !told {
		r.fault(dataerr.Cell{File: r.tastes.file, Err: dataerr.ErrTooFew, Want: "there is a header and no taste"})
		ok = false
	}
	return ok
}

// readTastes reads every row by itself; exact duplicates are used once.
func (r *reader) readTastes() []tasteRow {
	t := r.tastes
	accept, reject := r.verdictLists()
	words := map[string]panel.Verdict{}
	for _, w := range reject {
		words[strings.ToLower(w)] = panel.Reject
	}
	for _, w := range accept {
		words[strings.ToLower(w)] = panel.Accept
	}
	wantVerdict := "accepted words are: " + strings.Join(append(slices.Clone(accept), reject...), ", ")
	rows := make([]tasteRow, 0, len(t.rows))
	scores := make([]panel.Score, len(t.rows)*len(r.attr))
	for _, i := range r.distinct(t, "taster") {
		if strings.EqualFold(t.get(i, "taster"), exampleTaster) {
			r.count(r.sessionOf(t, i), exampleRow, 1)
			continue
		}
		row := r.readTaste(i, words, wantVerdict)
		n := len(r.attr)
		row.taste.Scores = scores[i*n : (i+1)*n : (i+1)*n]
		r.readScores(&row)
		rows = append(rows, row)
	}
	return rows
}

// distinct gives the rows of a table that are not exact copies of an earlier one; copies are said and counted.
func (r *reader) distinct(t *table, column string) []int {
	first := make(map[string]int, len(t.rows))
	out := make([]int, 0, len(t.rows))
	var key []byte
	for i := range t.rows {
		key = key[:0]
		for _, c := range t.rows[i].cells {
			key = strconv.AppendInt(key, int64(len(c)), 10) // lengths keep the cells apart
			key = append(append(key, ':'), c...)
		}
		if j, twice := first[string(key)]; twice {
			r.find(dataerr.Cell{File: t.file, Row: t.rows[i].line, Column: column, Value: t.get(i, column), Err: dataerr.ErrDuplicate,
				Want: fmt.Sprintf("line %d is the same row; it is used once", t.rows[j].line)})
			r.count(r.sessionOf(t, i), "exact duplicate row", 1)
			continue
		}
		first[string(key)] = i
		out = append(out, i)
	}
	return out
}

// sessionOf gives the session of a row: what it says, else that of the folder.
func (r *reader) sessionOf(t *table, row int) string {
	if s := t.get(row, "session"); s != "" {
		return s
	}
	return r.session
}

// readTaste reads the cells of one row that are not scores.
func (r *reader) readTaste(i int, words map[string]panel.Verdict, wantVerdict string) tasteRow {
	t := r.tastes
	row := tasteRow{row: i, line: t.rows[i].line, session: r.sessionOf(t, i), taster: t.get(i, "taster"), pour: r.decode(t.get(i, "pour")),
		style: t.get(i, "style"), serve: t.get(i, "serve"), batch: t.get(i, "batch"), unused: true, glass: -1}
	for _, c := range []string{"taster", "pour"} {
		if t.get(i, c) == "" {
			r.at(t, i, c, dataerr.ErrMissing, "every taste has a "+c)
		}
	}
	before := len(r.faults)
	row.made, row.tasted = r.clockAt(t, i, "made_at"), r.clockAt(t, i, "tasted_at")
	row.ageMin, row.hasAge = r.numberAt(t, i, "age_min", 0, maxAgeMin, wantAge)
	row.planned, row.hasPlanned = r.numberAt(t, i, "planned_age_min", 0, maxAgeMin, wantAge)
	r.called(&row)
	row.ageFault = row.ageFault || len(r.faults) > before
	if k := r.codeAt(t.get(i, "pour")); k != nil && k.HasPlanned && !row.hasPlanned {
		row.planned, row.hasPlanned = panel.Minutes(k.Planned), true
	}
	s := &row.taste
	s.Session, s.Taster, s.Flight, s.Note = row.session, row.taster, t.get(i, "flight"), t.get(i, "note")
	s.Planned, s.HasPlanned = panel.Age(row.planned), row.hasPlanned
	s.Origin = panel.Origin{File: t.file, Line: row.line}
	s.Position = r.positionAt(t, i)
	if v := t.get(i, "verdict"); v != "" {
		row.unused = false
		var known bool
		if s.Verdict, known = words[strings.ToLower(v)]; !known {
			r.at(t, i, "verdict", dataerr.ErrUnknown, wantVerdict)
		}
	}
	if s.Why = r.whyAt(t, i); s.Why != panel.WhyNotSaid {
		row.unused = false
	}
	switch r.wordAt(t, i, "mode", "sip_through", "side_by_side") {
	case "sip_through":
		s.Mode, row.modeGiven = panel.SipThrough, true
	case "side_by_side":
		s.Mode, row.modeGiven = panel.SideBySide, true
	}
	s.Aware, _ = r.yesAt(t, i, "aware")
	return row
}

// readScores reads the scores of one row. A score off its scale is left out, said and counted.
func (r *reader) readScores(row *tasteRow) {
	t := r.tastes
	for k := range r.attr {
		a := &r.attr[k]
		cell := t.rows[row.row].cells[a.column]
		if cell == "" {
			continue
		}
		row.unused = false
		c := dataerr.Cell{File: t.file, Row: t.line(row.row, a.column), Column: t.heading(row.row, a.column, a.Name), Value: cell}
		x, err, want := number(cell)
		switch {
		case err != nil:
			c.Err, c.Want = err, want
			r.fault(c)
		case a.Ranged && !(x >= a.Low && x <= a.High):
			c.Err = dataerr.ErrRange
			c.Want = fmt.Sprintf("the scale runs from %s to %s; this score is left out", ftoa(a.Low), ftoa(a.High))
			r.find(c)
			r.count(row.session, "score off the scale", 1)
		default:
			row.taste.Scores[k] = panel.Score{Value: x, Given: true}
		}
	}
}

// modes gives every row without a mode its default: a taster who tastes no pour twice in a session means side by side.
func (r *reader) modes(rows []tasteRow) {
	type who struct{ session, taster string }
	looks := map[glassKey]int{}
	repeats := map[who]bool{}
	for i := range rows {
		k := glassKey{rows[i].session, rows[i].taster, rows[i].pour}
		if looks[k]++; looks[k] > 1 {
			repeats[who{k.session, k.taster}] = true
		}
	}
	first := map[who]*tasteRow{} // of every taster without a given mode
	var order []who
	for i := range rows {
		row := &rows[i]
		if row.modeGiven {
			continue
		}
		w := who{row.session, row.taster}
		row.taste.Mode = panel.SideBySide
		if repeats[w] {
			row.taste.Mode = panel.SipThrough
		}
		if first[w] == nil {
			first[w] = row
			order = append(order, w)
		}
	}
	through := 0
	for _, w := range order {
		if repeats[w] {
			through++
		}
	}
	beside := len(order) - through
	if through > 0 {
		r.note("No mode is given: %s taken as sip-through, as a pour is tasted more than once.", tasters(through))
	}
	if beside > 0 {
		r.note("No mode is given: %s taken as side by side, as no pour is tasted twice.", tasters(beside))
	}
	if through == 0 || beside == 0 {
		return
	}
	for _, w := range order { // both were taken: one may only have left early
		if !repeats[w] {
			r.find(dataerr.Cell{File: r.tastes.file, Row: first[w].line, Column: "mode", Value: panel.SideBySide.String(), Err: ErrAssumed,
				Want: "this taster tastes no pour twice, others do; if they only left early, give a mode column with sip_through"})
		}
	}
}

func tasters(n int) string {
	if n == 1 {
		return "one taster is"
	}
	return fmt.Sprintf("%d tasters are", n)
}
