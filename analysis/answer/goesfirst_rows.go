package answer

import "fmt"

// tabulate writes the rows of results.csv: per attribute and age step the shares first alone and tied first. Both limits
// stand on the row of alone, as they bound one share: that of tasters for whom the attribute was first.
func (a *GoesFirst) tabulate() {
	for i := range a.Parts {
		p := &a.Parts[i]
		a.Rows = append(a.Rows, a.firstRows(p, FirstVariant{Units: p.Units, Counts: p.Counts, Attributes: p.Attributes})...)
		for _, v := range p.Variants {
			a.Rows = append(a.Rows, a.firstRows(p, v)...)
		}
	}
}

func (a *GoesFirst) firstRows(p *FirstPart, v FirstVariant) []Row {
	variant := p.Mode
	if v.Name != "" {
		variant += "+" + v.Name
	}
	var out []Row
	if v.Units == 0 {
		r := a.statusRow("alone", "counts", variant, NotEnough, "1")
		r.count(v.Counts)
		r.Note = "no taster scored every attribute that is compared"
		return append(out, r)
	}
	for _, x := range v.Attributes {
		for _, s := range x.Steps {
			r := a.row("alone", "counts", variant, "1")
			r.count(v.Counts)
			if p.Unit == "taster" {
				r.Tasters = v.Units
			}
			r.Attribute, r.AgeMin = x.Name, Of(s.AgeMin)
			if v.Units < 3 {
				r.Status = NotEnough
			}
			tied := r
			tied.Statistic = "tied"
			r.Value, tied.Value = Of(float64(s.Alone)/float64(v.Units)), Of(float64(s.Tied)/float64(v.Units))
			r.Note = s.note(v.Units, p.Unit)
			if s.Lower.Finite() {
				r.Lower, r.Upper, r.Level = s.Lower, s.Upper, Of(Level)
				tied.Note = "limits stand on the row of alone"
			}
			out = append(out, r, tied)
		}
	}
	return out
}

// note says what the row of alone counts.
func (s *FirstStep) note(units int, unit string) string {
	n := fmt.Sprintf("of %d %ss: alone %d, tied %d, another first %d, nothing yet %d", units, unit, s.Alone, s.Tied, s.Other, s.Nothing)
	if s.Stopped > 0 {
		n += fmt.Sprintf(" (%d of them stopped before)", s.Stopped)
	}
	if s.Lower.Finite() {
		n += fmt.Sprintf("; limits: Clopper-Pearson, lower from %d, upper from %d", s.Alone, s.Alone+s.Tied+s.Stopped)
	}
	return n
}

// notAsked says what would have to be recorded.
func (a *GoesFirst) notAsked(in Input, why string) {
	a.Status = NotAsked
	record := "score two attributes or more at every taste, such as liveliness and coldness, and give each a limit in datapackage.json (attributes)."
	if overall := in.Panel.Settings.Overall; overall != "" {
		record = fmt.Sprintf("score two attributes or more besides %s at every taste, such as liveliness and coldness, and give each a limit in datapackage.json (attributes).", overall)
	}
	a.Sentences = []string{"What goes first is not answered: " + why + ".", upperFirst(record)}
	a.Rows = []Row{a.statusRow("alone", "counts", "", NotAsked, "1")}
}
