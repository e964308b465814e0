package answer

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// sensitivity answers half and one in ten again under other choices: how many replies are slips, how wavering replies are
// read, which curve is assumed, whether the first noes count.
func (m *maker) sensitivity(p *LifetimePart) error {
	s := &p.Sensitivity
	if err := m.otherReplies(s, p); err != nil {
		return err
	}
	if err := m.families(s, p.Headline.Early); err != nil {
		return err
	}
	s.spread(p.Headline)
	return nil
}

// noSupport is how far a family's AIC lies above the best family's where the data speak against it so clearly that it is no
// choice: essentially no support (Burnham & Anderson 2002, Model Selection and Multimodel Inference, section 2.6).
const noSupport = 10

// spread finds the smallest and the largest half, the headline's among them. Families that the data rule out are named.
func (s *Sensitivity) spread(h *Headline) {
	s.From, s.To, s.TenthFrom, s.TenthTo, s.Open, s.Unfit = Num{}, Num{}, Num{}, Num{}, 0, nil
	best := math.Inf(1)
	for _, c := range s.Rows {
		switch {
		case c.Variant != string(endpoint.EitherSide):
		case c.AIC.Finite():
			best = min(best, c.AIC.Float())
		case c.Note == survival.ErrNoSpread.Error():
			best = min(best, 4) // one lifetime explains every row: a log-likelihood of 0 on two parameters is approached
		}
	}
	tenth, _ := h.Quantile(0.1)
	halves, tenths := []Quantile{h.Quantiles[0]}, []Quantile{tenth} // half is always answered
	for _, c := range s.Rows {
		if c.AIC.Finite() && c.Variant == string(endpoint.EitherSide) && c.AIC.Float() > best+noSupport {
			s.Unfit = append(s.Unfit, c.Words)
			continue
		}
		halves, tenths = append(halves, c.Half), append(tenths, c.Tenth)
	}
	s.Open = widen(halves, &s.From, &s.To)
	widen(tenths, &s.TenthFrom, &s.TenthTo)
}

// widen finds the range of estimates, and counts those that are not closed.
func widen(qs []Quantile, from, to *Num) (open int) {
	for _, q := range qs {
		if q.Status != OK || !q.From.Finite() || !q.To.Finite() {
			open++
			continue
		}
		if from.Empty() || q.From.Float() < from.Float() {
			*from = q.From
		}
		if to.Empty() || q.To.Float() > to.Float() {
			*to = q.To
		}
	}
	return open
}

// otherReplies refits the reply model: other slips, and without (or with) the rejections before a first acceptance. Where the
// headline reads the first no, the reply model itself is one of the other choices.
func (m *maker) otherReplies(s *Sensitivity, p *LifetimePart) error {
	skip := m.in.Panel.Settings.ImprovesFirst
	type other struct {
		words, variant string
		x              model
	}
	list := []other{
		{"no slips", "slips_0", m.replyModel(0, skip)},
		{"5 % slips", "slips_5", m.replyModel(0.05, skip)},
	}
	if p.Headline.Early {
		list = append(list, other{"every reply counts", "", m.replyModel(Slips, skip)})
	}
	if p.Early > 0 && !skip {
		list = append(list, other{"without the noes before a first yes", "without_early", m.replyModel(Slips, true)})
	} else if p.Early > 0 {
		list = append(list, other{"with the noes before a first yes", "with_early", m.replyModel(Slips, false)})
	}
	for _, o := range list {
		if o.x.subjects() < 3 {
			continue
		}
		fit, err := o.x.fitNear(m.fitted)
		if err != nil {
			return err
		}
		quantile := m.modelQuantile
		if m.in.Brief {
			quantile = m.modelEstimate
		}
		qs, err := m.quantilesBy(quantile, fit, []float64{0.5, 0.1})
		if err != nil {
			return err
		}
		s.add(Choice{Words: o.words, Method: "replies", Variant: o.variant, Note: smallPanelNote + m.impossible(fit, o.x), LogLik: Of(fit.LogLik)}, qs)
	}
	return nil
}

