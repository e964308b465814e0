package answer

import "fmt"

// tabulate writes the rows of results.csv: where the window begins and ends, and until when it holds at least.
func (a *PrimeWindow) tabulate(s *scoreRows) {
	main := Variant{Method: a.Shape, Window: a.Main, Tasters: a.Counts.Tasters, Tastes: a.Counts.RowsUsed}
	a.Rows = append(a.Rows, a.windowRows(main)...)
	for _, v := range a.Variants {
		a.Rows = append(a.Rows, a.windowRows(v)...)
	}
	a.Rows = append(a.Rows, a.onsetRow()...)
}

func (a *PrimeWindow) windowRows(v Variant) []Row {
	w := v.Window
	base := func(statistic string) Row {
		r := a.row(statistic, v.Method, v.Variant, "min")
		r.Attribute, r.Status, r.Tasters, r.Tastes, r.Note = a.Attribute, w.Status, v.Tasters, v.Tastes, v.Note
		if a.Status == NotConverged {
			r.Status = NotConverged
		}
		return r
	}
	from, to, least := base("from"), base("to"), base("at_least_until")
	if w.Status == Never {
		from.Note = joinNotes(from.Note, fmt.Sprintf("highest %s at %s min", points(w.Highest), Age(w.HighestAt)))
	} else {
		from.Value, from.Lower, from.Upper, from.Level = w.From, w.FromLower, w.FromUpper, Of(Level)
		to.Value, to.Lower, to.Upper, to.Level = w.To, w.ToLower, w.ToUpper, Of(Level)
		for _, o := range w.Others {
			to.Note = joinNotes(to.Note, fmt.Sprintf("also at or above the limit from %s to %s min", Age(o.From), Age(o.To)))
		}
	}
	out := []Row{from, to}
	if v.Method == bootstrapped {
		return out
	}
	least.Value = w.AtLeastUntil
	if w.AtLeastUntil.Finite() {
		least.Level = Of((1 + Level) / 2)
		least.Note = joinNotes(least.Note, "one-sided")
		if w.Status != Never {
			least.Status = OK
		}
	} else {
		least.Note = joinNotes(least.Note, "not shown by this panel")
		if w.Status != Never && least.Status != NotConverged {
			least.Status = NotEnough
		}
	}
	return append(out, least)
}

func joinNotes(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// onsetRow is the bend in the decline, where it was asked.
func (a *PrimeWindow) onsetRow() []Row {
	o := a.Onset
	if o == nil {
		return nil
	}
	r := a.row("onset", "broken_stick", "", "min")
	r.Attribute, r.Status, r.Value, r.Note = a.Attribute, o.Status, o.At, o.note()
	if n := len(o.Set); n > 0 {
		r.Lower, r.Upper = Of(o.Set[0].From), Of(o.Set[n-1].To)
	}
	return []Row{r}
}

// note says what stands behind the bend.
func (o *Onset) note() string {
	if o.Status != OK {
		return "not told: " + o.Why
	}
	n := fmt.Sprintf("limits: ages with 2 (l_max - l) up to %s", points(o.Cut))
	if len(o.Set) > 1 {
		n += fmt.Sprintf(", in %d pieces", len(o.Set))
	}
	n += fmt.Sprintf("; slope before %s, after %s points per minute", points(o.SlopeBefore), points(o.SlopeAfter))
	if o.P.Finite() {
		n += fmt.Sprintf("; against no bend p = %s by %d drawn panels", points(o.P.Float()), o.Draws)
	}
	return n + "; a bend is no proof of a break"
}

// unanswered says why there is no window.
func (a *PrimeWindow) unanswered(status, why string) {
	a.Status, a.Main.Status = status, status
	a.add("When it is at its best is not answered: " + why + ".")
	for _, name := range []string{"from", "to", "at_least_until"} {
		a.Rows = append(a.Rows, a.statusRow(name, shapeSpline, "", status, "min"))
	}
}
