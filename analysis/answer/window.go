package answer

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/mixed"
	"lastsip/analysis/panel"
)

// Statistics of a prime window, and how far the limit is moved.
const (
	windowDraws = 999
	limitShift  = 1.0 // points
	nearFresh   = 0.5 // points: fresh less than this above the limit, and the drop since fresh is printed too
)

// NewPrimeWindow answers: when is it at its best? The window is the run of ages, holding the maximum, at which an average
// taster's expected overall score is at or above the prime limit, by a mixed model with a natural cubic spline in age (below
// five age steps one mean per step, joined by lines), random intercept and slope of tasters. Limits of its ends invert the
// pointwise t band of the curve and may be open.
func NewPrimeWindow(in Input, d endpoint.Drink) (*PrimeWindow, error) {
	out := &PrimeWindow{Head: in.head("prime_window", d)}
	out.Method = "Expected overall score of an average taster by age: linear mixed model by restricted maximum likelihood, natural cubic spline in age with 3 degrees of freedom (4 from 20 tasters), below five age steps one mean per step joined by lines; random intercept and slope of tasters; " +
		"evenings, batches and modes as they were below five of them (the curve is their mean), random from five up. The window is the run at or above the prime limit that holds the maximum; limits of its ends invert the pointwise 95 % t band. At least until: the end of the lower limit's own run (one-sided 97.5 %)."
	out.Source = "Bates et al. 2015, J. Stat. Softw. 67(1); Kenward & Roger 1997, Biometrics 53, 983 (degrees of freedom; Satterthwaite 1946 above 5,000 rows); Hastie 1992 (natural splines)"
	out.Settings = in.settings(d, "overall", "prime_limit", "prime_drop", "improves_first", "scale of")
	s, why := in.scoreRowsOf(d, nil)
	if why == "" && !in.Panel.Settings.HasLimits {
		why = "the scale of " + s.attribute.Name + " is not known, so there is no prime limit (give low and high in datapackage.json)"
	}
	if why != "" {
		out.unanswered(NotAsked, why)
		return out, nil
	}
	out.raw(in, s)
	if why := s.enough(); why != "" {
		out.unanswered(NotEnough, why)
		return out, nil
	}
	m, err := newWindowMaker(in, d, s)
	if err != nil {
		why := err.Error()
		if !errors.Is(err, errApart) {
			why = "these scores are too few, or without any scatter, so that no curve can be fitted to them"
			out.Warnings = append(out.Warnings, "The model of the scores was refused: "+err.Error()+".")
		}
		out.unanswered(NotEnough, why)
		return out, nil
	}
	if err := m.fill(out); err != nil {
		return nil, fmt.Errorf("the prime window of %s: %w", title(d), err)
	}
	out.say(in, s)
	out.tabulate(s)
	return out, nil
}

// raw carries over what was scored.
func (a *PrimeWindow) raw(in Input, s *scoreRows) {
	t := s.attribute
	a.Attribute, a.Better, a.Ranged, a.Low, a.High = t.Name, t.Better.String(), t.Ranged, t.Low, t.High
	a.Limit = Of(in.Panel.Settings.PrimeLimit)
	a.Unit, a.Units = s.unit, s.units
	per := make([]map[string][]float64, len(s.steps))
	for _, r := range s.rows {
		v := r.score * s.sign
		a.Points = append(a.Points, ScorePoint{Taster: in.name(r.taster), AgeMin: r.age, Score: v})
		if per[r.step] == nil {
			per[r.step] = map[string][]float64{}
		}
		per[r.step][r.taster] = append(per[r.step][r.taster], v)
	}
	for i, m := range per {
		a.Steps = append(a.Steps, summarise(s.steps[i], m))
	}
	a.Counts = in.counts(s.tastes)
	a.Counts.RowsUsed = len(s.rows)
	if s.missing > 0 {
		a.Counts.LeftOut = []LeftOut{{"no " + t.Name + " given", s.missing}}
	}
}

// windowMaker answers from one fitted curve.
type windowMaker struct {
	in    Input
	d     endpoint.Drink
	data  *scoreRows
	curve *scoreCurve
	band  band
	limit float64 // turned
}

// newWindowMaker fits the curve. Where tasters' slopes leave it no limits they are left out, and said.
func newWindowMaker(in Input, d endpoint.Drink, s *scoreRows) (*windowMaker, error) {
	model, err := newScoreModel(s)
	if err != nil {
		return nil, err
	}
	m := &windowMaker{in: in, d: d, data: s, limit: s.sign * in.Panel.Settings.PrimeLimit}
	if err = m.fit(model); err == nil || model.noSlope || errors.Is(err, errApart) || errors.Is(err, mixed.ErrExact) {
		return m, err
	}
	model.noSlope = true
	if m.fit(model) != nil {
		return nil, err
	}
	model.notes = append(model.notes, alikeNote)
	return m, nil
}

func (m *windowMaker) fit(model *scoreModel) (err error) {
	if m.curve, err = newScoreCurve(model); err == nil {
		m.band, err = bandOf(m.curve)
	}
	return err
}