// impossible names whose rejections of a fresh drink were left out, as without slips these cannot be.
func (m *maker) impossible(fit *survival.ReplyFit, x model) string {
	var who []string
	for _, at := range fit.LeftOutRows {
		if name := m.in.name(x.rows[at[0]].Taster); !slices.Contains(who, name) {
			who = append(who, name)
		}
	}
	if len(who) == 0 {
		return ""
	}
	return fmt.Sprintf("; without %s at age 0 (%s), which slips alone could explain", Count(fit.LeftOut, "rejection"), tasters(who))
}

// add takes half and one in ten of a fit.
func (s *Sensitivity) add(c Choice, qs []Quantile) {
	for _, q := range qs {
		switch q.P {
		case 0.5:
			c.Half = q
		case 0.1:
			c.Tenth = q
		}
	}
	c.Status = c.Half.Status
	s.Rows = append(s.Rows, c)
}

// families are the curves that are assumed beside the headline's, on one interval per own limit.
var families = []struct {
	family survival.Family
	words  string
	from   int // informative rows
}{
	{survival.Exponential, "exponential lifetimes", 0},
	{survival.Weibull, "Weibull lifetimes", 0},
	{survival.LogNormal, "log-normal lifetimes", 0},
	{survival.LogLogistic, "log-logistic lifetimes", 0},
	{survival.Gamma, "gamma lifetimes", 0},
	{survival.GeneralizedGamma, "generalised gamma lifetimes", 50},
}

// families fits each family to the either_side intervals (side by side: the replies as they are), and the log-normal under
// the other readings; an early headline is itself the one by the first no.
func (m *maker) families(s *Sensitivity, early bool) error {
	rows := m.rowsUnder(endpoint.EitherSide)
	for _, f := range families {
		if informative(rows) < f.from {
			continue
		}
		if err := m.family(s, f.family, f.words, string(endpoint.EitherSide), rows); err != nil {
			return err
		}
	}
	if m.r.Mode == panel.SideBySide {
		return nil
	}
	for _, reading := range []endpoint.Reading{endpoint.FirstNo, endpoint.LastYes} {
		if early && reading == endpoint.FirstNo {
			continue
		}
		if err := m.family(s, survival.LogNormal, "log-normal lifetimes, read by "+readingNames[reading], string(reading), m.rowsUnder(reading)); err != nil {
			return err
		}
	}
	return nil
}

// rowsUnder are the intervals of all glasses under a reading; side by side one for each reply.
func (m *maker) rowsUnder(reading endpoint.Reading) []survival.Interval {
	var rows []survival.Interval
	for _, g := range m.r.Glasses {
		if m.r.Mode == panel.SideBySide {
			for _, y := range g.Replies {
				rows = append(rows, survival.Status{Time: y.AgeMin, Over: y.Reject}.Interval())
			}
			continue
		}
		if l := reading.Limit(g.Replies); l.Known {
			rows = append(rows, l.Interval)
		}
	}
	return rows
}

// informative counts the rows that bound a limit from above.
func informative(rows []survival.Interval) int {
	n := 0
	for _, r := range rows {
		if !math.IsInf(r.R, 1) {
			n++
		}
	}
	return n
}

