package answer

import (
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// Slips is the share of replies, either way, that are taken to be slips, whatever was tasted: fixed beforehand.
const Slips = 0.02

// From how many tasters on quantiles other than half are answered.
const (
	quarterFrom = 6
	tenthFrom   = 8
)

// model is an estimator with the own limits that it is given.
type model struct {
	survival.ReplyModel
	rows    []endpoint.OwnLimit
	early   bool // log-normal limits on first_no intervals
	leftOut int
}

// replyModel takes every reply. skipEarly leaves rejections before a first acceptance out.
func (m *maker) replyModel(slips float64, skipEarly bool) model {
	rows, skipped := m.r.OwnLimits(skipEarly)
	return model{survival.ReplyModel{Slips: slips, Level: Level}, rows, false, skipped}
}

// headlineModel is the reply model; where replies after the first no are missing, so that wavering cannot be told, log-normal
// limits on the intervals up to that no.
func (m *maker) headlineModel() model {
	if rejected, later := m.r.LaterReplies(); m.r.Mode == panel.SipThrough && 2*later < rejected {
		return model{survival.ReplyModel{Sharp: true, Level: Level}, m.r.IntervalLimits(endpoint.FirstNo), true, 0}
	}
	return m.replyModel(Slips, m.in.Panel.Settings.ImprovesFirst)
}

func (x model) fit() (*survival.ReplyFit, error) { return x.Fit(endpoint.ReplyUnits(x.rows)) }

// fitNear is fit beside a fit of the headline to the same rows.
func (x model) fitNear(near *survival.ReplyFit) (*survival.ReplyFit, error) {
	if near == nil || x.Sharp {
		return x.fit()
	}
	return x.FitNear(endpoint.ReplyUnits(x.rows), near)
}

// subjects counts who varies.
func (x model) subjects() int {
	seen := map[string]bool{}
	for _, r := range x.rows {
		seen[r.Subject] = true
	}
	return len(seen)
}

// headline estimates the part under its model; nil where fewer than three subjects replied past age 0.
func (m *maker) headline(x model) (*Headline, error) {
	if x.subjects() < 3 {
		return nil, nil
	}
	fit, err := x.fit()
	if err != nil {
		return nil, err
	}
	if m.fitted == nil {
		m.fitted = fit
	}
	h := &Headline{Method: "replies", Early: x.early, Slips: x.Slips, LeftOut: x.leftOut, Units: fit.Units, Replies: fit.Replies, LogLik: fit.LogLik}
	if x.early {
		h.Method = "lognormal"
	} else {
		h.ReplySD = Of(fit.Tau)
	}
	n := float64(fit.Subjects)
	if fit.Kind == survival.ReplyInterior {
		h.LogMedian, h.LogSD = Of(fit.Coef[0]), Of(fit.Sigma*math.Sqrt(n/(n-1)))
	}
	if fit.Apart {
		h.TasterSD, h.GlassSD = Of(fit.SubjectSD), Of(fit.UnitSD)
	}
	ps := []float64{0.5, 0.25, 0.1}
	if m.in.Brief {
		ps = []float64{0.5, 0.1}
	}
	if h.Quantiles, err = m.modelQuantiles(fit, ps...); err != nil {
		return nil, err
	}
	h.Status = h.Quantiles[0].Status
	if q, ok := h.Quantile(0.1); ok && q.From.Finite() {
		h.Below = m.below(q.From.Float())
	}
	if m.in.Brief {
		return h, nil
	}
	return h, m.modelShares(h, fit)
}

// modelQuantiles are those of the shares asked for that the panel allows: half always.
func (m *maker) modelQuantiles(fit *survival.ReplyFit, ps ...float64) ([]Quantile, error) {
	return m.quantilesBy(m.modelQuantile, fit, ps)
}

func (m *maker) quantilesBy(quantile func(*survival.ReplyFit, float64) (Quantile, error), fit *survival.ReplyFit, ps []float64) ([]Quantile, error) {
	var out []Quantile
	for _, p := range ps {
		if p == 0.25 && fit.Subjects < quarterFrom || p == 0.1 && (fit.Subjects < tenthFrom || m.of != "taster") {
			continue
		}
		q, err := quantile(fit, p)
		if err != nil {
			return nil, err
		}
		out = append(out, q)
	}
	return out, nil
}

// modelQuantile turns an estimate into ages. One past the last age tasted is not seen, nor, where nobody accepted it fresh, is
// one before the first: it is only said to lie there.
func (m *maker) modelQuantile(fit *survival.ReplyFit, p float64) (Quantile, error) {
	e, err := fit.Quantile(nil, p)
	if err != nil {
		return Quantile{}, err
	}
	return m.seen(fit, p, e), nil
}

// modelEstimate is modelQuantile without limits.
func (m *maker) modelEstimate(fit *survival.ReplyFit, p float64) (Quantile, error) {
	e, err := fit.Estimate(nil, p)
	if err != nil {
		return Quantile{}, err
	}
	q := m.seen(fit, p, e)
	q.Lower, q.Upper, q.Level = Num{}, Num{}, 0
	return q, nil
}

// farthest is how many times the last age tasted an upper limit may be to be printed; past that it is open.
const farthest = 4

// seen tells an estimate from what lies before or past all ages.
func (m *maker) seen(fit *survival.ReplyFit, p float64, e survival.ReplyEstimate) Quantile {
	q := Quantile{P: p, From: Of(e.From), To: Of(e.To), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: e.Level, Status: OK}
	first, fresh := m.firstLook()
	last := m.lastLook()
	const tie = 1e-9             // all limits about the very age: rounding does not decide, but whether more of them go on past it
	if e.Upper > farthest*last { // an end so far past all ages is the curve's, not the panel's
		q.Upper = Of(math.Inf(1))
	}
	q.Beyond = e.From > last*(1+tie) || e.From > last*(1-tie) && fit.OfReplies(nil, last) > 1-p
	q.Before = e.To < first*(1-tie) && !fresh
	switch {
	case !fit.Converged:
		q.Status = NotConverged
	case divided(fit): // some limits lie before all ages, the others past them: no age between is likelier than another
		q.Status, q.Beyond, q.Before, q.From, q.To = NotEnough, false, false, Num{}, Num{}
	case fit.Kind == survival.ReplyAllReject && fresh:
		q.From, q.To = Of(0), Of(first)
	case q.Beyond:
		q.Status, q.From, q.To = BeyondLastAge, Of(last), Of(math.Inf(1))
	case q.Before:
		q.Status, q.From, q.To = BeforeFirstAge, Of(0), Of(first)
	}
	return q
}

// divided tells that the likelihood rises without end as limits spread apart: only shares that were seen can be told.
func divided(fit *survival.ReplyFit) bool {
	return fit.Kind == survival.ReplyDivided || fit.Kind == survival.ReplySeparated
}

// lastLook is the oldest age at which anyone replied.
func (m *maker) lastLook() float64 {
	last := 0.0
	for _, g := range m.r.Glasses {
		last = max(last, g.Replies[len(g.Replies)-1].AgeMin)
	}
	return last
}

// below names the tasters who had surely reached their limit by an age.
func (m *maker) below(age float64) []string {
	var out []string
	for _, u := range m.units {
		if u.all.R <= age {
			out = append(out, m.in.name(u.taster))
		}
	}
	return out
}

// modelShares gives the share going on at every age step past 0; none where limits cannot be told.
func (m *maker) modelShares(h *Headline, fit *survival.ReplyFit) error {
	if divided(fit) {
		return nil
	}
	for _, step := range m.r.Steps {
		age := panel.Minutes(step.Mean)
		if age <= 0 || !m.repliedAt(age) {
			continue
		}
		e, err := fit.Share(nil, age)
		if err != nil {
			return err
		}
		if e.From != e.To {
			continue // on a plateau no one number is likelier than the others
		}
		h.Shares = append(h.Shares, ModelShare{AgeMin: age, Share: e.From, Lower: e.Lower, Upper: e.Upper, Level: e.Level, OfReplies: fit.OfReplies(nil, age)})
	}
	return nil
}

func (m *maker) repliedAt(step float64) bool {
	return slices.ContainsFunc(m.r.Glasses, func(g endpoint.Glass) bool {
		return slices.ContainsFunc(g.Replies, func(y endpoint.Reply) bool { return y.StepMin == step })
	})
}
