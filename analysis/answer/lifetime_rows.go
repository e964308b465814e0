package answer

import (
	"fmt"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// statusRow is a row without a number.
func (h *Head) statusRow(statistic, method, variant, status, unit string) Row {
	r := h.row(statistic, method, variant, unit)
	r.Status = status
	return r
}

// tabulate writes the rows of results.csv.
func (a *Lifetime) tabulate() {
	for i := range a.Parts {
		p := &a.Parts[i]
		variant := p.variant()
		if p.Headline != nil {
			a.headlineRows(p)
		}
		if len(p.Quantiles) == 0 {
			r := a.partRow(p, "q50", p.Method, variant, "min")
			r.Status = p.Status
			a.Rows = append(a.Rows, r)
		}
		for _, q := range p.Quantiles {
			a.Rows = append(a.Rows, a.exactRows(p, q, variant)...)
		}
		if p.WithoutNeverExact != nil {
			for _, r := range a.exactRows(p, *p.WithoutNeverExact, variant+"+without_never") {
				r.count(p.WithoutNeverCounts)
				a.Rows = append(a.Rows, r)
			}
		}
		for _, r := range p.Readings[min(1, len(p.Readings)):] {
			a.Rows = append(a.Rows, a.exactRows(p, r.Median, r.Name+"+"+p.Mode)...)
		}
		a.Rows = append(a.Rows, a.shareRows(p, variant)...)
		a.bandRows(p)
		if len(p.Quantiles) > 0 {
			r := a.partRow(p, "loglik", p.Method, variant, "1")
			r.Value = Of(p.Curve.LogLik)
			r.Note = fmt.Sprintf("optimality gap %.2g", max(p.Curve.Gap, 0))
			a.Rows = append(a.Rows, r)
		}
	}
	a.jointRow()
}

// variant tells a part's rows apart: the reading in force and the mode.
func (p *LifetimePart) variant() string {
	if len(p.Readings) > 0 {
		return p.Readings[0].Name + "+" + p.Mode
	}
	return p.Mode
}

// partRow starts a row with the counts of its mode.
func (a *Lifetime) partRow(p *LifetimePart, statistic, method, variant, unit string) Row {
	r := a.row(statistic, method, variant, unit)
	r.count(p.Counts)
	return r
}

// count says what a row rests on.
func (r *Row) count(c Counts) { r.Tasters, r.Batches, r.Tastes = c.Tasters, c.Batches, c.RowsUsed }

// exactRows is one quantile without a family.
func (a *Lifetime) exactRows(p *LifetimePart, q Quantile, variant string) []Row {
	return a.quantileRows(p, q, p.Method, variant, "limits: order statistics of the binomial test, unit "+p.Unit)
}

// quantileRows is one quantile: limits stand on the main row, also when the estimate is an interval of ages.
func (a *Lifetime) quantileRows(p *LifetimePart, q Quantile, method, variant, note string) []Row {
	name := map[float64]string{0.1: "q10", 0.25: "q25", 0.5: "q50"}[q.P]
	main := a.partRow(p, name, method, variant, "min")
	main.Lower, main.Upper, main.Level, main.Status, main.Note = q.Lower, q.Upper, Of(q.Level), q.Status, note
	if q.Lower.Empty() && q.Upper.Empty() {
		main.Level = Num{}
	}
	if q.From == q.To {
		main.Value = q.From
		return []Row{main}
	}
	from, to := a.partRow(p, name+"_from", method, variant, "min"), a.partRow(p, name+"_to", method, variant, "min")
	from.Value, to.Value = q.From, q.To
	from.Status, to.Status = q.Status, q.Status
	return []Row{main, from, to}
}

func (a *Lifetime) shareRows(p *LifetimePart, variant string) []Row {
	var out []Row
	for _, s := range p.Shares {
		r := a.partRow(p, "share", p.Method, variant, "1")
		r.AgeMin = Of(s.AgeMin)
		r.Lower, r.Upper, r.Level = Of(s.Lower), Of(s.Upper), Of(s.Level)
		if p.Unit == "taster" {
			r.Tasters = s.Units
		}
		r.Note = fmt.Sprintf("limits: Clopper-Pearson from %d certainly and %d possibly going on, of %d", s.Going, s.Possible, s.Units)
		if s.No > s.Units-s.Going {
			r.Note += fmt.Sprintf("; %d said no here, a no before a first yes is not counted", s.No)
		}
		if s.EstHi < s.Lower || s.EstLo > s.Upper {
			r.Note += "; the estimate rests on all glasses or pools age steps, the limits on one look of each"
		}
		if s.EstLo == s.EstHi {
			r.Value = Of(s.EstLo)
			out = append(out, r)
			continue
		}
		lo, hi := r, r
		lo.Statistic, hi.Statistic = "share_from", "share_to"
		for _, x := range []*Row{&lo, &hi} {
			x.Lower, x.Upper, x.Level, x.Note = Num{}, Num{}, Num{}, ""
		}
		lo.Value, hi.Value = Of(s.EstLo), Of(s.EstHi)
		out = append(out, r, lo, hi)
	}
	return out
}

// NewRejections answers: who would leave the rest, and when? It holds every reply.
func NewRejections(in Input, d endpoint.Drink) (*Rejections, error) {
	out := &Rejections{Head: in.head("rejections", d), Basis: string(endpoint.BasisOf(in.Panel, d.Style))}
	out.Method = "Every reply at its actual age; the bar of a taster runs from the last age at which they would surely go on to the first at which they surely would not (reading: " + string(in.readingOf(panel.SipThrough)) + "; side by side always either_side)."
	out.Source = "readings of wavering replies after Hough et al. 2003, J. Food Sci. 68, 359"
	out.Settings = in.settings(d, "unclear", "reject_limit", "overall", "verdict words")
	if out.Basis == "" {
		out.Status = NotAsked
		out.Sentences = []string{"Nobody was asked whether they would go on with it."}
		return out, nil
	}
	no, rows := 0, 0
	for _, mode := range endpoint.Modes(in.Panel, d) {
		reading := in.readingOf(mode)
		r, err := endpoint.RepliesOf(in.Panel, d, mode)
		if err != nil {
			return nil, fmt.Errorf("rejections of %s: %w", title(d), err)
		}
		out.Both += r.Both
		out.Disagree += r.Disagree
		part := RejectionPart{Mode: mode.String()}
		for _, g := range r.Glasses {
			x := in.glassReplies(g, reading)
			part.Glasses = append(part.Glasses, x)
			for _, y := range x.Replies {
				rows++
				if y.Reject {
					no++
				}
			}
			out.Rows = append(out.Rows, out.limitRow(x, string(reading)+"+"+mode.String())...)
		}
		out.Parts = append(out.Parts, part)
	}
	out.Counts.RowsUsed = rows
	out.Sentences = append(out.Sentences, fmt.Sprintf("%s, of which %d say that they would leave the rest.", replyWords(rows), no))
	if out.Both > 0 {
		s := fmt.Sprintf("Verdict and score say different things in %d of %d rows that have both; the %s counts.", out.Disagree, out.Both, out.Basis)
		out.Sentences = append(out.Sentences, s)
	}
	return out, nil
}

func (in Input) glassReplies(g endpoint.Glass, reading endpoint.Reading) GlassReplies {
	l := reading.Limit(g.Replies)
	x := GlassReplies{Taster: in.name(g.Taster), Session: g.Session, Pour: g.Pour, Reversed: l.Reversed, Never: l.Never}
	if l.Known {
		x.L, x.R = Of(l.L), Of(l.R)
	}
	for _, y := range g.Replies {
		x.Replies = append(x.Replies, Reply{AgeMin: y.AgeMin, Reject: y.Reject})
	}
	return x
}

// limitRow is a taster's own limit as an interval.
func (a *Rejections) limitRow(g GlassReplies, variant string) []Row {
	r := a.row("limit", "reading", variant, "min")
	r.Question, r.Taster, r.Session = "taster", g.Taster, g.Session
	r.Variant += "+" + g.Pour
	r.Lower, r.Upper = g.L, g.R
	r.Tasters, r.Tastes, r.Batches = 1, len(g.Replies), 0
	if g.L.Empty() {
		r.Status = BeforeFirstAge
	}
	return []Row{r}
}