// family adds one family: half and one in ten, with limits where every taster has one row. Where the likelihood has no maximum
// that is its status.
func (m *maker) family(s *Sensitivity, f survival.Family, words, reading string, rows []survival.Interval) error {
	c := Choice{Words: words, Method: f.String(), Variant: reading}
	fit, err := survival.Parametric{Family: f, Level: Level}.Fit(rows, nil, nil)
	if none := (*survival.NoMaximumError)(nil); errors.As(err, &none) {
		c.Status, c.Note = NotEnough, none.Err.Error()
		s.Rows = append(s.Rows, c)
		return nil
	}
	if err != nil {
		return err
	}
	c.LogLik, c.AIC = Of(fit.LogLik), Of(fit.AIC)
	if err := m.shape(&c, fit, rows); err != nil {
		return err
	}
	var qs []Quantile
	for _, p := range []float64{0.5, 0.1} {
		if p == 0.1 && (len(m.units) < tenthFrom || m.of != "taster") {
			continue
		}
		q, note, err := m.familyQuantile(fit, p)
		if err != nil {
			return err
		}
		c.Note = note
		qs = append(qs, q)
	}
	s.add(c, qs)
	return nil
}

// looks are the ages at which each glass that tells something was asked about, and would have been: its own ages, then the age
// steps after its last.
func (m *maker) looks() [][]float64 {
	var out [][]float64
	for _, g := range m.r.Glasses {
		if !m.reading.Limit(g.Replies).Known {
			continue
		}
		var ages []float64
		for _, y := range g.Replies {
			if n := len(ages); y.AgeMin > 0 && (n == 0 || ages[n-1] < y.AgeMin) {
				ages = append(ages, y.AgeMin)
			}
		}
		last := g.Replies[len(g.Replies)-1]
		for _, s := range m.r.Steps {
			if at := panel.Minutes(s.Mean); at > last.StepMin && at > last.AgeMin {
				ages = append(ages, at)
			}
		}
		out = append(out, ages)
	}
	return out
}

// distanceDraws is how often a family's distance is drawn.
const distanceDraws = 499

// shape adds the restricted mean, and where each unit has one row how far the family lies from the curve without one.
func (m *maker) shape(c *Choice, fit *survival.ParametricFit, rows []survival.Interval) error {
	if !fit.Converged {
		return nil
	}
	mean, err := fit.MeanTo(m.lastLook(), nil, 0)
	if err != nil {
		return err
	}
	c.MeanTo = Of(mean.Value)
	if m.in.Quick || m.r.Mode != panel.SipThrough || fit.Rows != len(m.units) || fit.Family == survival.GeneralizedGamma {
		return nil
	}
	d, err := fit.Distance(m.looks(), distanceDraws, m.in.Seed)
	if err != nil {
		return err
	}
	c.Distance, c.P = Of(d.Value), Of(d.P)
	return nil
}

// familyQuantile has limits at the small-panel cut where every unit has one row, else none: rows of one taster hang together.
func (m *maker) familyQuantile(fit *survival.ParametricFit, p float64) (q Quantile, note string, err error) {
	if !fit.Converged {
		return Quantile{P: p, Status: NotConverged}, "", nil
	}
	cut := math.Inf(1)
	if fit.Rows == len(m.units) && !m.in.Brief {
		cut = likelihood.SmallPanelCut(fit.Rows, fit.Rows-1, Level)
	}
	e, err := fit.Quantile(nil, 0, p, survival.DeltaLog) // of which the limits are not taken
	if err != nil {
		return q, "", err
	}
	if !math.IsInf(cut, 1) {
		profile, err := fit.ProfileQuantile(nil, 0, p, cut)
		if untraced := (*survival.UnfinishedError)(nil); errors.As(err, &untraced) {
			cut = math.Inf(1)
		} else if err != nil {
			return q, "", err
		}
		e.Lower, e.Upper = profile.Lower, profile.Upper
	}
	q = Quantile{P: p, From: Of(e.Value), To: Of(e.Value), Status: OK}
	if !math.IsInf(cut, 1) {
		q.Lower, q.Upper, q.Level, note = Of(e.Lower), Of(e.Upper), Level, smallPanelNote
	}
	switch first, fresh := m.firstLook(); {
	case e.Value > m.lastLook():
		q.Status = BeyondLastAge
	case e.Value < first && !fresh:
		q.Status = BeforeFirstAge
	}
	return q, note, nil
}
