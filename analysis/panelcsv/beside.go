package panelcsv

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// readBeside reads the files that stand beside tastes.csv, where they are there. The glasses of tastes.csv are known by now.
func (r *reader) readBeside() {
	r.readReadings(r.beside("readings", readingsColumns, "pour", "age_min", "quantity", "value", "unit"))
	r.readChoices(r.beside("choices", choicesColumns, "taster", "trial", "test", "pour_a", "pour_b", "answer"))
	r.readRankings(r.beside("rankings", rankingsColumns, "taster", "trial", "pour", "rank"))
	r.readPaces(r.beside("paces", pacesColumns, "style", "minutes", "finished"))
}

// beside opens a file; nil where there is none or it cannot be used.
func (r *reader) beside(resource string, known []string, required ...string) *table {
	t := r.open(resource, known, false)
	if t == nil || !r.required(t, required...) {
		return nil
	}
	r.unread(t, resource)
	return t
}

// unread tells of columns that nothing reads.
func (r *reader) unread(t *table, resource string) {
	for _, i := range t.extra {
		r.find(dataerr.Cell{File: t.file, Row: t.header, Column: t.names[i], Err: ErrNotAnalysed, Want: resource + " have no such column"})
	}
}

// needed tells of empty cells; false when there are any.
func (r *reader) needed(t *table, row int, want string, columns ...string) bool {
	ok := true
	for _, c := range columns {
		if t.get(row, c) == "" {
			r.at(t, row, c, dataerr.ErrMissing, want)
			ok = false
		}
	}
	return ok
}

// glassAt finds the glass that a cell of a file beside tastes.csv names: the taster's own, else the one of all tasters; one
// that was never tasted is made known from pours.csv. For an empty taster a pour with one glass is that glass; a pour of
// which every taster has an own glass is taken as one more of the same style and serve. -1 when the cell is at fault.
func (r *reader) glassAt(t *table, row int, column, session, taster string) int {
	pour := r.decode(t.get(row, column))
	if pour == "" {
		r.at(t, row, column, dataerr.ErrMissing, "name the pour as tastes.csv or pours.csv does")
		return -1
	}
	for _, k := range []glassKey{{session, taster, pour}, {session, "", pour}} {
		if g, known := r.index[k]; known {
			return g
		}
	}
	described := r.describing(session, taster, pour)
	own := r.glassesOf(session, pour)
	if taster == "" && len(own) == 1 && len(described) == 0 {
		return own[0]
	}
	key := glassKey{session, "", pour}
	if len(described) > 0 {
		key.taster = described[0].key.taster
	} else if len(own) == 0 && !r.blind {
		want := "tastes.csv has no such pour in this session"
		if r.pours.there {
			want = r.pours.file + " has no such pour"
		}
		if r.codes.there {
			want += ", " + r.codes.file + " no such code"
		}
		r.at(t, row, column, dataerr.ErrUnknown, want+"; is it written alike? A glass that was never tasted needs a row in pours.csv with its style")
		return -1
	}
	g := r.addGlass(key, panel.Origin{File: t.file, Line: t.rows[row].line}, described)
	for _, i := range own {
		o := r.glass[i].Origin
		r.say(&r.glass[g].style, "style", r.glass[i].style.value, o, true)
		r.say(&r.glass[g].serve, "serve", r.glass[i].serve.value, o, true)
	}
	r.needsStyle(&r.glass[g])
	return g
}

// glassesOf lists the glasses of a pour that belong to tasters.
func (r *reader) glassesOf(session, pour string) []int {
	var out []int
	for i := range r.glass {
		if g := &r.glass[i]; g.Session == session && g.ID == pour && g.Taster != "" {
			out = append(out, i)
		}
	}
	return out
}

const wantAge = "write minutes since the drink was finished, 0 or more and at most a week"

// positionAt reads a place in a taster's order; 0 when the cell is empty or at fault.
func (r *reader) positionAt(t *table, row int) int {
	x, given := r.numberAt(t, row, "position", 1, 1e6, "write the place in the taster's order, from 1")
	if given && x != math.Trunc(x) {
		r.at(t, row, "position", dataerr.ErrRange, "write a whole number, from 1")
	}
	return int(x)
}

// yesAt reads a cell of yes or no; given is false when it is empty or at fault.
func (r *reader) yesAt(t *table, row int, column string) (yes, given bool) {
	switch r.wordAt(t, row, column, "yes", "no", "true", "false", "y", "n", "1", "0", "x") {
	case "yes", "true", "y", "1", "x":
		return true, true
	case "":
		return false, false
	}
	return false, true
}

