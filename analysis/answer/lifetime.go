package answer

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// sideBySideEnough is the number of tasters from which side by side speaks in the sentence, since memory biases the other.
const sideBySideEnough = 5

// NewLifetime answers: how long is this drink good enough to go on with? One part per mode; the one that the sentence
// rests on comes first.
func NewLifetime(in Input, d endpoint.Drink) (*Lifetime, error) {
	out := &Lifetime{Head: in.head("lifetime", d), Basis: string(endpoint.BasisOf(in.Panel, d.Style))}
	out.Method = "Turnbull's estimate without a family for replies about one glass tasted again and again, the isotonic share for glasses seen once; exact limits: Clopper-Pearson for shares, order statistics of the binomial test for ages, each taster counted once."
	out.Source = "Turnbull 1976, J. R. Statist. Soc. B 38, 290; Ayer et al. 1955, Ann. Math. Statist. 26, 641; Clopper & Pearson 1934, Biometrika 26, 404; readings of wavering replies after Hough et al. 2003, J. Food Sci. 68, 359."
	out.Settings = in.settings(d, "unclear", "reject_limit", "overall", "verdict words", "improves_first")
	if out.Basis == "" {
		out.Status = NotAsked
		out.Sentences = []string{"Nobody was asked whether they would go on with it, and no overall score with a reject limit stands in: the lifetime is not answered."}
		out.Rows = []Row{out.statusRow("q50", "turnbull", "", NotAsked, "min")}
		return out, nil
	}
	var left [][]panel.LeftOut
	used := 0
	for _, mode := range endpoint.Modes(in.Panel, d) {
		replies, err := endpoint.RepliesOf(in.Panel, d, mode)
		if err != nil {
			return nil, fmt.Errorf("lifetime of %s: %w", title(d), err)
		}
		part, err := in.lifetimePart(replies)
		if err != nil {
			return nil, fmt.Errorf("lifetime of %s, %s: %w", title(d), mode, err)
		}
		out.Parts = append(out.Parts, part)
		left = append(left, replies.LeftOut)
		used += replies.Rows
	}
	slices.SortStableFunc(out.Parts, func(a, b LifetimePart) int { return cmp.Compare(rank(a), rank(b)) })
	out.Counts.RowsUsed = used
	out.Counts.LeftOut = leftOut(left...)
	if len(out.Parts) > 0 {
		out.Status = out.Parts[0].Status
	}
	out.say()
	out.warn(in)
	out.cannotSay(in, d)
	out.nextEvening(in, d)
	out.tabulate()
	if err := out.withoutAware(in, d); err != nil {
		return nil, err
	}
	return out, nil
}

// withoutAware sets the answer beside the one without those tastes whose taster made or knew the drink, where there are any.
func (a *Lifetime) withoutAware(in Input, d endpoint.Drink) error {
	blind := *in.Panel
	blind.Tastes = slices.DeleteFunc(slices.Clone(in.Panel.Tastes), func(t panel.Taste) bool {
		p := in.Panel.Pours[t.Pour]
		return t.Aware && p.Style == d.Style && p.Serve == d.Serve
	})
	n := len(in.Panel.Tastes) - len(blind.Tastes)
	if n == 0 {
		return nil
	}
	in.Panel = &blind
	if endpoint.BasisOf(in.Panel, d.Style) != endpoint.Basis(a.Basis) {
		return nil // every reply came from someone who knew
	}
	for i := range a.Parts {
		replies, err := endpoint.RepliesOf(in.Panel, d, modeOf(a.Parts[i].Mode))
		if errors.Is(err, dataerr.ErrTooFew) {
			continue // everyone in this mode knew the drink
		}
		if err != nil {
			return err
		}
		part, err := in.lifetimePart(replies)
		if err != nil {
			return err
		}
		if i == 0 {
			a.Sentences = append(a.Sentences, fmt.Sprintf("Without the %s by those who made or knew the drink: %s", Count(n, "taste"), lowerFirst(part.halfWords(""))))
		}
		for _, q := range part.Quantiles {
			for _, r := range a.quantileRows(&part, q, part.variant()+"+without_aware") {
				r.Tasters, r.Tastes = part.Units, replies.Rows
				a.Rows = append(a.Rows, r)
			}
		}
	}
	return nil
}

