package panelcsv

import (
	"fmt"
	"strings"

	"lastsip/analysis/dataerr"
)

// Columns of ours, lower case.
var (
	tastesColumns = []string{"taster", "pour", "age_min", "tasted_at", "round", "style", "serve", "batch", "made_at", "session",
		"mode", "flight", "position", "planned_age_min", "verdict", "why", "aware", "note"}
	poursColumns    = []string{"pour", "style", "taster", "session", "batch", "serve", "volume_ml", "made_at"}
	roundsColumns   = []string{"round", "called_at", "session"}
	keyColumns      = []string{"code", "pour", "style", "serve", "batch", "planned_age_min"}
	readingsColumns = []string{"pour", "age_min", "quantity", "value", "unit", "session", "taster"}
	choicesColumns  = []string{"taster", "trial", "test", "pour_a", "pour_b", "answer", "age_a_min", "age_b_min", "tasted_at", "session", "position"}
	rankingsColumns = []string{"taster", "trial", "pour", "rank", "session", "age_min"}
	pacesColumns    = []string{"style", "minutes", "finished", "serve", "volume_ml", "age_at_first_sip_min", "why", "session"}
	// frameOnly are columns that Frame adds; no attribute may have their names.
	frameOnly = []string{"age_from", "volume_ml"}
)

// Bounds that catch a slip of units or columns rather than judge a drink.
const (
	maxAgeMin   = 7 * 24 * 60 // minutes
	maxVolumeML = 5000
)

// at makes a fault at a cell of a table.
func (r *reader) at(t *table, row int, column string, err error, want string) {
	i := t.column(column)
	r.fault(dataerr.Cell{File: t.file, Row: t.line(row, i), Column: t.heading(row, i, column), Value: t.get(row, column), Err: err, Want: want})
}

// numberAt reads a numeric cell of ours between low and high; given is false when it is empty or at fault.
func (r *reader) numberAt(t *table, row int, column string, low, high float64, want string) (x float64, given bool) {
	s := t.get(row, column)
	if s == "" {
		return 0, false
	}
	x, err, advice := number(s)
	switch {
	case err != nil:
		r.at(t, row, column, err, advice)
	case !(x >= low && x <= high):
		r.at(t, row, column, dataerr.ErrRange, want)
	default:
		return x, true
	}
	return 0, false
}

// clockAt reads a time of day; the zero clock when the cell is empty or at fault.
func (r *reader) clockAt(t *table, row int, column string) clock {
	s := t.get(row, column)
	if s == "" {
		return clock{}
	}
	c, ok := parseClock(s)
	if !ok {
		r.at(t, row, column, dataerr.ErrTime, wantClock)
	}
	return c
}

// wordAt reads one of a few words, case, spaces and hyphens apart; "" when the cell is empty or at fault.
func (r *reader) wordAt(t *table, row int, column string, words ...string) string {
	s := t.get(row, column)
	if s == "" {
		return ""
	}
	plain := strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(s))
	for _, w := range words {
		if w == plain {
			return w
		}
	}
	r.at(t, row, column, dataerr.ErrUnknown, "write one of: "+strings.Join(words, ", "))
	return ""
}

// required tells of columns that a table must have; false when one is missing.
func (r *reader) required(t *table, columns ...string) bool {
	ok := true
	for _, c := range columns {
		if !t.has(c) {
			r.fault(dataerr.Cell{File: t.file, Row: t.header, Column: c, Err: dataerr.ErrNoColumn,
				Want: "the columns are " + strings.Join(t.names, ", ")})
			ok = false
		}
	}
	return ok
}

// place names a line of a file for a message.
func place(file string, line int) string { return fmt.Sprintf("%s, line %d", file, line) }
