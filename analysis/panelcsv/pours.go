package panelcsv

import (
	"slices"

	"lastsip/analysis/dataerr"
)

// glassKey knows a glass: taster is empty where all tasters share the pour.
type glassKey struct{ session, taster, pour string }

// pourRow is a row of pours.csv.
type pourRow struct {
	key                 glassKey
	file                string
	row, line           int // row in the table
	style, serve, batch string
	volume              float64 // mL; 0: unknown
	made                clock
	used                bool
}

// pourBook finds the rows of pours.csv that describe a glass.
type pourBook struct {
	file       string
	rows       []pourRow
	byKey      map[glassKey]int
	anySession bool // no session column: the rows hold for every session
	there      bool // there is a usable pours.csv
}

// readPours reads pours.csv, where there is one.
func (r *reader) readPours(t *table) {
	if t == nil || !r.required(t, "pour", "style") {
		return
	}
	b := &r.pours
	*b = pourBook{file: t.file, byKey: map[glassKey]int{}, anySession: !t.has("session"), there: true}
	r.unread(t, "pours")
	for i := range t.rows {
		p := pourRow{file: t.file, row: i, line: t.rows[i].line, style: t.get(i, "style"), serve: t.get(i, "serve"), batch: t.get(i, "batch"),
			made: r.clockAt(t, i, "made_at")}
		p.key = glassKey{taster: t.get(i, "taster"), pour: r.decode(t.get(i, "pour"))}
		if !b.anySession {
			p.key.session = t.get(i, "session")
			if p.key.session == "" {
				p.key.session = r.session
			}
		}
		p.volume, _ = r.numberAt(t, i, "volume_ml", 0.001, maxVolumeML, "write millilitres above 0, such as 120")
		if p.key.pour == "" {
			r.at(t, i, "pour", dataerr.ErrMissing, "name the pour as tastes.csv does")
			continue
		}
		if j, twice := b.byKey[p.key]; twice {
			r.pourTwice(t, i, &b.rows[j])
			continue
		}
		b.byKey[p.key] = len(b.rows)
		b.rows = append(b.rows, p)
	}
}

// pourTwice: the same cells again are used once, other cells are a contradiction.
func (r *reader) pourTwice(t *table, i int, first *pourRow) {
	c := dataerr.Cell{File: t.file, Row: t.rows[i].line, Column: "pour", Value: t.get(i, "pour")}
	if slices.Equal(t.rows[i].cells, t.rows[first.row].cells) {
		c.Err, c.Want = dataerr.ErrDuplicate, "line "+itoa(first.line)+" is the same row; it is used once"
		r.find(c)
		return
	}
	c.Err, c.Want = dataerr.ErrConflict, place(t.file, first.line)+" describes the same glass otherwise; keep one row"
	r.fault(c)
}

// describing gives the rows of pours.csv about a taster's glass, the more specific first, then those of the code key.
func (r *reader) describing(session, taster, pour string) []*pourRow {
	b := &r.pours
	var out []*pourRow
	if b.there {
		if b.anySession {
			session = ""
		}
		for _, k := range []glassKey{{session, taster, pour}, {session, "", pour}} {
			if i, ok := b.byKey[k]; ok {
				b.rows[i].used = true
				out = append(out, &b.rows[i])
				if k.taster == "" {
					break // the taster is empty: both keys are one
				}
			}
		}
	}
	return append(out, r.codes.of(pour)...)
}