func modeOf(name string) panel.Mode {
	if name == panel.SideBySide.String() {
		return panel.SideBySide
	}
	return panel.SipThrough
}

// rank puts side by side first where it has enough tasters, else last.
func rank(p LifetimePart) int {
	switch {
	case p.Mode != panel.SideBySide.String():
		return 1
	case p.Units >= sideBySideEnough && p.Unit == "taster":
		return 0
	}
	return 2
}

// unit is one row that the exact limits count.
type unit struct {
	taster, session, pour string
	all                   endpoint.Limit // at actual ages, default reading
	steps                 endpoint.Limit // on age steps
	never                 bool
}

func (in Input) lifetimePart(r *endpoint.Replies) (LifetimePart, error) {
	reading := endpoint.Reading(in.Panel.Settings.Unclear)
	if reading == "" {
		reading = endpoint.EitherSide
	}
	p := LifetimePart{Mode: r.Mode.String(), Unit: "taster", Method: "turnbull"}
	if r.Mode == panel.SideBySide {
		p.Method = "isotonic"
	}
	for _, g := range r.Glasses {
		l := reading.Limit(g.Replies)
		if l.Reversed {
			p.Unclear++
		}
		if l.Never && !slices.Contains(p.NeverTook, in.name(g.Taster)) {
			p.NeverTook = append(p.NeverTook, in.name(g.Taster))
		}
		p.Early += l.Early
		if l.Early > 0 {
			p.BeganWithNo++
			if !slices.Contains(p.EarlyBy, in.name(g.Taster)) {
				p.EarlyBy = append(p.EarlyBy, in.name(g.Taster))
			}
		}
	}
	p.Glasses = len(r.Glasses)
	units := in.units(r, reading, &p)
	p.Units = len(units)
	if len(units) == 0 {
		p.Status = NotEnough
		for _, g := range r.Glasses {
			if reading.Limit(g.Replies).BeforeFirst {
				p.Status = BeforeFirstAge
			}
		}
		return p, nil
	}
	p.AgeIsBatch = in.ageIsBatch(r)
	curve, err := fitCurve(r, reading)
	if err != nil {
		return p, err
	}
	p.Curve = curveData(curve)
	p.Status = OK
	if !curve.Converged {
		p.Status = NotConverged
	}
	p.Intervals = in.intervals(r, reading, units)
	if len(units) < 3 {
		p.Status = NotEnough
		return p, nil
	}
	if p.Shares, err = shares(r, units, curve, p.Unit); err != nil {
		return p, err
	}
	if p.Quantiles, err = quantiles(curve, rowsOf(units)); err != nil {
		return p, err
	}
	if p.Status == OK {
		p.Status = p.median().Status
	}
	if r.Mode == panel.SipThrough {
		if p.Readings, err = in.readings(r, reading, p.Unit); err != nil {
			return p, err
		}
	}
	p.WithoutNever, err = withoutNever(r, units, reading)
	return p, err
}

// units makes the rows of the exact limits: one per taster (the glass made first), or one per pour of a single taster.
func (in Input) units(r *endpoint.Replies, reading endpoint.Reading, p *LifetimePart) []unit {
	tasters := map[string]bool{}
	for _, g := range r.Glasses {
		tasters[g.Taster] = true
	}
	glasses := r.Glasses
	if len(tasters) == 1 {
		p.Unit = "pour"
		glasses = eachPour(r)
	}
	var out []unit
	seen := map[string]bool{}
	for _, g := range glasses {
		u := unit{taster: g.Taster, session: g.Session, pour: g.Pour, all: reading.Limit(g.Replies)}
		if !u.all.Known || (p.Unit == "taster" && seen[g.Taster]) {
			continue
		}
		seen[g.Taster] = true
		u.steps = reading.Limit(g.OnSteps())
		u.never = u.all.Never
		out = append(out, u)
	}
	return out
}

// eachPour splits side by side replies of one taster into one row per pour; in sip-through every glass is one already.
func eachPour(r *endpoint.Replies) []endpoint.Glass {
	if r.Mode == panel.SipThrough {
		return r.Glasses
	}
	var out []endpoint.Glass
	for _, g := range r.Glasses {
		for _, y := range g.Replies {
			one := g
			one.Replies = []endpoint.Reply{y}
			out = append(out, one)
		}
	}
	return out
}

