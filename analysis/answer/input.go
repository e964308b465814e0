package answer

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// Level is the two-sided level of all limits.
const Level = 0.95

// Input is what answers are made from.
type Input struct {
	Panel    *panel.Panel
	Findings []string                          // located warnings of the reading
	Notes    []string                          // defaults taken and other notes of the reading
	Name     func(taster string) string        // how a taster is shown; nil: as written
	Text     func(style string) (string, bool) // what is known of a style; nil: nothing
	Quick    bool                              // leave out whatever draws again: bands, permutations
	Brief    bool                              // leave out what no sentence needs: limits of shares and of other choices, batches and evenings one by one
	Seed     uint64                            // of whatever draws again

	byDrink map[endpoint.Drink][]panel.Taste // nil: not indexed
}

// Indexed returns the same input with its tastes sorted by drink beforehand, for studies of many styles. The panel must
// not change afterwards.
func (in Input) Indexed() Input {
	in.byDrink = map[endpoint.Drink][]panel.Taste{}
	for _, t := range in.Panel.Tastes {
		p := &in.Panel.Pours[t.Pour]
		d := endpoint.Drink{Style: p.Style, Serve: p.Serve}
		in.byDrink[d] = append(in.byDrink[d], t)
	}
	return in
}

func (in Input) name(taster string) string {
	if in.Name == nil {
		return taster
	}
	return in.Name(taster)
}

// Drinks lists every style and serve that was tasted, in order of first appearance.
func (in Input) Drinks() []endpoint.Drink {
	var out []endpoint.Drink
	seen := map[endpoint.Drink]bool{}
	for _, t := range in.Panel.Tastes {
		p := &in.Panel.Pours[t.Pour]
		if d := (endpoint.Drink{Style: p.Style, Serve: p.Serve}); !seen[d] {
			seen[d] = true
			out = append(out, d)
		}
	}
	return out
}

// tastesOf returns all tastes of a drink, in any mode.
func (in Input) tastesOf(d endpoint.Drink) []panel.Taste {
	if in.byDrink != nil {
		return in.byDrink[d]
	}
	var out []panel.Taste
	for _, t := range in.Panel.Tastes {
		if p := in.Panel.Pours[t.Pour]; p.Style == d.Style && p.Serve == d.Serve {
			out = append(out, t)
		}
	}
	return out
}

// sessionsOf lists the sessions in which a drink was tasted.
func (in Input) sessionsOf(d endpoint.Drink) []string {
	var out []string
	for _, t := range in.tastesOf(d) {
		if !slices.Contains(out, t.Session) {
			out = append(out, t.Session)
		}
	}
	return out
}

// head fills what every answer about one drink carries.
func (in Input) head(question string, d endpoint.Drink) Head {
	rows := in.tastesOf(d)
	h := Head{Question: question, Title: title(d), Style: d.Style, Serve: d.Serve, Status: OK, Counts: in.counts(rows), AxisEnd: axisEnd(rows)}
	for _, t := range rows {
		for _, s := range in.Panel.Sessions {
			if s.Name == t.Session && s.Invented {
				h.Invented = true
			}
		}
	}
	return h
}

func title(d endpoint.Drink) string {
	if d.Serve == "" {
		return d.Style
	}
	return d.Style + ", " + d.Serve
}

// axisEnd is the last age tasted, up to the next even minute.
func axisEnd(rows []panel.Taste) float64 {
	end := 2.0
	for _, t := range rows {
		end = max(end, 2*math.Ceil(panel.Minutes(t.Age)/2))
	}
	return end
}

// counts tells tasters, batches and pours apart; batches only where every pour has one.
func (in Input) counts(rows []panel.Taste) Counts {
	tasters, batches, pours := map[string]bool{}, map[[2]string]bool{}, map[[3]string]bool{}
	known, own := true, true
	evenings, whose := map[string]bool{}, map[[2]string]string{}
	for _, t := range rows {
		p := in.Panel.Pours[t.Pour]
		evenings[t.Session] = true
		tasters[t.Taster] = true
		glass := [3]string{t.Session, p.ID, t.Taster}
		if t.Mode == panel.SideBySide && p.Taster == "" {
			glass[2] = ""
		}
		pours[glass] = true
		if p.Batch == "" {
			known = false
		}
		batch := [2]string{t.Session, p.Batch}
		batches[batch] = true
		if other, ok := whose[batch]; ok && other != t.Taster {
			own = false
		}
		whose[batch] = t.Taster
	}
	c := Counts{Tasters: len(tasters), Pours: len(pours), RowsUsed: len(rows), Evenings: len(evenings)}
	if known {
		c.Batches, c.OwnBatch = len(batches), own
	}
	return c
}

// settings returns the panel's settings as used for a drink whose names begin with one of the given words, in the order in
// which they were taken; one that only holds for a session says so.
func (in Input) settings(d endpoint.Drink, begin ...string) []Setting {
	var out []Setting
	sessions := in.sessionsOf(d)
	for _, t := range in.Panel.Settings.Taken {
		if t.Session != "" && !slices.Contains(sessions, t.Session) {
			continue
		}
		if !slices.ContainsFunc(begin, func(w string) bool { return strings.HasPrefix(t.Name, w) }) {
			continue
		}
		if s := setting(t); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func setting(t panel.Taken) Setting {
	s := Setting{Name: t.Name, Value: t.Value, Default: t.Default}
	if t.Session != "" {
		s.Name += " (" + t.Session + ")"
	}
	return s
}

func leftOut(lists ...[]panel.LeftOut) []LeftOut {
	sum := map[string]int{}
	for _, l := range lists {
		for _, x := range l {
			sum[x.Reason] += x.Rows
		}
	}
	var out []LeftOut
	for reason, n := range sum {
		out = append(out, LeftOut{reason, n})
	}
	slices.SortFunc(out, func(a, b LeftOut) int { return cmp.Compare(a.Reason, b.Reason) })
	return out
}

// row starts a row of results.csv for an answer.
func (h *Head) row(statistic, method, variant, unit string) Row {
	return Row{Question: h.Question, Style: h.Style, Serve: h.Serve, Statistic: statistic, Method: method, Variant: variant, Unit: unit, Status: OK,
		Tasters: h.Counts.Tasters, Batches: h.Counts.Batches, Tastes: h.Counts.RowsUsed}
}

func points(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }
