package answer

import (
	"cmp"
	"fmt"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// rules are the repetitions that stand beside.
var rules = []struct {
	name string
	rule endpoint.FailRule
}{
	{"limit_up", endpoint.FailRule{Stricter: 1}},
	{"limit_down", endpoint.FailRule{Stricter: -1}},
	{"last_crossing", endpoint.FailRule{ForGood: true}},
}

// NewGoesFirst answers: which attribute fails first? One part per mode, the one that the sentence rests on first.
//
// An attribute fails at the first age step with a score past its own limit; the overall score takes no part. As tasting goes
// on after a failure and the steps are coarse, each attribute and step has three shares of tasters: failed first alone, tied
// first, not first. Ties are never split: the limits are Clopper and Pearson's lower of alone, and upper of alone, tied and
// those who stopped before that step with nothing failed.
func NewGoesFirst(in Input, d endpoint.Drink) (*GoesFirst, error) {
	out := &GoesFirst{Head: in.head("goes_first", d)}
	out.Method = "Each attribute fails at the first age step at which its score lies past its limit (at the limit it has not failed); the overall score takes no part. Counted by age: for how many tasters it had failed before every other attribute, and for how many at one step with others; ties are not split. " +
		"Exact limits: lower from those where it was alone, upper from those where it was alone or tied and from those who stopped before with nothing failed. Two attributes are told apart where the limits of their shares do not overlap. Each taster counts once. " +
		"One point stricter raises a limit where high is better, lowers it where low is better, and allows a point less of distance where the middle is best; one point laxer is the reverse; neither leaves the scale."
	out.Source = "Clopper & Pearson 1934, Biometrika 26, 404; the treatment of ties is our own convention."
	out.Settings = in.settings(d, "overall", "scale of", "limit of", "best of")
	var left [][]panel.LeftOut
	for _, mode := range endpoint.Modes(in.Panel, d) {
		h, err := endpoint.HistoriesOf(in.Panel, d, mode)
		if err != nil {
			return nil, fmt.Errorf("what goes first in %s: %w", title(d), err)
		}
		if len(h.Attributes) < 2 {
			continue
		}
		part := in.firstPart(h)
		if err := in.firstWithoutAware(&part, d, mode); err != nil {
			return nil, err
		}
		out.Parts = append(out.Parts, part)
		left = append(left, h.LeftOut)
	}
	if len(out.Parts) == 0 {
		out.notAsked(in, in.whyNot(d))
		return out, nil
	}
	rankOf := func(p FirstPart) int { return rank(LifetimePart{Mode: p.Mode, Unit: p.Unit, Units: p.Units}) }
	slices.SortStableFunc(out.Parts, func(a, b FirstPart) int { return cmp.Compare(rankOf(a), rankOf(b)) })
	out.Counts.RowsUsed, out.Counts.LeftOut = 0, leftOut(left...)
	for _, p := range out.Parts {
		out.Counts.RowsUsed += p.Counts.RowsUsed
	}
	out.Status = out.Parts[0].Status
	out.say()
	out.warn()
	out.tabulate()
	return out, nil
}

// firstPart counts one mode.
func (in Input) firstPart(h *endpoint.Histories) FirstPart {
	p := FirstPart{Mode: h.Mode.String(), Unit: h.Unit, Units: len(h.Units), Counts: in.firstCounts(h), NoLimit: h.NoLimit}
	for _, m := range h.Missing {
		p.Missing = append(p.Missing, FirstMissing{in.name(m.Taster), m.Attributes})
	}
	for _, s := range h.Seldom {
		p.Seldom = append(p.Seldom, FirstSeldom(s))
	}
	firsts := readFirsts(h, endpoint.FailRule{})
	p.Attributes = firstAttributes(h, firsts)
	p.Leads = leaders(p.Attributes)
	for i := range h.Units {
		p.Each = append(p.Each, in.firstUnit(h, &h.Units[i], firsts[i]))
	}
	for _, r := range rules {
		attributes := firstAttributes(h, readFirsts(h, r.rule))
		p.Variants = append(p.Variants, FirstVariant{Name: r.name, Units: p.Units, Counts: p.Counts, Attributes: attributes, Leads: leaders(attributes)})
	}
	if last := p.last(0); last != nil {
		p.Nothing, p.Stopped = last.Nothing, last.Stopped
	}
	p.notApart()
	switch {
	case p.Units < 3:
		p.Status = NotEnough
	case p.Nothing == p.Units:
		p.Status = BeyondLastAge
	default:
		p.Status = OK
	}
	return p
}

// firstCounts are those of the tasters who are compared.
func (in Input) firstCounts(h *endpoint.Histories) Counts {
	whose := map[string]bool{}
	for _, u := range h.Units {
		whose[u.Taster] = true
	}
	var rows []panel.Taste
	for _, t := range in.tastesOf(h.Drink) {
		if t.Mode == h.Mode && whose[t.Taster] {
			rows = append(rows, t)
		}
	}
	c := in.counts(rows)
	c.RowsUsed, c.LeftOut = h.Rows, leftOut(h.LeftOut)
	return c
}

func readFirsts(h *endpoint.Histories, rule endpoint.FailRule) []endpoint.First {
	out := make([]endpoint.First, len(h.Units))
	for i := range h.Units {
		out[i] = h.First(&h.Units[i], rule)
	}
	return out
}

// firstWithoutAware adds the count without the tastes whose taster made or knew the drink, where there are any.
func (in Input) firstWithoutAware(p *FirstPart, d endpoint.Drink, mode panel.Mode) error {
	blind := *in.Panel
	aware := func(t panel.Taste) bool {
		pour := &in.Panel.Pours[t.Pour]
		return t.Aware && t.Mode == mode && pour.Style == d.Style && pour.Serve == d.Serve
	}
	if !slices.ContainsFunc(in.Panel.Tastes, aware) {
		return nil
	}
	blind.Tastes = slices.DeleteFunc(slices.Clone(in.Panel.Tastes), aware)
	in.Panel, in.byDrink = &blind, nil
	if !slices.Contains(endpoint.Modes(in.Panel, d), mode) {
		return nil // everyone in this mode knew the drink
	}
	h, err := endpoint.HistoriesOf(in.Panel, d, mode)
	if err != nil {
		return fmt.Errorf("what goes first in %s, without those who knew it: %w", title(d), err)
	}
	if len(h.Attributes) < 2 || len(h.Units) == 0 || h.Unit != p.Unit {
		return nil
	}
	attributes := firstAttributes(h, readFirsts(h, endpoint.FailRule{}))
	p.Variants = append(p.Variants, FirstVariant{Name: "without_aware", Units: len(h.Units), Counts: in.firstCounts(h), Attributes: attributes, Leads: leaders(attributes)})
	return nil
}