func rowsOf(units []unit) []survival.Interval {
	out := make([]survival.Interval, len(units))
	for i, u := range units {
		out[i] = u.all.Interval
	}
	return out
}

// fitCurve uses every row: all glasses of all tasters.
func fitCurve(r *endpoint.Replies, reading endpoint.Reading) (*survival.Curve, error) {
	if r.Mode == panel.SideBySide {
		return survival.Isotonic{}.Fit(positive(r.StatusRows()))
	}
	var rows []survival.Interval
	for _, g := range r.Glasses {
		if l := reading.Limit(g.Replies); l.Known {
			rows = append(rows, l.Interval)
		}
	}
	return survival.NPMLE{}.Fit(rows)
}

// positive drops looks at age 0, which say nothing about a limit that comes later.
func positive(rows []survival.Status) []survival.Status {
	return slices.DeleteFunc(rows, func(s survival.Status) bool { return s.Time <= 0 && s.Over })
}

func curveData(c *survival.Curve) Curve {
	out := Curve{LogLik: c.LogLik, Gap: c.Gap, Rows: c.Rows}
	mass := c.Mass()
	for i, s := range c.Sets() {
		out.Sets = append(out.Sets, Set{L: Of(s.L), R: Of(s.R), Mass: mass[i]})
	}
	return out
}

// intervals lists every glass that tells something; side by side, and for the pours of one taster, these are the units.
func (in Input) intervals(r *endpoint.Replies, reading endpoint.Reading, units []unit) []Interval {
	var out []Interval
	for _, u := range units {
		out = append(out, in.interval(u.taster, u.session, u.pour, u.all, true))
	}
	if r.Mode == panel.SideBySide {
		return out
	}
	for _, g := range r.Glasses {
		l := reading.Limit(g.Replies)
		counted := slices.ContainsFunc(units, func(u unit) bool { return u.taster == g.Taster && u.session == g.Session && u.pour == g.Pour })
		if l.Known && !counted {
			out = append(out, in.interval(g.Taster, g.Session, g.Pour, l, false))
		}
	}
	return out
}

func (in Input) interval(taster, session, pour string, l endpoint.Limit, counted bool) Interval {
	return Interval{Taster: in.name(taster), Session: session, Pour: pour, L: Of(l.L), R: Of(l.R), Counted: counted}
}

// counted lists the intervals that the exact limits count.
func (p *LifetimePart) counted() []Interval {
	return slices.DeleteFunc(slices.Clone(p.Intervals), func(iv Interval) bool { return !iv.Counted })
}

// shares counts, at every age step past 0, who would still go on.
func shares(r *endpoint.Replies, units []unit, curve *survival.Curve, of string) ([]Share, error) {
	var out []Share
	for _, step := range r.Steps {
		age := panel.Minutes(step.Mean)
		if age <= 0 {
			continue
		}
		rows := stepRows(r, units, age, of)
		if len(rows) == 0 {
			continue
		}
		lim, err := survival.ExactShare(rows, age, Level)
		if err != nil {
			return nil, err
		}
		s := Share{AgeMin: age, Lower: lim.Lower, Upper: lim.Upper, Level: lim.Level, Units: len(rows)}
		s.EstLo, s.EstHi = curve.At(age)
		s.No = rejectionsAt(r, units, age)
		for _, x := range rows {
			if x.R > age {
				s.Possible++
				if x.L >= age {
					s.Going++
				}
			}
		}
		out = append(out, s)
	}
	return out, nil
}

// rejectionsAt counts the units with a rejection at an age step, whatever came before or after it.
func rejectionsAt(r *endpoint.Replies, units []unit, age float64) int {
	n := 0
	for _, g := range r.Glasses {
		counted := slices.ContainsFunc(units, func(u unit) bool { return u.taster == g.Taster && u.session == g.Session && u.pour == g.Pour })
		if counted && slices.ContainsFunc(g.Replies, func(y endpoint.Reply) bool { return y.StepMin == age && y.Reject }) {
			n++
		}
	}
	return n
}

