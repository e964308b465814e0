package panelcsv

import (
	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

const (
	maxPaceMin  = 24 * 60 // minutes
	longPaceMin = 180     // minutes: over it a pace is doubted
)

// readPaces reads paces.csv: one guest's drink a row. Guests have no names.
func (r *reader) readPaces(t *table) {
	if t == nil {
		return
	}
	// Two guests may drink alike, so equal rows are two guests, not a row copied twice.
	for i := range t.rows {
		x := panel.Pace{Session: r.sessionOf(t, i), Style: t.get(i, "style"), Serve: t.get(i, "serve"), Origin: panel.Origin{File: t.file, Line: t.rows[i].line}}
		if t.get(i, "minutes") == "" && t.get(i, "finished") == "" {
			r.count(x.Session, "guest's drink without minutes", 1)
			continue
		}
		before := len(r.faults)
		r.needed(t, i, "name the drink style", "style")
		r.needed(t, i, "write minutes from the first sip until the glass was empty or left", "minutes")
		r.needed(t, i, "write yes, or no where some of it was left", "finished")
		x.Minutes, _ = r.numberAt(t, i, "minutes", 0.001, maxPaceMin, "write minutes above 0, at most a day")
		x.Finished, _ = r.yesAt(t, i, "finished")
		x.VolumeML, _ = r.numberAt(t, i, "volume_ml", 0.001, maxVolumeML, "write millilitres above 0, such as 120")
		age, given := r.numberAt(t, i, "age_at_first_sip_min", 0, maxAgeMin, wantAge)
		x.FirstSip, x.HasFirstSip = panel.Age(age), given
		x.Why = r.whyAt(t, i)
		if x.Finished && x.Why != panel.WhyNotSaid {
			r.at(t, i, "why", dataerr.ErrConflict, "this guest finished the glass; a reason belongs to a glass that was left")
		}
		if len(r.faults) > before {
			continue
		}
		if x.Minutes > longPaceMin {
			r.find(dataerr.Cell{File: t.file, Row: t.line(i, t.column("minutes")), Column: "minutes", Value: ftoa(x.Minutes), Err: ErrLong, Want: "is it in minutes, and of one glass?"})
		}
		r.paces = append(r.paces, x)
	}
}
