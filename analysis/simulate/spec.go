package simulate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// resolved fills in every default and checks what the user gave; the caller's slices are not kept.
func (spec Evening) resolved() (Evening, error) {
	e := spec
	e.Name = textOr(e.Name, "evening")
	e.Date = textOr(e.Date, "2031-03-11")
	e.Start = textOr(e.Start, "22:30")
	e.Tasters = countOr(e.Tasters, 12)
	e.Glasses = countOr(e.Glasses, 1)
	e.GlassesPerBatch = countOr(e.GlassesPerBatch, 2)
	e.RoundsAfter = countOr(e.RoundsAfter, 2)
	if e.RoundsAfter < 0 {
		e.RoundsAfter = 0
	}
	if e.Wave == 0 {
		e.Wave = 2 * time.Minute
	}
	e.Wave = e.Wave.Round(Tick)
	e.Jitter = max(orDefault(e.Jitter, 0.15), 0)
	e.Noise = max(orDefault(e.Noise, 0.45), 0)
	e.ReplySD = max(orDefault(e.ReplySD, 0.1), 0)
	e.Slips = max(orDefault(e.Slips, 0.01), 0)
	e.BatchSD = max(orDefault(e.BatchSD, 0.06), 0)
	e.Shared = max(orDefault(e.Shared, 0.5), 0)
	e.Dulled = max(orDefault(e.Dulled, 0.6), 0)
	e.RoomC = orDefault(e.RoomC, 21)
	e.SipML, e.CupML = orDefault(e.SipML, 6), orDefault(e.CupML, 12)
	e.StandardDrinkG = orDefault(e.StandardDrinkG, 10)
	e.Allergens = slices.Clone(e.Allergens)
	e.People, e.Habits = slices.Clone(e.People), slices.Clone(e.Habits)
	e.Ages, e.ProbeAges = slices.Clone(e.Ages), slices.Clone(e.ProbeAges)
	if e.Ages == nil {
		e.Ages = []float64{1, 3, 5, 7, 9, 11, 13, 15, 17}
	}
	if e.Low == 0 && e.High == 0 {
		e.Low, e.High, e.Step = 0, 10, orDefault(e.Step, 0.5)
	}
	e.Step = orDefault(e.Step, (e.High-e.Low)/20)
	bad := e.checkNumbers()
	bad = append(bad, e.resolveAttributes()...)
	bad = append(bad, e.resolveTables()...)
	bad = append(bad, e.resolveStyles()...)
	return e, errors.Join(bad...)
}

func (e *Evening) checkNumbers() []error {
	var bad []error
	for _, c := range []struct {
		name   string
		v      float64
		lo, hi float64
	}{
		{"Tasters", float64(e.Tasters), 1, 1000}, {"Glasses", float64(e.Glasses), 1, 20},
		{"GlassesPerBatch", float64(e.GlassesPerBatch), 1, 1000}, {"Wave", e.Wave.Minutes(), 0, 60},
		{"Jitter", e.Jitter, 0, 5}, {"Noise", e.Noise, 0, 10}, {"ReplySD", e.ReplySD, 0, 3}, {"Slips", e.Slips, 0, 0.5},
		{"BatchSD", e.BatchSD, 0, 3}, {"Shared", e.Shared, 0, 1}, {"Dulled", e.Dulled, 0, 1}, {"RoomC", e.RoomC, 1, 50}, {"SipML", e.SipML, 0.1, 200}, {"CupML", e.CupML, 0.1, 200}, {"Guests", float64(e.Guests), 0, 10000},
		{"StandardDrinkG", e.StandardDrinkG, 1, 50},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			bad = append(bad, &dataerr.Cell{Column: c.name, Value: ftoa(c.v), Err: dataerr.ErrRange,
				Want: fmt.Sprintf("give a number from %s to %s", ftoa(c.lo), ftoa(c.hi))})
		}
	}
	last := math.Inf(-1)
	for i, a := range e.Ages {
		switch {
		case !(a >= 0 && a <= 180):
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Ages", Value: ftoa(a), Err: dataerr.ErrRange, Want: "give minutes from 0 to 180"})
		case a-last < 0.2:
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Ages", Value: ftoa(a), Err: dataerr.ErrOrder,
				Want: "let ages rise by at least 0.2 min"})
		}
		last = a
	}
	if len(e.Ages) == 0 {
		bad = append(bad, &dataerr.Cell{Column: "Ages", Err: dataerr.ErrTooFew, Want: "give at least one age in minutes"})
	}
	if _, err := time.Parse("15:04", e.Start); err != nil {
		bad = append(bad, &dataerr.Cell{Column: "Start", Value: e.Start, Err: dataerr.ErrTime, Want: "write HH:MM"})
	}
	if _, err := time.Parse("2006-01-02", e.Date); err != nil {
		bad = append(bad, &dataerr.Cell{Column: "Date", Value: e.Date, Err: dataerr.ErrTime, Want: "write YYYY-MM-DD"})
	}
	return append(bad, checkText("Name", 0, e.Name)...)
}

