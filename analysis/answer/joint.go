package answer

import (
	"fmt"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// joint estimates both modes together: a taster's limits in the two hang together, and one is a constant times the other. It
// is one of the other choices for the half; the sentence stays with one mode, as memory biases the other.
func (a *Lifetime) joint(in Input, d endpoint.Drink) error {
	if len(a.Parts) < 2 {
		return nil
	}
	var units []survival.ReplyUnit
	number := map[string]int{}
	for i := range a.Parts {
		if a.Parts[i].Headline == nil || a.Parts[i].Headline.Early || a.Parts[i].Unit != "taster" {
			return nil
		}
		r, err := endpoint.RepliesOf(in.Panel, d, modeOf(a.Parts[i].Mode))
		if err != nil {
			return err
		}
		rows, _ := r.OwnLimits(in.Panel.Settings.ImprovesFirst)
		x := 0.0
		if a.Parts[i].Mode == panel.SipThrough.String() {
			x = 1
		}
		units = appendUnits(units, number, rows, x)
	}
	a.ModeBoth = len(units) - len(number)
	fit, err := survival.ReplyModel{Slips: Slips, Level: Level}.Fit(units)
	if err != nil {
		return err
	}
	if fit.Kind != survival.ReplyInterior {
		return nil
	}
	ratio, err := fit.Ratio(1)
	if err != nil {
		return err
	}
	if fit.Converged {
		a.ModeRatio = &Quantile{From: Of(ratio.From), To: Of(ratio.To), Lower: Of(ratio.Lower), Upper: Of(ratio.Upper), Level: ratio.Level, Status: OK}
	}
	for i := range a.Parts {
		p := &a.Parts[i]
		x := []float64{0}
		if p.Mode == panel.SipThrough.String() {
			x[0] = 1
		}
		e, err := fit.Quantile(x, 0.5)
		if err != nil {
			return err
		}
		q := Quantile{P: 0.5, From: Of(e.From), To: Of(e.To), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: e.Level, Status: OK}
		if !fit.Converged {
			q.Status = NotConverged
		}
		c := Choice{Words: "both modes together, with a mode effect", Method: "replies", Variant: "joint", Note: smallPanelNote, Status: q.Status, Half: q, LogLik: Of(fit.LogLik)}
		p.Sensitivity.Rows = append(p.Sensitivity.Rows, c)
		p.Sensitivity.spread(p.Headline)
	}
	return nil
}

// appendUnits adds own limits as units with one covariate, numbering tasters over all of them.
func appendUnits(units []survival.ReplyUnit, number map[string]int, rows []endpoint.OwnLimit, x float64) []survival.ReplyUnit {
	for i, u := range endpoint.ReplyUnits(rows) {
		id, ok := number[rows[i].Subject]
		if !ok {
			id = len(number)
			number[rows[i].Subject] = id
		}
		u.Subject, u.X = id, []float64{x}
		units = append(units, u)
	}
	return units
}

// jointRow is the row of the ratio that the sentence tells.
func (a *Lifetime) jointRow() {
	q := a.ModeRatio
	if q == nil {
		return
	}
	r := a.row("time_ratio", "replies", panel.SipThrough.String()+"/"+panel.SideBySide.String(), "1")
	r.Value, r.Lower, r.Upper, r.Level, r.Note = q.From, q.Lower, q.Upper, Of(q.Level), smallPanelNote
	a.Rows = append(a.Rows, r)
}

// jointWords compare the two modes.
func (a *Lifetime) jointWords() string {
	q := a.ModeRatio
	if q == nil {
		return ""
	}
	s := fmt.Sprintf("Tasted again and again it lasts %s as long as side by side", q.timesWords())
	if a.ModeBoth == 0 {
		s += ", by different tasters, so the way of tasting cannot be told from the people"
	}
	return s + "."
}

// timesWords prints a ratio with its limits: "1.2 times (95 % limits 0.9 to 1.6)".
func (q Quantile) timesWords() string {
	lower, upper := Times(q.Lower.Float()), "open"
	if q.Upper.Finite() {
		upper = Times(q.Upper.Float())
	}
	if q.Lower.Float() == 0 {
		lower = "open"
	}
	about := Times(q.From.Float())
	if to := Times(q.To.Float()); to != about {
		about = "between " + about + " and " + to // every ratio between is as likely
	}
	return fmt.Sprintf("%s times (%s limits %s to %s)", about, percent(q.Level), lower, upper)
}

// Times prints a ratio: two decimals below 2, where they may decide whether it is 1, one below 10, then none.
func Times(x float64) string {
	switch {
	case x < 1.995:
		return fmt.Sprintf("%.2f", x)
	case x < 9.95:
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf("%.0f", x)
}
