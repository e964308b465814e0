package answer

import (
	"errors"
	"fmt"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// maker computes one mode of a lifetime.
type maker struct {
	in      Input
	r       *endpoint.Replies
	reading endpoint.Reading
	of      string // "taster" or "pour": what the exact limits count
	units   []unit
	fitted  *survival.ReplyFit // the headline's

	accepting map[string]bool    // tasters who accepted a glass
	asked     map[string]int     // replies of each taster
	counted   map[glassName]bool // glasses that the exact limits count
}

// glassName tells glasses apart.
type glassName struct{ taster, session, pour string }

// unit is one row that the exact limits count.
type unit struct {
	taster, session, pour string
	all                   endpoint.Limit // at actual ages
	steps                 endpoint.Limit // on age steps
	never                 bool           // the taster accepted no glass of it, ever
}

// readingOf is the reading in force: the descriptor's for glasses tasted again and again, always either side for glasses seen
// once, where each verdict is on another glass.
func (in Input) readingOf(mode panel.Mode) endpoint.Reading {
	if reading := endpoint.Reading(in.Panel.Settings.Unclear); reading != "" && mode == panel.SipThrough {
		return reading
	}
	return endpoint.EitherSide
}

func (in Input) lifetimePart(r *endpoint.Replies) (LifetimePart, error) {
	m, p := in.part(r)
	if len(m.units) == 0 {
		return p, nil
	}
	return p, m.estimate(&p)
}

// part counts and describes the replies of one mode; nothing is estimated.
func (in Input) part(r *endpoint.Replies) (*maker, LifetimePart) {
	m := &maker{in: in, r: r, reading: in.readingOf(r.Mode), of: "taster"}
	if len(tastersOf(r.Glasses)) == 1 {
		m.of = "pour"
	}
	m.accepting, m.asked = map[string]bool{}, map[string]int{}
	for _, g := range r.Glasses {
		m.asked[g.Taster] += len(g.Replies)
		if slices.ContainsFunc(g.Replies, func(y endpoint.Reply) bool { return !y.Reject }) {
			m.accepting[g.Taster] = true
		}
	}
	m.units = m.unitsUnder(m.reading)
	m.counted = map[glassName]bool{}
	for _, u := range m.units {
		m.counted[glassName{u.taster, u.session, u.pour}] = true
	}
	p := LifetimePart{Mode: r.Mode.String(), Unit: m.of, Units: len(m.units), Method: "turnbull", Counts: m.counts(m.r.Glasses), AgeIsBatch: in.ageIsBatch(r)}
	if r.Mode == panel.SideBySide {
		p.Method = "isotonic"
	}
	m.describe(&p)
	if len(m.units) == 0 {
		p.Status = NotEnough
		if len(p.RejectedFresh) > 0 {
			p.Status = BeforeFirstAge
		}
	}
	return m, p
}

func tastersOf(glasses []endpoint.Glass) []string {
	var out []string
	seen := map[string]bool{}
	for _, g := range glasses {
		if !seen[g.Taster] {
			seen[g.Taster] = true
			out = append(out, g.Taster)
		}
	}
	return out
}

// counts are those of some glasses of this mode alone.
func (m *maker) counts(glasses []endpoint.Glass) Counts {
	whose := map[string]bool{}
	for _, g := range glasses {
		whose[g.Taster] = true
	}
	var rows []panel.Taste
	for _, t := range m.in.tastesOf(m.r.Drink) {
		if t.Mode == m.r.Mode && whose[t.Taster] {
			rows = append(rows, t)
		}
	}
	c := m.in.counts(rows)
	c.RowsUsed = 0
	for _, g := range glasses {
		c.RowsUsed += len(g.Replies)
	}
	c.LeftOut = leftOut(m.r.LeftOut)
	return c
}

// describe tells how tasters replied: who wavered, who began with a no, who never accepted.
func (m *maker) describe(p *LifetimePart) {
	units := map[string]bool{}
	for _, u := range m.units {
		units[u.taster] = true
	}
	last := map[*[]string]string{} // glasses come taster by taster
	add := func(list *[]string, taster string) {
		if last[list] != taster || len(*list) == 0 {
			last[list] = taster
			*list = append(*list, m.in.name(taster))
		}
	}
	p.Glasses = len(m.r.Glasses)
	p.Replying = len(tastersOf(m.r.Glasses))
	for _, g := range m.r.Glasses {
		l := m.reading.Limit(g.Replies)
		if l.Reversed {
			p.Unclear++
			add(&p.UnclearBy, g.Taster)
		}
		if p.Early += l.Early; l.Early > 0 {
			add(&p.EarlyBy, g.Taster)
		}
		switch {
		case m.of != "taster" || m.accepting[g.Taster]:
		case !units[g.Taster]:
			add(&p.RejectedFresh, g.Taster)
		case m.never(g.Taster):
			add(&p.NeverTook, g.Taster)
		}
	}
}

// never tells whether a taster accepted no glass at all. One no is no habit: who was asked once is not said never to accept.
func (m *maker) never(taster string) bool { return !m.accepting[taster] && m.asked[taster] > 1 }

func (m *maker) estimate(p *LifetimePart) error {
	if err := m.withoutFamily(p); err != nil || len(m.units) < 3 {
		return err
	}
	if err := errors.Join(m.estimateModel(p), m.band(p)); err != nil {
		return err
	}
	if p.Status == OK {
		p.Status = p.half().Status
	}
	return m.withoutNever(p)
}

// withoutFamily adds the curve without a family, and from three units up shares and quantiles with exact limits.
func (m *maker) withoutFamily(p *LifetimePart) error {
	curve, err := m.fit(m.reading, m.r.Glasses)
	if err != nil {
		return err
	}
	p.Curve = curveData(curve)
	if last := m.lastLook(); last > 0 {
		mean, err := curve.MeanTo(last)
		if err != nil {
			return err
		}
		p.Curve.MeanFrom, p.Curve.MeanTo, p.Curve.Horizon = Of(mean.Lower), Of(mean.Upper), last
	}
	p.Status = OK
	if !curve.Converged {
		p.Status = NotConverged
	}
	p.Intervals, p.Whole = m.intervals()
	if len(m.units) < 3 {
		p.Status = NotEnough
		return nil
	}
	if p.Shares, err = m.shares(curve); err != nil {
		return err
	}
	for _, q := range []struct { // a quarter from six rows up, one in ten from eight
		p    float64
		from int
	}{{0.5, 3}, {0.25, 6}, {0.1, 8}} {
		if len(m.units) < q.from {
			continue
		}
		x, err := m.quantile(curve, m.units, q.p)
		if err != nil {
			return err
		}
		p.Quantiles = append(p.Quantiles, x)
	}
	if m.r.Mode == panel.SipThrough {
		p.Readings, err = m.readings()
	}
	return err
}

// estimateModel adds the headline and how it moves with our choices.
func (m *maker) estimateModel(p *LifetimePart) (err error) {
	x := m.headlineModel()
	if p.Headline, err = m.headline(x); err != nil || p.Headline == nil {
		return err
	}
	if m.in.Brief {
		return m.sensitivity(p)
	}
	if !p.Counts.OwnBatch && p.Counts.Batches > 1 && !m.batchHoldsOneAge() {
		if p.Headline.Batches, err = m.groups(x, m.batchName, batchesFrom); err != nil {
			return err
		}
	}
	if p.Counts.Evenings > 1 {
		evening := func(y endpoint.Reply) string { return y.Session }
		if p.Headline.Evenings, err = m.groups(x, evening, eveningsFrom); err != nil {
			return err
		}
	}
	return m.sensitivity(p)
}

// batchHoldsOneAge tells whether side by side a batch was tasted at one age step alone: it then has no half of its own.
func (m *maker) batchHoldsOneAge() bool {
	if m.r.Mode != panel.SideBySide {
		return false
	}
	ages := map[string]map[float64]bool{}
	for _, g := range m.r.Glasses {
		for _, y := range g.Replies {
			if y.AgeMin <= 0 {
				continue
			}
			name := m.batchName(y)
			if ages[name] == nil {
				ages[name] = map[float64]bool{}
			}
			ages[name][y.StepMin] = true
		}
	}
	for _, a := range ages {
		if len(a) < 2 {
			return true
		}
	}
	return false
}

// batchName names the batch of a reply, with its evening where there are several.
func (m *maker) batchName(y endpoint.Reply) string {
	if y.Batch == "" || len(m.in.sessionsOf(m.r.Drink)) < 2 {
		return y.Batch
	}
	return y.Session + ", " + y.Batch
}

// unitsUnder makes the rows of the exact limits under a reading: one per taster (the glass made first), or one per
// independently made pour of a single taster (the first of each batch, where batches are known).
func (m *maker) unitsUnder(reading endpoint.Reading) []unit {
	var out []unit
	seen := map[string]bool{}
	for _, g := range m.r.Units() {
		u := unit{taster: g.Taster, session: g.Session, pour: g.Pour, all: reading.Limit(g.Replies), never: m.of == "taster" && m.never(g.Taster)}
		key := "taster " + g.Taster
		if m.of == "pour" {
			key = fmt.Sprintf("batch %q of %q", g.Batch, g.Session)
			if g.Batch == "" {
				key = fmt.Sprintf("pour %q of %q", g.Pour, g.Session)
			}
		}
		if !u.all.Known || seen[key] {
			continue
		}
		seen[key] = true
		u.steps = reading.Limit(g.OnSteps())
		out = append(out, u)
	}
	return out
}

// fit uses every row of the glasses given: all glasses of all tasters.
func (m *maker) fit(reading endpoint.Reading, glasses []endpoint.Glass) (*survival.Curve, error) {
	if m.r.Mode == panel.SideBySide {
		some := *m.r
		some.Glasses = glasses
		return survival.Isotonic{}.Fit(some.StatusRows())
	}
	var rows []survival.Interval
	for _, g := range glasses {
		if l := reading.Limit(g.Replies); l.Known {
			rows = append(rows, l.Interval)
		}
	}
	return survival.NPMLE{}.Fit(rows)
}

func curveData(c *survival.Curve) Curve {
	out := Curve{LogLik: c.LogLik, Gap: c.Gap, Rows: c.Rows}
	mass := c.Mass()
	for i, s := range c.Sets() {
		out.Sets = append(out.Sets, Set{L: Of(s.L), R: Of(s.R), Mass: mass[i]})
	}
	return out
}