// columnNames of our own, which no attribute may take.
var columnNames = []string{"taster", "pour", "age_min", "tasted_at", "round", "style", "serve", "batch", "made_at", "session", "mode",
	"flight", "position", "planned_age_min", "verdict", "why", "aware", "note", "volume_ml"}

func (e *Evening) resolveAttributes() []error {
	var bad []error
	e.Attributes = slices.Clone(e.Attributes)
	if e.Attributes == nil {
		e.Attributes = []Attribute{
			{Name: "liking", LowMeans: "pour it away", HighMeans: "could not be better"},
			{Name: "liveliness", LowMeans: "flat", HighMeans: "as lively as this drink can be", AirLoss: 7, WarmLoss: 0.05, GasLoss: 8},
			{Name: "coldness", LowMeans: "room warm", HighMeans: "as cold as this drink can be", WarmLoss: 0.8},
		}
	}
	for i := range e.Attributes {
		a := &e.Attributes[i]
		if a.Low == 0 && a.High == 0 {
			a.Low, a.High, a.Step = e.Low, e.High, orDefault(a.Step, e.Step)
		}
		a.Step = orDefault(a.Step, (a.High-a.Low)/20)
		a.Fresh = orDefault(a.Fresh, 8)
		if a.AirLoss == 0 && a.WarmLoss == 0 && a.GasLoss == 0 {
			a.AirLoss, a.WarmLoss = 4, 0.3
		}
		fault := func(v, want string, err error) {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Attributes " + a.Name, Value: v, Err: err, Want: want})
		}
		bad = append(bad, checkText("Attributes", i+1, a.Name)...)
		if slices.ContainsFunc(columnNames, func(c string) bool { return strings.EqualFold(c, a.Name) }) {
			fault(a.Name, "choose a name that no column of the file has", dataerr.ErrConflict)
		}
		if slices.ContainsFunc(e.Attributes[:i], func(b Attribute) bool { return strings.EqualFold(b.Name, a.Name) }) {
			fault(a.Name, "give every attribute a name of its own", dataerr.ErrDuplicate)
		}
		if !(a.Low < a.High) || math.IsInf(a.High-a.Low, 0) {
			fault(ftoa(a.Low), "let Low be below High", dataerr.ErrOrder)
		} else if n := (a.High - a.Low) / a.Step; !(a.Step > 0) || math.Abs(n-math.Round(n)) > 1e-6 || n < 1 {
			fault(ftoa(a.Step), "give a step that divides the scale", dataerr.ErrRange)
		}
		if !(a.AirLoss >= 0 && a.WarmLoss >= 0 && a.GasLoss >= 0 && a.Fresh >= 0 && a.Fresh <= 10) {
			fault(ftoa(a.Fresh), "give Fresh from 0 to 10 and losses that are not negative", dataerr.ErrRange)
		}
		if a.Better == panel.BetterMiddle && !(a.Best >= a.Low && a.Best <= a.High) {
			fault(ftoa(a.Best), "give a best value on the scale", dataerr.ErrRange)
		}
	}
	if e.Overall == "" && len(e.Attributes) > 0 {
		e.Overall = e.Attributes[0].Name
		if slices.ContainsFunc(e.Attributes, func(a Attribute) bool { return a.Name == "liking" }) {
			e.Overall = "liking"
		}
	}
	of := slices.IndexFunc(e.Attributes, func(a Attribute) bool { return a.Name == e.Overall })
	if of >= 0 && e.Attributes[of].Better == panel.BetterMiddle {
		bad = append(bad, &dataerr.Cell{Row: of + 1, Column: "Overall", Value: e.Overall, Err: dataerr.ErrConflict,
			Want: "let the overall attribute be better towards one end"})
	}
	if of < 0 {
		bad = append(bad, &dataerr.Cell{Column: "Overall", Value: e.Overall, Err: dataerr.ErrUnknown, Want: "name one of the attributes"})
	}
	return bad
}

