package panelcsv

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

const (
	longAge = 3 * time.Hour
	// maxNames bounds the search for misspelled names, which compares every pair: a panel has dozens of tasters.
	maxNames = 500
	// minLetters: shorter words are too often one letter apart without being a slip.
	minLetters = 4
)

// doubts adds the findings that need the whole panel.
func (r *reader) doubts(p *panel.Panel, rows []tasteRow) {
	r.spellings("taster", rows, func(row *tasteRow) string { return row.taster }, true)
	r.spellings("style", rows, func(row *tasteRow) string { return r.glass[row.glass].style.value }, false)
	r.spellings("serve", rows, func(row *tasteRow) string { return r.glass[row.glass].serve.value }, false)
	r.backwards(rows)
	r.standIns(rows)
	r.halfGlasses(p)
	r.batches()
	if len(rows) == 0 && !r.tastes.absent && !p.Blind {
		r.find(dataerr.Cell{File: r.tastes.file, Err: ErrNothingYet, Want: itoa(r.waiting()) + " rows wait for a score, a verdict or a why"})
	}
	if len(r.index) == 0 { // nothing was tasted, measured or compared yet
		return
	}
	for i := range r.pours.rows {
		if row := &r.pours.rows[i]; !row.used {
			r.find(dataerr.Cell{File: row.file, Row: row.line, Column: "pour", Value: row.key.pour, Err: ErrNotTasted, Want: "it is left out; is it written as in " + r.tastes.file + "?"})
		}
	}
	for _, c := range r.codes.order {
		if !r.codes.used[c.Code] {
			r.find(dataerr.Cell{File: c.Origin.File, Row: c.Origin.Line, Column: "code", Value: c.Code, Err: ErrNotTasted, Want: "no row of the other files has this code; is it written alike?"})
		}
	}
	for _, c := range r.rounds.order {
		if !c.used && c.at.given {
			r.find(dataerr.Cell{File: r.rounds.file, Row: c.line, Column: "round", Value: c.key.round, Err: ErrNotTasted, Want: "no row of " + r.tastes.file + " names this round"})
		}
	}
	if r.plannedChoices > 0 {
		c := r.plannedChoice
		c.Want = fmt.Sprintf("so for %d glasses of %d choices", r.plannedChoices, len(r.choices))
		r.find(c)
	}
	if r.tastes.has("round") && !r.rounds.there {
		r.note("%s: the column round is kept; there is no rounds.csv to give its times.", r.tastes.file)
	}
}

// waiting counts the rows of a sheet less the one that shows how to fill it in.
func (r *reader) waiting() int {
	n := len(r.tastes.rows)
	for k, rows := range r.leftOut {
		if k.Reason == exampleRow {
			n -= rows
		}
	}
	return n
}

// spellings warns of two names that may be one. They stay two: only the user can tell.
func (r *reader) spellings(column string, rows []tasteRow, name func(*tasteRow) string, nearMiss bool) {
	line := map[string]int{}
	var names []string
	for i := range rows {
		n := name(&rows[i])
		if _, seen := line[n]; n != "" && !seen {
			line[n] = rows[i].line
			names = append(names, n)
		}
	}
	warn := func(a, b string) {
		r.find(dataerr.Cell{File: r.tastes.file, Row: line[b], Column: column, Value: b, Err: ErrSpelling,
			Want: fmt.Sprintf("line %d has %q; they count as two unless written alike", line[a], a)})
	}
	first := map[string]string{}
	for _, n := range names {
		f := folded(n)
		if a, seen := first[f]; seen {
			warn(a, n)
		} else {
			first[f] = n
		}
	}
	if !nearMiss || len(names) > maxNames {
		return
	}
	near := map[string][]string{}
	for i, a := range names {
		for _, b := range names[i+1:] {
			if fa, fb := folded(a), folded(b); fa != fb && oneLetterOff(fa, fb) {
				near[a], near[b] = append(near[a], b), append(near[b], a)
			}
		}
	}
	for _, a := range names {
		// A name with several neighbours belongs to a scheme of names (taster a, taster b, taster c), not to a slip.
		if len(near[a]) == 1 && len(near[near[a][0]]) == 1 && line[a] < line[near[a][0]] {
			warn(a, near[a][0])
		}
	}
}

// folded takes case and spaces out of a name.
func folded(s string) string {
	return strings.Join(strings.Fields(strings.ToLower(s)), "")
}

// oneLetterOff tells whether one letter inserted, dropped or changed makes b of a; digits are numbers, not slips.
func oneLetterOff(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	if len(x) < minLetters || len(y)-len(x) > 1 {
		return false
	}
	i := 0
	for i < len(x) && x[i] == y[i] {
		i++
	}
	if len(x) == len(y) {
		return i < len(x) && !unicode.IsDigit(x[i]) && !unicode.IsDigit(y[i]) && slices.Equal(x[i+1:], y[i+1:])
	}
	return !unicode.IsDigit(y[i]) && slices.Equal(x[i:], y[i+1:])
}

