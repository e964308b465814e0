package panelcsv

import (
	"fmt"
	"strings"

	"lastsip/analysis/dataerr"
)

// roundKey knows a call to taste; session is empty where the rounds hold for every session.
type roundKey struct{ session, round string }

// roundBook finds the time at which a round was called.
type roundBook struct {
	file       string
	there      bool
	anySession bool
	calls      map[roundKey]*call
	order      []*call
}

// call is a row of rounds.csv.
type call struct {
	key       roundKey
	at        clock
	row, line int
	bad       bool // its time is at fault, told already
	used      bool
}

// readRounds reads rounds.csv: one call to taste a row. A time that is not written down yet is no fault.
func (r *reader) readRounds() {
	t := r.beside("rounds", roundsColumns, "round", "called_at")
	if t == nil {
		return
	}
	b := &r.rounds
	*b = roundBook{file: t.file, there: true, anySession: !t.has("session"), calls: map[roundKey]*call{}}
	for _, i := range r.distinct(t, "round") {
		k := roundKey{round: roundName(t.get(i, "round"))}
		if !b.anySession {
			k.session = r.sessionOf(t, i)
		}
		if !r.needed(t, i, "number the rounds as tastes.csv does", "round") {
			continue
		}
		if first := b.calls[k]; first != nil {
			r.at(t, i, "round", dataerr.ErrConflict, fmt.Sprintf("line %d calls the same round at another time; keep one of them", first.line))
			continue
		}
		before := len(r.faults)
		c := &call{key: k, at: r.clockAt(t, i, "called_at"), row: i, line: t.rows[i].line}
		c.bad = len(r.faults) > before
		b.calls[k] = c
		b.order = append(b.order, c)
	}
}

// roundName takes case and leading zeros out of a round: 03 is 3.
func roundName(s string) string {
	s = strings.ToLower(s)
	if t := strings.TrimLeft(s, "0"); t != "" && t[0] >= '1' && t[0] <= '9' {
		return t
	}
	return s
}

// called gives a row without a time of its own the time of its round.
func (r *reader) called(row *tasteRow) {
	written := r.tastes.get(row.row, "round")
	if written == "" || !r.rounds.there {
		return
	}
	k := roundKey{round: roundName(written)}
	if !r.rounds.anySession {
		k.session = row.session
	}
	c := r.rounds.calls[k]
	if c == nil {
		r.at(r.tastes, row.row, "round", dataerr.ErrUnknown, r.rounds.file+" calls no such round; is it written alike?")
		return
	}
	c.used = true
	row.ageFault = row.ageFault || c.bad
	if !row.tasted.given && c.at.given {
		row.tasted, row.fromRound = c.at, true
	}
}