func (e *Evening) resolveStyles() []error {
	var bad []error
	e.Styles = slices.Clone(e.Styles)
	if len(e.Styles) == 0 && len(e.Tables) == 0 {
		e.Styles = []Style{Sour()}
	}
	for _, t := range e.Tables {
		e.Styles = append(e.Styles, t.Style)
	}
	for i := range e.Styles {
		s := &e.Styles[i]
		*s = s.resolved()
		bad = append(bad, checkText("Styles", i+1, s.Name)...)
		for _, t := range e.Styles[:i] {
			if t.Name == s.Name && t.Serve == s.Serve {
				bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Styles", Value: s.Name, Err: dataerr.ErrDuplicate,
					Want: "let each style and serve stand once"})
			}
		}
		if s.Serve != "" {
			bad = append(bad, checkText("Styles serve", i+1, s.Serve)...)
		}
		bad = append(bad, s.settle(i+1, e.RoomC)...)
	}
	return bad
}

// checkPeople refuses names and traits that would not work, and an evening that would not end in a night.
func (e *Evening) checkPeople() error {
	people := e.People
	var bad []error
	if span := time.Duration(e.sipped()*e.Glasses) * e.slot(); span > 10*time.Hour {
		bad = append(bad, &dataerr.Cell{Column: "Styles", Value: span.String(), Err: dataerr.ErrRange,
			Want: "let one evening last at most ten hours: fewer styles, glasses, tasters or waves"})
	}
	for i, p := range people {
		bad = append(bad, checkText("People", i+1, p.Name)...)
		if slices.ContainsFunc(people[:i], func(q Taster) bool { return q.Name == p.Name }) {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "People", Value: p.Name, Err: dataerr.ErrDuplicate, Want: "give every taster a name of their own"})
		}
		for _, c := range []struct {
			name   string
			v      float64
			lo, hi float64
		}{{"offset", p.Offset, -10, 10}, {"stretch", p.Stretch, 0, 10}, {"noise", p.Noise, 0, 100}, {"reply", p.Reply, 0, 100},
			{"repeat-no", p.RepeatNo, 0, 1}, {"patience", p.Patience, -10, 10}} {
			if !(c.v >= c.lo && c.v <= c.hi) {
				bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "People " + c.name, Value: ftoa(c.v), Err: dataerr.ErrRange,
					Want: fmt.Sprintf("give a number from %s to %s", ftoa(c.lo), ftoa(c.hi))})
			}
		}
	}
	return errors.Join(bad...)
}

// checkText refuses what would not survive a cell: nothing, spaces at the ends, control characters.
func checkText(column string, row int, s string) []error {
	if s == "" {
		return []error{&dataerr.Cell{Row: row, Column: column, Err: dataerr.ErrMissing, Want: "give a name"}}
	}
	if strings.TrimSpace(s) != s || strings.ContainsFunc(s, unicode.IsControl) {
		return []error{&dataerr.Cell{Row: row, Column: column, Value: s, Err: dataerr.ErrFormat,
			Want: "give one line of text without spaces at its ends"}}
	}
	return nil
}

func textOr(s, standard string) string {
	if s == "" {
		return standard
	}
	return s
}

func countOr(n, standard int) int {
	if n == 0 {
		return standard
	}
	return n
}
