package answer

import "fmt"

const (
	smallPanelNote = "limits: profile likelihood at the small-panel cut"
	headlineMethod = "The reply model: log-normal own limits over tasters, every reply about them counts, 2 % of replies are slips either way, how far a reply wavers about the own limit is estimated; limits by profile likelihood at the small-panel cut n log(1 + t²/(n-1)). " +
		"One in ten and the shares take the spread between tasters as sqrt(n/(n-1)) wider. Beside it without a curve: Turnbull's estimate for replies about one glass tasted again and again, the isotonic share for glasses seen once; exact limits: Clopper-Pearson for shares, order statistics of the binomial test for ages, each taster counted once."
	headlineSource = "likelihood of replies about a random limit: probit with a random threshold, Finney 1971 (Probit Analysis); profile limits: Venzon & Moolgavkar 1988, Appl. Statist. 37, 87; the small-panel cut is exact for a normal mean, its coverage here is measured (testdata/answer/recovery.md); " +
		"Turnbull 1976, J. R. Statist. Soc. B 38, 290; Ayer et al. 1955, Ann. Math. Statist. 26, 641; Clopper & Pearson 1934, Biometrika 26, 404; readings of wavering replies after Hough et al. 2003, J. Food Sci. 68, 359."
)

// headVariant tells a part's headline rows apart: the mode, and what was left out.
func (p *LifetimePart) headVariant() string {
	v := p.Mode
	if p.Headline.Early {
		v = "first_no+" + v
	}
	if p.Headline.LeftOut > 0 {
		v += "+without_early"
	}
	return v
}

// headlineRows are the rows of the headline, of its groups and of the other choices.
func (a *Lifetime) headlineRows(p *LifetimePart) {
	h, variant := p.Headline, p.headVariant()
	note := smallPanelNote
	if h.LeftOut > 0 {
		note += fmt.Sprintf("; without %d rejections before a first acceptance", h.LeftOut)
	}
	for _, q := range h.Quantiles {
		n := note
		if q.P == 0.1 && len(h.Below) < 2 {
			n += "; read off the curve's shape, not seen"
		}
		a.Rows = append(a.Rows, a.quantileRows(p, q, h.Method, variant, n)...)
	}
	for _, q := range []*Quantile{p.WithoutNever, p.WithoutNeverTenth} {
		if q == nil {
			continue
		}
		for _, r := range a.quantileRows(p, *q, h.Method, variant+"+without_never", note) {
			r.count(p.WithoutNeverCounts)
			a.Rows = append(a.Rows, r)
		}
	}
	for _, s := range h.Shares {
		r := a.partRow(p, "share", h.Method, variant, "1")
		r.AgeMin, r.Value, r.Lower, r.Upper, r.Level, r.Note = Of(s.AgeMin), Of(s.Share), Of(s.Lower), Of(s.Upper), Of(s.Level), note
		a.Rows = append(a.Rows, r)
		if !h.Early {
			r.Variant, r.Value, r.Lower, r.Upper, r.Level, r.Note = variant+"+of_replies", Of(s.OfReplies), Num{}, Num{}, Num{}, "share of replies, wavering and slips included"
			a.Rows = append(a.Rows, r)
		}
	}
	one := func(statistic string, v Num, note string) {
		if v.Empty() {
			return
		}
		r := a.partRow(p, statistic, h.Method, variant, "1")
		r.Value, r.Note = v, note
		a.Rows = append(a.Rows, r)
	}
	one("loglik", Of(h.LogLik), "")
	one("spread_limits", h.LogSD, "log-sd of own limits between drinkers like these, widened by sqrt(n/(n-1))")
	one("spread_replies", h.ReplySD, "log-sd of a reply about the own limit")
	one("spread_tasters", h.TasterSD, "log-sd of tasters")
	one("spread_glasses", h.GlassSD, "log-sd of a taster's glasses")
	a.meanRow(p, "mean_to_from", p.Method, p.variant(), p.Curve.MeanFrom)
	a.meanRow(p, "mean_to_to", p.Method, p.variant(), p.Curve.MeanTo)
	a.groupRows(p, h.Batches, "batch")
	a.groupRows(p, h.Evenings, "evening")
	a.choiceRows(p)
}

// groupRows are the halves of batches or evenings, and the one that their differences give.
func (a *Lifetime) groupRows(p *LifetimePart, g Groups, what string) {
	h, variant := p.Headline, p.headVariant()
	for _, x := range g.Each {
		for _, r := range a.quantileRows(p, x.Half, h.Method, variant+"+"+what+" "+x.Name, smallPanelNote) {
			r.Tasters, r.Batches, r.Tastes = x.Tasters, x.Batches, x.Tastes
			a.Rows = append(a.Rows, r)
		}
	}
	if g.Half != nil {
		a.Rows = append(a.Rows, a.quantileRows(p, *g.Half, h.Method, variant+"+between_"+what, fmt.Sprintf("Student's limits on the logs of %d halves", len(g.Each)))...)
	}
}

// choiceRows are the answers under other choices.
func (a *Lifetime) choiceRows(p *LifetimePart) {
	for _, c := range p.Sensitivity.Rows {
		variant := p.Mode
		if c.Variant != "" {
			variant = c.Variant + "+" + variant
		}
		if c.Half.P == 0 { // not fitted
			r := a.partRow(p, "q50", c.Method, variant, "min")
			r.Status, r.Note = c.Status, c.Note
			a.Rows = append(a.Rows, r)
			continue
		}
		for _, q := range []Quantile{c.Half, c.Tenth} {
			if q.P > 0 {
				a.Rows = append(a.Rows, a.quantileRows(p, q, c.Method, variant, c.Note)...)
			}
		}
		for _, x := range []struct {
			statistic string
			v         Num
		}{{"loglik", c.LogLik}, {"aic", c.AIC}, {"distance", c.Distance}, {"distance_p", c.P}} {
			if !x.v.Empty() {
				r := a.partRow(p, x.statistic, c.Method, variant, "1")
				r.Value = x.v
				a.Rows = append(a.Rows, r)
			}
		}
		a.meanRow(p, "mean_to", c.Method, variant, c.MeanTo)
	}
}

// meanRow is a mean of limits cut at the last age tasted.
func (a *Lifetime) meanRow(p *LifetimePart, statistic, method, variant string, v Num) {
	if v.Empty() {
		return
	}
	r := a.partRow(p, statistic, method, variant, "min")
	r.Value, r.Note = v, fmt.Sprintf("mean of own limits cut at %s min", Of(p.Curve.Horizon))
	a.Rows = append(a.Rows, r)
}
