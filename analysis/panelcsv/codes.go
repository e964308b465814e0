package panelcsv

import (
	"fmt"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

const planFile = "plan.json"

// codeBook is the code key: what the blind codes on the glasses stand for.
type codeBook struct {
	file   string
	there  bool
	bad    bool // it has faults: a glass without a style is no further one
	codes  map[string]*panel.Code
	byPour map[string][]*pourRow // what the key says about a pour
	order  []*panel.Code
	used   map[string]bool
}

// readCodes reads key.csv, and plan.json as far as it tells that there is a code key. Where a plan names one (code_key) and
// it is not in the folder, the session is still blind.
func (r *reader) readCodes() {
	t := r.beside("key", keyColumns, "code", "pour")
	r.readPlan(t != nil)
	if t == nil {
		return
	}
	r.codes = codeBook{file: t.file, there: true, codes: map[string]*panel.Code{}, byPour: map[string][]*pourRow{}, used: map[string]bool{}}
	before := len(r.faults)
	defer func() { r.codes.bad = len(r.faults) > before }()
	pours := map[string]int{} // line
	for _, i := range r.distinct(t, "code") {
		if !r.needed(t, i, "give every code and its pour", "code", "pour") {
			continue
		}
		c := &panel.Code{Code: t.get(i, "code"), Pour: t.get(i, "pour"), Style: t.get(i, "style"), Serve: t.get(i, "serve"), Batch: t.get(i, "batch"),
			Origin: panel.Origin{File: t.file, Line: t.rows[i].line}}
		age, given := r.numberAt(t, i, "planned_age_min", 0, maxAgeMin, wantAge)
		c.Planned, c.HasPlanned = panel.Age(age), given
		if first := r.codes.codes[c.Code]; first != nil {
			r.at(t, i, "code", dataerr.ErrConflict, fmt.Sprintf("line %d gives the same code to another glass; a code stands for one", first.Origin.Line))
			continue
		}
		r.codes.codes[c.Code] = c
		r.codes.order = append(r.codes.order, c)
		pours[c.Pour] = c.Origin.Line
		r.codes.byPour[c.Pour] = append(r.codes.byPour[c.Pour], &pourRow{key: glassKey{pour: c.Pour}, file: t.file, line: c.Origin.Line, style: c.Style, serve: c.Serve, batch: c.Batch})
	}
	for _, c := range r.codes.order {
		if line, also := pours[c.Code]; also && c.Code != c.Pour {
			r.fault(dataerr.Cell{File: t.file, Row: c.Origin.Line, Column: "code", Value: c.Code, Err: dataerr.ErrConflict,
				Want: fmt.Sprintf("line %d has a pour of this name; a code is no pour's name", line)})
		}
	}
}

// of gives what the key says about a pour.
func (b *codeBook) of(pour string) []*pourRow { return b.byPour[pour] }

// codeAt gives the code that a cell holds; nil where it holds none.
func (r *reader) codeAt(cell string) *panel.Code { return r.codes.codes[cell] }

// decode gives the pour that a cell names, by code or by name.
func (r *reader) decode(cell string) string {
	c := r.codeAt(cell)
	if c == nil {
		return cell
	}
	r.codes.used[cell] = true
	return c.Pour
}

// readPlan looks into plan.json for the code key's name.
func (r *reader) readPlan(haveKey bool) {
	file := r.written(planFile)
	if file == "" {
		return
	}
	raw, text, bad := slurp(r.fsys, file, r.shown(file))
	var root *node
	if bad == nil {
		root, bad = parseJSON(r.shown(file), text)
	}
	if bad != nil {
		r.faults = append(r.faults, bad)
		return
	}
	r.raw[file] = raw
	if root.kind != jsonObject {
		r.fault(dataerr.Cell{File: r.shown(file), Row: root.line, Value: root.written(), Err: dataerr.ErrFormat, Want: "the plan is one object: {\"code_key\": \"key.csv\"}"})
	}
	for _, m := range root.members {
		if m.key == "code_key" && !haveKey && m.value.kind == jsonString && m.value.text != "" {
			r.blind = true
			r.note("%s: the plan has a code key, %s, which is not in the folder: glasses known by their code only stay blind and are left out until it is.", r.shown(file), m.value.text)
		}
	}
}

// dropBlind leaves out what is known by code only: without the key its style and age are not known. A ranking goes as a whole.
func (r *reader) dropBlind(rows []tasteRow) []tasteRow {
	if !r.blind {
		return rows
	}
	const reason = "known by code only, no code key"
	to := make([]int, len(r.glass))
	var kept []glass
	for i := range r.glass {
		if to[i] = len(kept); r.glass[i].style.value == "" {
			to[i] = -1
			r.dropped = true
			continue
		}
		kept = append(kept, r.glass[i])
	}
	r.glass = kept
	out := rows[:0]
	for _, row := range rows {
		if row.glass = to[row.glass]; row.glass < 0 {
			r.count(row.session, reason, 1)
			continue
		}
		out = append(out, row)
	}
	readings := r.readings[:0]
	for _, x := range r.readings {
		if x.Pour = to[x.Pour]; x.Pour < 0 {
			r.count(x.Session, reason, 1)
			continue
		}
		readings = append(readings, x)
	}
	r.readings = readings
	choices := r.choices[:0]
	for _, x := range r.choices {
		if x.PourA, x.PourB = to[x.PourA], to[x.PourB]; x.PourA < 0 || x.PourB < 0 {
			r.count(x.Session, reason, 1)
			continue
		}
		choices = append(choices, x)
	}
	r.choices = choices
	r.dropBlindPlaces(to, reason)
	return out
}

func (r *reader) dropBlindPlaces(to []int, reason string) {
	type key struct{ session, taster, trial string }
	blind := map[key]bool{}
	for _, x := range r.places {
		if to[x.Pour] < 0 {
			blind[key{x.Session, x.Taster, x.Trial}] = true
		}
	}
	places := r.places[:0]
	for _, x := range r.places {
		if blind[key{x.Session, x.Taster, x.Trial}] {
			r.count(x.Session, reason, 1)
			continue
		}
		x.Pour = to[x.Pour]
		places = append(places, x)
	}
	r.places = places
}