// errUnlimited says that a curve has no limits.
var errUnlimited = errors.New("the limits of the curve lie beyond all numbers")

func bandOf(c *scoreCurve) (band, error) {
	grid, err := c.points()
	if err == nil && slices.ContainsFunc(grid, func(p CurvePoint) bool { return !finite(p.Mean, p.Lower, p.Upper) }) {
		err = errUnlimited
	}
	return band{grid: grid, at: c.at}, err
}

func (m *windowMaker) fill(out *PrimeWindow) error {
	fit, sign := m.curve.fit, m.data.sign
	out.Shape, out.Knots = m.curve.shape, m.curve.knots
	out.DF = m.curve.degrees.Method().String()
	out.Fixed, out.Singular = m.curve.model.fixed, m.curve.model.untold(fit)
	out.Warnings = append(out.Warnings, m.curve.model.notes...)
	if text := m.curve.model.leans(); text != "" {
		out.Warnings = append(out.Warnings, text)
	}
	if !fit.Converged() {
		out.Status = NotConverged
		out.Warnings = append(out.Warnings, "The fit of the scores did not settle ("+fit.Why()+"): take its numbers with care.")
	}
	for _, p := range m.band.grid {
		out.Curve = append(out.Curve, turned(p, sign))
	}
	out.Fresh = out.Curve[0]
	main, err := m.band.find(m.limit)
	if err != nil {
		return err
	}
	out.Main = turnedWindow(main, sign)
	if out.Status == OK {
		out.Status = main.Status
	}
	m.lines(out)
	m.spread(out)
	for i, r := range fit.Residuals() {
		out.Residuals = append(out.Residuals, Residual{Taster: m.in.name(m.data.rows[i].taster), AgeMin: m.data.rows[i].age,
			Fitted: sign * fit.Fitted()[i], Residual: sign * r})
	}
	if !m.in.Brief {
		out.Onset = m.onset()
	}
	return m.variants(out)
}

// turned gives a curve point in the scale's own direction.
func turned(p CurvePoint, sign float64) CurvePoint {
	if sign < 0 {
		p.Mean, p.Lower, p.Upper = -p.Mean, -p.Upper, -p.Lower
	}
	return p
}

func turnedWindow(w Window, sign float64) Window {
	w.Limit, w.Highest, w.Below = sign*w.Limit, sign*w.Highest, sign < 0
	return w
}

// lines are the tasters' own curves: the panel's, moved by their own intercept and slope as the model expects them.
func (m *windowMaker) lines(out *PrimeWindow) {
	if m.data.unit != "taster" {
		return
	}
	effects, err := m.curve.fit.Effects(unitColumn)
	if err != nil {
		return
	}
	at := map[string]int{}
	name := map[string]string{}
	for k, unit := range m.data.names(func(r *scoreRow) string { return r.unit }) {
		name[stepLevel(k)] = m.in.name(unit)
	}
	for _, e := range effects {
		k, ok := at[e.Level]
		if !ok {
			k = len(out.Lines)
			at[e.Level] = k
			line := TasterLine{Taster: name[e.Level]}
			for _, p := range out.Curve {
				line.Means = append(line.Means, p.Mean)
			}
			out.Lines = append(out.Lines, line)
		}
		for i, p := range out.Curve {
			by := 1.0
			if e.Column == ageColumn {
				by = p.AgeMin
			}
			out.Lines[k].Means[i] += m.data.sign * by * e.Value
		}
	}
	slices.SortFunc(out.Lines, func(a, b TasterLine) int { return cmp.Compare(a.Taster, b.Taster) })
}

// spread names the standard deviations of the model.
func (m *windowMaker) spread(out *PrimeWindow) {
	for _, c := range m.curve.fit.Components() {
		if c.Column2 != "" || math.IsNaN(c.SD) {
			continue
		}
		name, unit := map[string]string{unitColumn: m.data.unit + "s, at age 0", "evening": "evenings", "batch": "batches"}[c.Group], "points"
		switch {
		case c.Group == "" || name == "":
			name = "repeats"
		case c.Column == ageColumn:
			name, unit = m.data.unit+"s, per minute", "points per minute"
		}
		if !slices.ContainsFunc(out.Spread, func(x Component) bool { return x.Name == name }) {
			out.Spread = append(out.Spread, Component{Name: name, SD: c.SD, Unit: unit, Edge: c.SD == 0})
		}
	}
	if !slices.ContainsFunc(out.Spread, func(x Component) bool { return x.Name == "repeats" }) {
		out.Spread = append(out.Spread, Component{Name: "repeats", SD: m.curve.fit.Sigma(), Unit: "points"})
	}
}

// lastAge is the last age step.
func (s *scoreRows) lastAge() float64 { return s.steps[len(s.steps)-1] }

// notAware keeps the rows of tasters who did not know the drink.
func notAware(t panel.Taste) bool { return !t.Aware }
