package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// NewData says what a study holds: sessions, tasters, drinks, ages, batches, gaps, and what reading it brought up.
func NewData(in Input) (*Data, error) {
	p := in.Panel
	out := &Data{Head: Head{Question: "data", Title: "the data", Status: OK, Counts: in.counts(p.Tastes), AxisEnd: axisEnd(p.Tastes)}, Findings: slices.Clone(in.Findings), Notes: in.Notes}
	out.Method, out.Source = "Counted from the files as read.", "the session folders"
	out.Counts.LeftOut = leftOut(p.LeftOut)
	for _, t := range p.Settings.Taken {
		out.Settings = append(out.Settings, setting(t))
	}
	for _, s := range p.Sessions {
		out.Invented = out.Invented || s.Invented
		facts, err := in.sessionFacts(s)
		if err != nil {
			return nil, err
		}
		out.Sessions = append(out.Sessions, facts)
	}
	for _, d := range in.Drinks() {
		if endpoint.BasisOf(in.Panel, d.Style) == "" {
			out.Findings = append(out.Findings, title(d)+": nobody was asked whether they would go on with it, and no overall score with a reject limit stands in, so how long it lasts cannot be answered; "+askAdvice)
		}
	}
	unclear, err := in.unclear()
	if err != nil {
		return nil, err
	}
	c := out.Counts
	out.Sentences = []string{fmt.Sprintf("%s, %s, %s, %s.", Count(len(p.Sessions), "session"), Count(c.Tasters, "taster"), Count(c.Pours, "glass"), Count(c.RowsUsed, "taste"))}
	if n := rowsOut(c); n > 0 {
		var why []string
		for _, l := range c.LeftOut {
			why = append(why, fmt.Sprintf("%s (%d)", l.Reason, l.Rows))
		}
		out.Sentences = append(out.Sentences, fmt.Sprintf("Left out: %s.", strings.Join(why, "; ")))
	}
	for name, v := range map[string]int{"tasters": c.Tasters, "batches": c.Batches, "pours": c.Pours, "rows_used": c.RowsUsed, "rows_left_out": rowsOut(c), "unclear_verdicts": unclear} {
		r := out.row(name, "count", "", "1")
		r.Value = Of(float64(v))
		if name == "batches" && v == 0 {
			r.Value, r.Status, r.Note = Num{}, NotAsked, "batches are not known for every pour"
		}
		out.Rows = append(out.Rows, r)
	}
	slices.SortFunc(out.Rows, func(a, b Row) int { return cmp.Compare(a.Statistic, b.Statistic) })
	return out, nil
}

func rowsOut(c Counts) int {
	n := 0
	for _, l := range c.LeftOut {
		n += l.Rows
	}
	return n
}

// unclear counts sip-through glasses with replies that reversed.
func (in Input) unclear() (int, error) {
	n := 0
	for _, d := range in.Drinks() {
		if endpoint.BasisOf(in.Panel, d.Style) == "" {
			continue
		}
		for _, m := range endpoint.Modes(in.Panel, d) {
			if m != panel.SipThrough {
				continue
			}
			r, err := endpoint.RepliesOf(in.Panel, d, m)
			if err != nil {
				return 0, err
			}
			for _, g := range r.Glasses {
				if endpoint.EitherSide.Limit(g.Replies).Reversed {
					n++
				}
			}
		}
	}
	return n, nil
}

func (in Input) sessionFacts(s panel.Session) (SessionFacts, error) {
	out := SessionFacts{Name: s.Name, Title: s.Title, Date: s.Date}
	for _, d := range in.Drinks() {
		for _, mode := range []panel.Mode{panel.SideBySide, panel.SipThrough} {
			var rows []panel.Taste
			for _, t := range in.tastesOf(d) {
				if t.Session == s.Name && t.Mode == mode {
					rows = append(rows, t)
				}
			}
			if len(rows) == 0 {
				continue
			}
			out.Tastes += len(rows)
			for _, t := range rows {
				if n := in.name(t.Taster); !slices.Contains(out.Tasters, n) {
					out.Tasters = append(out.Tasters, n)
				}
			}
			c := in.counts(rows)
			f := DrinkFacts{Style: d.Style, Serve: d.Serve, Mode: mode.String(), Tasters: c.Tasters, Pours: c.Pours, Tastes: len(rows), Batches: c.Batches}
			steps, of := panel.AgeSteps(rows)
			for _, st := range steps {
				f.Steps = append(f.Steps, Step{AgeMin: panel.Minutes(st.Mean), Tastes: st.N})
			}
			if mode == panel.SipThrough {
				f.Gaps = in.gaps(rows, steps, of)
			}
			out.Drinks = append(out.Drinks, f)
		}
	}
	slices.Sort(out.Tasters)
	out.Beside = in.beside(s.Name)
	return out, nil
}

// beside counts what a session holds besides tastes.
func (in Input) beside(session string) []Fact {
	var out []Fact
	count := func(name string, n int) {
		if n > 0 {
			out = append(out, Fact{name, strconv.Itoa(n)})
		}
	}
	readings, choices, places, paces := 0, 0, 0, 0
	for _, x := range in.Panel.Readings {
		readings += btoi(x.Session == session)
	}
	for _, x := range in.Panel.Choices {
		choices += btoi(x.Session == session)
	}
	for _, x := range in.Panel.Places {
		places += btoi(x.Session == session)
	}
	for _, x := range in.Panel.Paces {
		paces += btoi(x.Session == session)
	}
	aware, ended := 0, 0
	for _, t := range in.Panel.Tastes {
		if t.Session == session {
			aware += btoi(t.Aware)
			ended += btoi(t.Why != panel.WhyNotSaid && t.Why != panel.WhyDrink)
		}
	}
	count("tastes by tasters who made or knew the drink (aware)", aware)
	count("glasses given up for another reason than the drink (why)", ended)
	count("instrument readings", readings)
	count("choices between two pours", choices)
	count("places in rankings", places)
	count("guests timed", paces)
	return out
}

// gaps lists age steps that half of the glasses or more were tasted at and a glass skipped before its last taste.
func (in Input) gaps(rows []panel.Taste, steps []panel.Step, of []int) []string {
	type glass struct{ taster, pour string }
	seen := map[glass]map[int]bool{}
	glasses := make([]int, len(steps)) // that were tasted at a step
	for i, t := range rows {
		g := glass{t.Taster, in.Panel.Pours[t.Pour].ID}
		if seen[g] == nil {
			seen[g] = map[int]bool{}
		}
		if !seen[g][of[i]] {
			glasses[of[i]]++
		}
		seen[g][of[i]] = true
	}
	var out []string
	for g, at := range seen {
		last := 0
		for s := range at {
			last = max(last, s)
		}
		var miss []string
		for s := range last {
			if !at[s] && 2*glasses[s] >= len(seen) {
				miss = append(miss, Halves.Minutes(Of(panel.Minutes(steps[s].Mean))))
			}
		}
		if len(miss) > 0 {
			out = append(out, fmt.Sprintf("taster %s, glass %s: nothing at %s%smin", in.name(g.taster), g.pour, list(miss), nbsp))
		}
	}
	slices.Sort(out)
	return out
}