// whyAt reads a reason.
func (r *reader) whyAt(t *table, row int) panel.Why {
	return map[string]panel.Why{"drink": panel.WhyDrink, "full": panel.WhyFull, "bored": panel.WhyBored, "left": panel.WhyLeft}[r.wordAt(t, row, "why", "drink", "full", "bored", "left")]
}

// quantity is what we know about an instrument reading.
type quantity struct {
	name      string
	unit      string   // as the panel has it
	written   []string // other ways to write the unit, lower case
	low, high float64  // bounds that catch a slip of units rather than judge a drink
}

// quantities that have a meaning of ours; others are kept as written.
var quantities = []quantity{
	{"temperature", "C", []string{"°c", "degc", "deg c", "celsius"}, -40, 100},
	{"brix", "brix", []string{"°bx", "bx", "°brix", "deg bx"}, 0, 100},
	{"abv", "%", []string{"% vol", "%vol", "vol%", "vol %", "percent"}, 0, 100},
	{"foam", "mm", nil, 0, 500},
	{"haze", "NTU", nil, 0, 10000},
	{"co2", "g/L", nil, 0, 20},
	{"mass", "g", []string{"grams"}, 0, 10000},
}

// readReadings reads readings.csv: one instrument reading about one glass a row.
func (r *reader) readReadings(t *table) {
	if t == nil {
		return
	}
	type key struct {
		glass    int
		age      float64
		quantity string
	}
	first := map[key]int{}
	strange := map[string]bool{}
	for _, i := range r.distinct(t, "pour") {
		session := r.sessionOf(t, i)
		if t.get(i, "value") == "" {
			r.count(session, "reading without a value", 1)
			continue
		}
		before := len(r.faults)
		r.needed(t, i, "write minutes from the making of the drink to the reading, such as 4.5", "age_min")
		r.needed(t, i, "name what was measured: "+quantityNames(), "quantity")
		age, _ := r.numberAt(t, i, "age_min", 0, maxAgeMin, wantAge)
		x := panel.Reading{Session: session, Age: panel.Age(age), Origin: panel.Origin{File: t.file, Line: t.rows[i].line}}
		r.measured(t, i, &x, strange)
		x.Pour = r.glassAt(t, i, "pour", session, t.get(i, "taster"))
		if len(r.faults) > before {
			continue
		}
		k := key{x.Pour, age, x.Quantity}
		if line, twice := first[k]; twice {
			r.at(t, i, "value", dataerr.ErrConflict, fmt.Sprintf("line %d has another reading of the same glass, age and quantity; keep one, or give each its own age", line))
			continue
		}
		first[k] = t.rows[i].line
		r.readings = append(r.readings, x)
	}
}

// measured reads quantity, unit and value. A quantity that we do not know is kept as written and said once.
func (r *reader) measured(t *table, i int, x *panel.Reading, strange map[string]bool) {
	name, unit := t.get(i, "quantity"), t.get(i, "unit")
	k := slices.IndexFunc(quantities, func(q quantity) bool { return strings.EqualFold(q.name, name) })
	if k < 0 {
		x.Quantity, x.Unit = name, unit
		x.Value, _ = r.numberAt(t, i, "value", -math.MaxFloat64, math.MaxFloat64, wantNumber)
		if name != "" && !strange[name] {
			strange[name] = true
			r.find(dataerr.Cell{File: t.file, Row: t.line(i, t.column("quantity")), Column: "quantity", Value: name, Err: ErrNotAnalysed,
				Want: "it is shown as written; quantities that are known: " + quantityNames()})
		}
		return
	}
	q := quantities[k]
	x.Quantity, x.Unit = q.name, q.unit
	switch low := strings.ToLower(unit); {
	case unit == "":
		r.at(t, i, "unit", dataerr.ErrMissing, fmt.Sprintf("%s is read in %s", q.name, q.unit))
	case low != strings.ToLower(q.unit) && !slices.Contains(q.written, low):
		r.at(t, i, "unit", dataerr.ErrUnknown, fmt.Sprintf("%s is read in %s; convert the readings", q.name, q.unit))
	}
	x.Value, _ = r.numberAt(t, i, "value", q.low, q.high, fmt.Sprintf("%s in %s lies from %s to %s", q.name, q.unit, ftoa(q.low), ftoa(q.high)))
}

func quantityNames() string {
	var out []string
	for _, q := range quantities {
		out = append(out, q.name)
	}
	return strings.Join(out, ", ")
}