// backwards warns where a glass is tasted at a smaller age than before, in the order of the positions where all are given,
// else of the rows.
func (r *reader) backwards(rows []tasteRow) {
	looks := make([][]*tasteRow, len(r.glass)) // in sip-through a glass is one taster's
	for i := range rows {
		if rows[i].taste.Mode == panel.SipThrough {
			looks[rows[i].glass] = append(looks[rows[i].glass], &rows[i])
		}
	}
	for _, g := range looks {
		if !slices.ContainsFunc(g, func(row *tasteRow) bool { return row.taste.Position == 0 }) {
			slices.SortStableFunc(g, func(a, b *tasteRow) int { return a.taste.Position - b.taste.Position })
		}
		for i := 1; i < len(g); i++ {
			if before, row := g[i-1], g[i]; row.taste.Age < before.taste.Age {
				r.find(dataerr.Cell{File: r.tastes.file, Row: row.line, Column: "age_min", Value: ftoa(panel.Minutes(row.taste.Age)), Err: dataerr.ErrOrder,
					Want: fmt.Sprintf("line %d, before it, has %s min for the same glass", before.line, ftoa(panel.Minutes(before.taste.Age)))})
			}
		}
	}
}

// standIns warns of long ages, of planned ages that stand in, and of times that are known to the minute only.
func (r *reader) standIns(rows []tasteRow) {
	planned, coarse := 0, 0
	var firstPlanned, firstCoarse *tasteRow
	for i := range rows {
		row := &rows[i]
		if row.taste.Age > longAge {
			r.find(dataerr.Cell{File: r.tastes.file, Row: row.line, Column: "age_min", Value: ftoa(panel.Minutes(row.taste.Age)), Err: ErrLong, Want: "is it in minutes, and of this drink?"})
		}
		switch row.taste.AgeFrom {
		case panel.AgePlanned:
			if planned++; firstPlanned == nil {
				firstPlanned = row
			}
		case panel.AgeClock:
			if g := &r.glass[row.glass]; row.tasted.seconds && g.made.seconds {
				continue
			}
			if coarse++; firstCoarse == nil {
				firstCoarse = row
			}
		}
	}
	if planned > 0 {
		column, value := "planned_age_min", ftoa(firstPlanned.planned)
		if r.tastes.get(firstPlanned.row, column) == "" { // the code key gave it
			column, value = "pour", r.tastes.get(firstPlanned.row, "pour")
		}
		r.find(dataerr.Cell{File: r.tastes.file, Row: firstPlanned.line, Column: column, Value: value, Err: ErrPlannedAge,
			Want: fmt.Sprintf("so in %d of %d tastes", planned, len(rows))})
	}
	if coarse > 0 {
		column, value := "tasted_at", firstCoarse.tasted.text
		if firstCoarse.tasted.seconds {
			column, value = "made_at", r.glass[firstCoarse.glass].made.text
		}
		r.find(dataerr.Cell{File: r.tastes.file, Row: firstCoarse.line, Column: column, Value: value, Err: ErrDoubt,
			Want: fmt.Sprintf("so in %d of %d tastes; write seconds too, such as 21:04:30", coarse, len(rows))})
	}
}

// halfGlasses warns where the sips of one glass take half of it or more: a shrinking drink ages faster. Side by side is not
// checked, as there a pour is portioned and drunk.
func (r *reader) halfGlasses(p *panel.Panel) {
	sip := p.Settings.SipML
	if sip == 0 {
		sip = sipThroughML
	}
	for i := range r.glass {
		g := &r.glass[i]
		if g.Taster == "" || g.VolumeML == 0 {
			continue
		}
		if took := sip * float64(g.sips); 2*took >= g.VolumeML {
			r.find(dataerr.Cell{File: g.Origin.File, Row: g.Origin.Line, Column: "volume_ml", Value: ftoa(g.VolumeML), Err: ErrHalfGlass,
				Want: fmt.Sprintf("%d sips of %s mL were taken from pour %s, so its lifetime is a lower guess", g.sips, ftoa(sip), g.ID)})
		}
	}
}

// batches warns where batches are unknown, wholly or in part.
func (r *reader) batches() {
	without, tasted, first := 0, 0, -1
	for i := range r.glass {
		if !r.glass[i].tasted {
			continue // a glass that was only measured or compared: no interval rests on it
		}
		tasted++
		if r.glass[i].Batch == "" {
			if without++; first < 0 {
				first = i
			}
		}
	}
	if without == 0 {
		return
	}
	o := r.glass[first].Origin
	c := dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: "batch", Err: ErrNoBatch,
		Want: "which glasses share a shake is unknown, so every interval is headed \"for these drinks\""}
	if without < tasted {
		c.File, c.Row = o.File, o.Line
		c.Want = fmt.Sprintf("so for %d of %d glasses; %s", without, tasted, c.Want)
	}
	r.find(c)
}