// ageIsBatch tells whether, side by side, every age step came from one batch and no batch served two.
func (in Input) ageIsBatch(r *endpoint.Replies) bool {
	if r.Mode != panel.SideBySide || len(r.Steps) < 2 {
		return false
	}
	var rows []panel.Taste
	for _, t := range in.tastesOf(r.Drink) {
		if t.Mode == r.Mode {
			rows = append(rows, t)
		}
	}
	_, of := panel.AgeSteps(rows)
	batchOf, stepOf := map[int]string{}, map[string]int{}
	for i, t := range rows {
		batch := in.Panel.Pours[t.Pour].Batch
		if batch == "" {
			return false
		}
		batch = t.Session + "/" + batch
		if b, ok := batchOf[of[i]]; ok && b != batch {
			return false
		}
		if s, ok := stepOf[batch]; ok && s != of[i] {
			return false
		}
		batchOf[of[i]], stepOf[batch] = batch, of[i]
	}
	return true
}

// stepRows are the rows that a share at one age step counts: every unit in sip-through, side by side the first glass of
// that step of each unit.
func stepRows(r *endpoint.Replies, units []unit, age float64, of string) []survival.Interval {
	var rows []survival.Interval
	if r.Mode == panel.SipThrough {
		for _, u := range units {
			if u.steps.Known {
				rows = append(rows, u.steps.Interval)
			}
		}
		return rows
	}
	for _, g := range r.Glasses {
		for _, y := range g.Replies {
			if y.StepMin == age {
				rows = append(rows, survival.Status{Time: age, Over: y.Reject}.Interval())
				if of == "taster" {
					break
				}
			}
		}
	}
	return rows
}

// quantiles gives the median from three rows up, a quarter from six, one in ten from eight.
func quantiles(curve *survival.Curve, rows []survival.Interval) ([]Quantile, error) {
	var out []Quantile
	for _, q := range []struct {
		p    float64
		from int
	}{{0.5, 3}, {0.25, 6}, {0.1, 8}} {
		if len(rows) < q.from {
			continue
		}
		x, err := quantile(curve, rows, q.p)
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}

func quantile(curve *survival.Curve, rows []survival.Interval, p float64) (Quantile, error) {
	lim, err := survival.ExactQuantile(rows, p, Level)
	if err != nil {
		return Quantile{}, err
	}
	lo, hi := curve.Quantile(p)
	q := Quantile{P: p, From: Of(lo), To: Of(hi), Lower: Of(lim.Lower), Upper: Of(lim.Upper), Level: lim.Level, Status: OK}
	switch {
	case !lim.Reached:
		q.Status = NotEnough
	case math.IsInf(hi, 1) && lo >= lastLook(curve):
		q.Status = BeyondLastAge
	case lo == 0:
		q.Status = BeforeFirstAge
	}
	return q, nil
}

// lastLook is where the curve ends without having come down: the left end of its open set, else +Inf.
func lastLook(c *survival.Curve) float64 {
	sets := c.Sets()
	if last := sets[len(sets)-1]; math.IsInf(last.R, 1) {
		return last.L
	}
	return math.Inf(1)
}

func (p *LifetimePart) median() Quantile { return p.Quantiles[0] }

// readings gives the median under each reading, the one in force first.
func (in Input) readings(r *endpoint.Replies, inForce endpoint.Reading, of string) ([]Reading, error) {
	names := append([]endpoint.Reading{inForce}, slices.DeleteFunc(slices.Clone(endpoint.Readings), func(x endpoint.Reading) bool { return x == inForce })...)
	var out []Reading
	for _, name := range names {
		curve, err := fitCurve(r, name)
		if err != nil {
			return nil, err
		}
		scratch := LifetimePart{Unit: of}
		q, err := quantile(curve, rowsOf(in.units(r, name, &scratch)), 0.5)
		if err != nil {
			return nil, err
		}
		out = append(out, Reading{Name: string(name), Median: q})
	}
	return out, nil
}

// withoutNever is the median without the tasters who never accepted, where there are any and three others remain.
func withoutNever(r *endpoint.Replies, units []unit, reading endpoint.Reading) (*Quantile, error) {
	kept := slices.DeleteFunc(slices.Clone(units), func(u unit) bool { return u.never })
	if len(kept) == len(units) || len(kept) < 3 {
		return nil, nil
	}
	some := *r
	some.Glasses = slices.DeleteFunc(slices.Clone(r.Glasses), func(g endpoint.Glass) bool { return reading.Limit(g.Replies).Never })
	curve, err := fitCurve(&some, reading)
	if err != nil {
		return nil, err
	}
	q, err := quantile(curve, rowsOf(kept), 0.5)
	return &q, err
}
