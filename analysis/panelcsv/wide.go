package panelcsv

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
)

// ageHeading reads "4", "2,5", "4 min", "4 liking", "4 min verdict".
var ageHeading = regexp.MustCompile(`^([0-9]+(?:[.,][0-9]+)?)(?:\s*(?:min|mins|minutes|'))?(?:\s+(\S.*))?$`)

// wideColumn is a column whose heading is an age.
type wideColumn struct {
	column int
	age    float64
	text   string // the age as written
	what   string // column of the long form; empty where the heading is an age alone
}

// wideColumns finds the age columns; none where the table is long.
func wideColumns(t *table) []wideColumn {
	if t.has("age_min") || t.has("tasted_at") || t.has("round") {
		return nil
	}
	var out []wideColumn
	for _, i := range t.extra {
		m := ageHeading.FindStringSubmatch(t.names[i])
		if m == nil {
			continue
		}
		age, err, _ := number(m[1])
		if err != nil || age > maxAgeMin {
			continue
		}
		what := strings.TrimSpace(m[2])
		if low := strings.ToLower(what); isKnown(tastesColumns, low) {
			what = low
		}
		out = append(out, wideColumn{i, age, m[1], what})
	}
	return out
}

// lengthen turns a wide table (a row is a glass, headings are ages) into the long form, one row per filled age of a glass;
// a long table is given back as it is, nil where the wide one is at fault. Places stay those of the wide file.
func (r *reader) lengthen(t *table) *table {
	ages := wideColumns(t)
	if len(ages) == 0 {
		return t
	}
	r.wide = t.file
	r.unnamedAges(t, ages)
	if !r.wideFaults(t, ages) {
		return nil
	}
	slices.SortStableFunc(ages, func(a, b wideColumn) int { return cmp.Compare(a.age, b.age) })
	l := &longer{from: t, to: &table{file: t.file, header: t.header, own: map[string]int{}}, ages: ages, at: map[string]int{}}
	l.columns()
	for i := range t.rows {
		l.glass(i)
	}
	steps := 0
	for k := range ages {
		if k == 0 || ages[k].age != ages[k-1].age {
			steps++
		}
	}
	r.note("%s is a wide table: a row is a glass, %d ages stand in the headings, from %s to %s min.", t.file, steps, ages[0].text, ages[len(ages)-1].text)
	r.long = l.to.csv()
	return l.to
}

// unnamedAges decides what the columns hold whose heading is an age alone: verdicts where every cell is a verdict word, else
// the overall score.
func (r *reader) unnamedAges(t *table, ages []wideColumn) {
	accept, reject := r.verdictLists()
	words := append(slices.Clone(accept), reject...)
	what := "verdict"
	for _, a := range ages {
		for i := range t.rows {
			cell := t.rows[i].cells[a.column]
			if a.what == "" && cell != "" && !slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, cell) }) {
				what = r.overallName()
			}
		}
	}
	for k := range ages {
		if ages[k].what == "" {
			ages[k].what = what
		}
	}
}

// overallName names the overall attribute before the columns are known.
func (r *reader) overallName() string {
	switch d := r.desc; {
	case d == nil:
	case d.overall != nil:
		return d.overall.value
	case len(d.attributes) == 1:
		return d.attributes[0].name
	}
	return "liking"
}

// wideFaults tells of headings that mean the same, or nothing; false when there are any.
func (r *reader) wideFaults(t *table, ages []wideColumn) bool {
	before := len(r.faults)
	type key struct {
		age  float64
		what string
	}
	first := map[key]string{}
	for _, a := range ages {
		c := dataerr.Cell{File: t.file, Row: t.header, Column: t.names[a.column]}
		k := key{a.age, a.what}
		if name, twice := first[k]; twice {
			c.Err, c.Want = dataerr.ErrDuplicate, fmt.Sprintf("%q means the %s at the same age; give every age once", name, a.what)
			r.fault(c)
		}
		first[k] = t.names[a.column]
		if a.what != "verdict" && a.what != "why" && a.what != "aware" && a.what != "note" && isKnown(tastesColumns, a.what) {
			c.Err, c.Want = dataerr.ErrConflict, "beside an age stands verdict, why, note or an attribute; "+a.what+" holds for the whole glass and has a column of its own"
			r.fault(c)
		}
		if t.has(a.what) || slices.ContainsFunc(t.extra, func(i int) bool { return t.names[i] == a.what }) {
			c.Err, c.Want = dataerr.ErrConflict, "there is a column "+a.what+" without an age too; write the age into its heading"
			r.fault(c)
		}
	}
	for _, name := range []string{"verdict", "planned_age_min"} {
		if i := t.column(name); i >= 0 {
			r.fault(dataerr.Cell{File: t.file, Row: t.header, Column: t.names[i], Err: dataerr.ErrConflict, Want: "in a wide table the headings are the ages: write them as 4 verdict, 6 verdict"})
		}
	}
	return len(r.faults) == before
}

