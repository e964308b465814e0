package answer

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/multiplicity"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// From how many tasters on p-values are printed, and a score test of different tasters on different ages is adequate.
const (
	pFrom         = 6
	clusteredFrom = 30
	bothFrom      = 3 // tasters of both drinks, or of each where they differ
)

// NewDifferences answers, for every pair of drinks: which keeps longer, by how much, and how sure is that?
func NewDifferences(in Input) (*Differences, error) {
	out := &Differences{Head: Head{Question: "difference", Title: "differences between the drinks", Status: OK, AxisEnd: 2}}
	out.Method = "Time ratio from the paired reply model: each drink has its own half, one taster's limits for both hang together, spread and wavering are taken alike for both; limits at the small-panel cut, p-value from the likelihood ratio on Student's law. Beside it a score test of log-rank kind for intervals: " +
		"the drinks' labels exchanged within tasters where both were tasted on the same age steps, whole tasters exchanged where different tasters tasted on the same steps, from 30 tasters on large-sample limits over whole tasters. p-values after Holm over all pairs."
	out.Source = "profile limits: Venzon & Moolgavkar 1988, Appl. Statist. 37, 87; score tests: Sun 1996, Stat. Med. 15, 1387; Fay 1996, Biometrics 52, 811; Holm 1979, Scand. J. Statist. 6, 65"
	out.Settings = []Setting{{Name: "seed", Value: fmt.Sprint(in.Seed), Default: true}}
	drinks := in.Drinks()
	for _, d := range drinks {
		h := in.head("difference", d)
		out.Invented = out.Invented || h.Invented
		out.Counts.RowsUsed += h.Counts.RowsUsed
		out.Counts.Tasters = max(out.Counts.Tasters, h.Counts.Tasters)
		out.Counts.Pours += h.Counts.Pours
		out.Counts.Batches += h.Counts.Batches
	}
	var err error
	if out.Pairs, err = in.pairs(drinks); err != nil {
		return nil, err
	}
	if err := out.adjust(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(out.Pairs, func(x, y Pair) int { return cmp.Compare(y.strength(), x.strength()) })
	out.say(len(drinks))
	out.tabulate(in)
	return out, nil
}

// pairs compares every drink with every later one, on all cores.
func (in Input) pairs(drinks []endpoint.Drink) ([]Pair, error) {
	type two struct{ a, b endpoint.Drink }
	var all []two
	for i, a := range drinks {
		for _, b := range drinks[i+1:] {
			all = append(all, two{a, b})
		}
	}
	out, errs := make([]Pair, len(all)), make([]error, len(all))
	resample.Each(len(all), in.Seed, 0, func(i int, _ *rand.Rand) {
		if out[i], errs[i] = in.pair(all[i].a, all[i].b); errs[i] != nil {
			errs[i] = fmt.Errorf("%s and %s: %w", title(all[i].a), title(all[i].b), errs[i])
		}
	})
	return out, errors.Join(errs...)
}

// strength sorts pairs: the surest difference first, those not answered last.
func (p Pair) strength() float64 {
	if p.Status != OK && p.Status != NotConverged {
		return math.Inf(-1)
	}
	return math.Log(max(p.Ratio.Lower.Float(), 1e-300))
}

// pair compares two drinks in a mode in which both were tasted.
func (in Input) pair(a, b endpoint.Drink) (Pair, error) {
	p := Pair{A: title(a), B: title(b), Status: NotAsked}
	if endpoint.BasisOf(in.Panel, a.Style) == "" || endpoint.BasisOf(in.Panel, b.Style) == "" {
		p.Why = "nobody was asked whether they would go on with both"
		return p, nil
	}
	mode, some := in.commonMode(a, b)
	if !some {
		p.Why = "never tasted in the same mode, so the drink cannot be told from the way of tasting"
		return p, nil
	}
	p.Mode = mode.String()
	ra, err := endpoint.RepliesOf(in.Panel, a, mode)
	if err != nil {
		return p, err
	}
	rb, err := endpoint.RepliesOf(in.Panel, b, mode)
	if err != nil {
		return p, err
	}
	p.count(in, ra, rb)
	if p.Both < bothFrom && (len(tastersOf(ra.Glasses)) < bothFrom || len(tastersOf(rb.Glasses)) < bothFrom) {
		p.Status, p.Why = NotEnough, "fewer than three tasters of each"
		return p, nil
	}
	if err := p.ratio(in, ra, rb); err != nil || p.Status != OK {
		return p, err
	}
	return p, p.scoreTest(in, ra, rb)
}

// commonMode prefers side by side where five tasters had both so.
func (in Input) commonMode(a, b endpoint.Drink) (mode panel.Mode, some bool) {
	of := endpoint.Modes(in.Panel, b)
	for _, m := range endpoint.Modes(in.Panel, a) {
		if slices.Contains(of, m) {
			if some { // side by side came first
				if in.tastersIn(a, panel.SideBySide) >= sideBySideEnough && in.tastersIn(b, panel.SideBySide) >= sideBySideEnough {
					return panel.SideBySide, true
				}
				return panel.SipThrough, true
			}
			mode, some = m, true
		}
	}
	return mode, some
}

func (in Input) tastersIn(d endpoint.Drink, mode panel.Mode) int {
	seen := map[string]bool{}
	for _, t := range in.tastesOf(d) {
		if t.Mode == mode {
			seen[t.Taster] = true
		}
	}
	return len(seen)
}

// count tells who tasted both, and whether on the same evenings.
func (p *Pair) count(in Input, a, b *endpoint.Replies) {
	ta, tb := tastersOf(a.Glasses), tastersOf(b.Glasses)
	p.Tasters, p.Rows = len(ta), a.Rows+b.Rows
	for _, t := range tb {
		if slices.Contains(ta, t) {
			p.Both++
		} else {
			p.Tasters++
		}
	}
	ca, cb := in.countsOf(a), in.countsOf(b)
	p.BatchesA, p.BatchesB, p.OwnBatch = ca.Batches, cb.Batches, ca.OwnBatch && cb.OwnBatch
	sa, sb := in.sessionsOf(a.Drink), in.sessionsOf(b.Drink)
	p.Evenings = !slices.ContainsFunc(sa, func(s string) bool { return slices.Contains(sb, s) })
}

// countsOf counts the tastes of one drink in one mode.
func (in Input) countsOf(r *endpoint.Replies) Counts {
	var rows []panel.Taste
	for _, t := range in.tastesOf(r.Drink) {
		if t.Mode == r.Mode {
			rows = append(rows, t)
		}
	}
	return in.counts(rows)
}

// ratio fits the paired reply model. A becomes the drink that keeps longer.
func (p *Pair) ratio(in Input, a, b *endpoint.Replies) error {
	skip := in.Panel.Settings.ImprovesFirst
	rowsA, _ := a.OwnLimits(skip)
	rowsB, _ := b.OwnLimits(skip)
	number := map[string]int{}
	units := appendUnits(appendUnits(nil, number, rowsB, 0), number, rowsA, 1)
	fit, err := survival.ReplyModel{Slips: Slips, Level: Level}.Fit(units)
	if err != nil {
		return err
	}
	r, err := fit.Ratio(1)
	if err != nil {
		return err
	}
	p.Status = OK
	switch {
	case !fit.Converged:
		p.Status, p.Why = NotConverged, "the fit did not converge"
		return nil
	case fit.Kind != survival.ReplyInterior && fit.Kind != survival.ReplyPlateau || !(r.From > 0) || math.IsInf(r.To, 1):
		p.Status, p.Why = BeyondLastAge, "one of the two was left by nobody, or by everyone at once"
		return nil
	}
	e := r.ReplyEstimate
	if e.From < 1 {
		p.A, p.B = p.B, p.A
		p.BatchesA, p.BatchesB = p.BatchesB, p.BatchesA
		e.From, e.To, e.Lower, e.Upper = 1/e.To, 1/e.From, 1/e.Upper, 1/e.Lower // 1/0 is open, 1/inf is 0
	}
	p.Ratio = Quantile{From: Of(e.From), To: Of(e.To), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: e.Level, Status: OK}
	if p.Tasters >= pFrom {
		p.P = Of(r.P)
	}
	return nil
}

// scoreTest tests without a family, on one interval a taster and drink.
func (p *Pair) scoreTest(in Input, a, b *endpoint.Replies) error {
	var rows []survival.Interval
	var group, subject []int
	number := map[string]int{}
	for g, r := range []*endpoint.Replies{a, b} {
		seen := map[string]bool{}
		for _, glass := range r.Glasses {
			l := endpoint.EitherSide.Limit(glass.Replies)
			if !l.Known || seen[glass.Taster] {
				continue
			}
			seen[glass.Taster] = true
			if _, ok := number[glass.Taster]; !ok {
				number[glass.Taster] = len(number)
			}
			rows, group, subject = append(rows, l.Interval), append(group, g), append(subject, number[glass.Taster])
		}
	}
	test, how := survival.ScoreTest{Seed: in.Seed}, ""
	var run func([]survival.Interval, []int, []int) (*survival.ScoreResult, error)
	switch same := sameSteps(a, b); {
	case p.Tasters < pFrom:
		return nil
	case same && p.Both >= bothFrom:
		run, how = test.Within, "within tasters"
	case same && p.Both == 0:
		run, how = test.Between, "between tasters"
	case p.Tasters >= clusteredFrom:
		run, how = test.Clustered, "clustered"
	default:
		return nil
	}
	r, err := run(rows, group, subject)
	if err != nil {
		return nil // one group empty, nobody with both: there is no test, which ScoreMethod "" says
	}
	p.ScoreMethod, p.ScoreP, p.SmallestP, p.Draws = how, Of(r.P), Of(r.SmallestP), r.Draws
	test.Scores = survival.WilcoxonScores
	switch how {
	case "within tasters":
		r, err = test.Within(rows, group, subject)
	case "between tasters":
		r, err = test.Between(rows, group, subject)
	default:
		r, err = test.Clustered(rows, group, subject)
	}
	if err == nil {
		p.WilcoxonP = Of(r.P)
	}
	return nil
}

// sameSteps tells whether two drinks were tasted on the same age steps, up to where the shorter ends: each within half a
// minute of one of the other's.
func sameSteps(a, b *endpoint.Replies) bool {
	end := math.Inf(1)
	for _, r := range []*endpoint.Replies{a, b} {
		end = min(end, panel.Minutes(r.Steps[len(r.Steps)-1].Mean))
	}
	const near = 0.5 // min, as steps are joined
	within := func(x, y *endpoint.Replies) bool {
		for _, s := range x.Steps {
			at := panel.Minutes(s.Mean)
			if at > end+near {
				continue
			}
			if !slices.ContainsFunc(y.Steps, func(o panel.Step) bool { return math.Abs(panel.Minutes(o.Mean)-at) <= near }) {
				return false
			}
		}
		return true
	}
	return within(a, b) && within(b, a)
}

// adjust applies Holm's procedure over all pairs that have a p-value.
func (a *Differences) adjust() error {
	for _, x := range []struct{ p, adj func(*Pair) *Num }{
		{func(p *Pair) *Num { return &p.P }, func(p *Pair) *Num { return &p.PAdj }},
		{func(p *Pair) *Num { return &p.ScoreP }, func(p *Pair) *Num { return &p.ScoreAdj }},
	} {
		var ps []float64
		var at []*Num
		for i := range a.Pairs {
			if v := x.p(&a.Pairs[i]); v.Finite() {
				ps, at = append(ps, v.Float()), append(at, x.adj(&a.Pairs[i]))
			}
		}
		if len(ps) == 0 {
			continue
		}
		adj, err := multiplicity.Holm(ps)
		if err != nil {
			return err
		}
		for i, v := range adj {
			*at[i] = Of(v)
		}
	}
	return nil
}
