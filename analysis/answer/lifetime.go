package answer

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// sideBySideEnough is the number of tasters from which side by side speaks in the sentence, since memory biases the other.
const sideBySideEnough = 5

// NewLifetime answers: how long is this drink good enough to go on with? One part per mode; the one that the sentence
// rests on comes first.
func NewLifetime(in Input, d endpoint.Drink) (*Lifetime, error) {
	out := &Lifetime{Head: in.head("lifetime", d), Basis: string(endpoint.BasisOf(in.Panel, d.Style))}
	out.Method = headlineMethod
	out.Source = headlineSource
	out.Settings = in.settings(d, "unclear", "reject_limit", "overall", "verdict words", "improves_first")
	if out.Basis == "" {
		out.Status = NotAsked
		out.Sentences = []string{"Nobody was asked whether they would go on with it, and no overall score with a reject limit stands in: the lifetime is not answered."}
		out.Rows = []Row{out.statusRow("q50", "replies", "", NotAsked, "min")}
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
	if err := out.joint(in, d); err != nil {
		return nil, fmt.Errorf("lifetime of %s: %w", title(d), err)
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
	in.Panel, in.byDrink = &blind, nil
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
			a.Rows = append(a.Rows, a.exactRows(&part, q, part.variant()+"+without_aware")...)
		}
		if h := part.Headline; h != nil {
			for _, q := range h.Quantiles {
				a.Rows = append(a.Rows, a.quantileRows(&part, q, h.Method, part.headVariant()+"+without_aware", smallPanelNote)...)
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