// longer makes the long form of a wide table.
type longer struct {
	from, to *table
	ages     []wideColumn
	carried  []int          // columns of from that describe the glass
	at       map[string]int // column of to by the what of an age
	addMode  bool
}

func (l *longer) add(name string, own bool) int {
	i := len(l.to.names)
	l.to.names = append(l.to.names, name)
	if own {
		l.to.own[name] = i
	} else if name != "" {
		l.to.extra = append(l.to.extra, i)
	}
	return i
}

// columns lays out the long form: what describes the glass, the pour, the age, then what was answered at it.
func (l *longer) columns() {
	aged := map[int]bool{}
	for _, a := range l.ages {
		aged[a.column] = true
	}
	ours := map[int]string{}
	for name, i := range l.from.own {
		ours[i] = name
	}
	for i, name := range l.from.names {
		if aged[i] || name == "" {
			continue
		}
		l.carried = append(l.carried, i)
		if own, is := ours[i]; is {
			l.add(own, true)
		} else {
			l.add(name, false)
		}
	}
	if !l.from.has("pour") {
		l.add("pour", true)
	}
	if l.addMode = !l.from.has("mode") && l.ages[0].age != l.ages[len(l.ages)-1].age; l.addMode {
		l.add("mode", true)
	}
	l.add("age_min", true)
	for _, a := range l.ages {
		if _, there := l.at[a.what]; !there {
			l.at[a.what] = l.add(a.what, isKnown(tastesColumns, a.what))
		}
	}
}

// glass adds the rows of one glass: one per age with a filled cell; a glass without any keeps one empty row. What describes
// the glass stands on each; a note and columns of others on the first, a why on the last, as it ends the observation.
func (l *longer) glass(i int) {
	from := &l.from.rows[i]
	first := len(l.to.rows)
	for k := 0; k < len(l.ages); {
		end := k
		filled := false
		for ; end < len(l.ages) && l.ages[end].age == l.ages[k].age; end++ {
			filled = filled || from.cells[l.ages[end].column] != ""
		}
		if filled || end == len(l.ages) && len(l.to.rows) == first {
			l.row(i, l.ages[k:end])
		}
		k = end
	}
	for n := first; n < len(l.to.rows); n++ {
		for to, c := range l.carried {
			name := l.to.names[to]
			_, own := l.to.own[name]
			if (name == "note" || !own) && n > first || name == "why" && n < len(l.to.rows)-1 {
				continue
			}
			l.to.rows[n].cells[to] = from.cells[c]
		}
	}
}

// row adds one row with the answers at one age.
func (l *longer) row(i int, ages []wideColumn) {
	from := &l.from.rows[i]
	n := len(l.to.names)
	rec := record{line: from.line, cells: make([]string, n), heads: make([]string, n)}
	if len(from.lines) > 0 {
		rec.lines = make([]int, n)
		for k := range rec.lines {
			rec.lines[k] = from.line
		}
	}
	if !l.from.has("pour") {
		rec.cells[l.to.own["pour"]] = "glass " + itoa(i+1)
	}
	if l.addMode {
		rec.cells[l.to.own["mode"]] = "sip_through"
	}
	rec.cells[l.to.own["age_min"]] = ages[0].text
	rec.heads[l.to.own["age_min"]] = l.from.names[ages[0].column]
	for _, a := range ages {
		to := l.at[a.what]
		rec.cells[to], rec.heads[to] = from.cells[a.column], l.from.names[a.column]
		if rec.lines != nil {
			rec.lines[to] = from.lines[a.column]
		}
	}
	l.to.rows = append(l.to.rows, rec)
}

// csv writes a table: comma, quoted where needed, LF.
func (t *table) csv() []byte {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	w.Write(t.names) // a buffer takes everything
	for i := range t.rows {
		w.Write(t.rows[i].cells)
	}
	w.Flush()
	return buf.Bytes()
}
