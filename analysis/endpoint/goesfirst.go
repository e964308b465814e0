package endpoint

import (
	"math"

	"lastsip/analysis/panel"
)

// FailRule says when an attribute has failed. The zero value is the rule in force: the first age step with a score past the
// attribute's own limit.
type FailRule struct {
	Stricter float64 // points by which every limit is moved against the drink; negative: in its favour
	ForGood  bool    // the last crossing: the first age step from which on every score lies past the limit
}

// Past tells whether a score lies past an attribute's limit, which is moved by stricter points against the drink: a limit is
// raised where a high score is better, lowered where a low one is, and where the middle is best the distance that is allowed
// from it shrinks. A moved limit stays within the scale, a distance at or above 0. At the limit a score is not past it.
func Past(a panel.Attribute, score, stricter float64) bool {
	const slack = 1e-9 // points: 0.7 + 1 and 1.7 are one limit
	switch a.Better {
	case panel.BetterLow:
		return score > moved(a.Limit, -stricter, a.Low, a.High)+slack
	case panel.BetterMiddle:
		return math.Abs(score-a.Best) > moved(a.Limit, -stricter, 0, math.Inf(1))+slack
	}
	return score < moved(a.Limit, stricter, a.Low, a.High)-slack
}

// moved is a limit after a move that stops at the ends of its range; a limit that was outside is only moved inward.
func moved(limit, by, low, high float64) float64 {
	if by < 0 {
		return max(limit+by, min(low, limit))
	}
	return min(limit+by, max(high, limit))
}

// First is what failed first in one history. Lists hold indices into Histories.Attributes, in order.
type First struct {
	Step     int    // index into Histories.Steps; -1: nothing failed
	Which    []int  // those that failed at that step: one alone, or several that are tied
	AtOnce   []int  // of these, those that failed at the first step at which they were scored
	Unseen   []int  // those that had not failed before and have no score at that step
	Until    int    // last step up to which every attribute was scored, steps between left out or not
	Reversed []bool // per attribute: it failed, and was within its limit again
}

// First reads one history under a rule. A step without a score is no failure.
func (h *Histories) First(u *History, rule FailRule) First {
	out := First{Step: -1, Until: len(h.Steps), Reversed: make([]bool, len(h.Attributes))}
	for k := range h.Attributes {
		f := h.failure(u, k, rule)
		out.Until = min(out.Until, f.last)
		out.Reversed[k] = f.reversed
		switch {
		case f.step < 0 || out.Step >= 0 && f.step > out.Step:
			continue
		case f.step != out.Step:
			out.Step, out.Which, out.AtOnce = f.step, nil, nil
		}
		out.Which = append(out.Which, k)
		if f.step == f.first {
			out.AtOnce = append(out.AtOnce, k)
		}
	}
	if out.Step >= 0 {
		out.Unseen = h.unseen(u, out)
	}
	return out
}

// failure is what became of one attribute in one history: indices of steps, -1 for none.
type failure struct {
	step        int // at which it failed
	first, last int // at which it was scored first and last
	reversed    bool
}

func (h *Histories) failure(u *History, k int, rule FailRule) failure {
	f := failure{step: -1, first: -1, last: -1}
	crossed := false
	for _, l := range u.Looks {
		if len(l.Scores[k]) == 0 {
			continue
		}
		past, within := false, false
		for _, s := range l.Scores[k] {
			if Past(h.Attributes[k], s, rule.Stricter) {
				past = true
			} else {
				within = true
			}
		}
		if f.last = l.Step; f.first < 0 {
			f.first = l.Step
		}
		crossed = crossed || past
		f.reversed = f.reversed || crossed && within
		switch {
		case rule.ForGood && within:
			f.step = -1
		case past && f.step < 0:
			f.step = l.Step
		}
	}
	return f
}

// unseen lists the attributes other than those that failed first which were not scored at that step.
func (h *Histories) unseen(u *History, first First) []int {
	var out []int
	for _, l := range u.Looks {
		if l.Step != first.Step {
			continue
		}
		for k := range h.Attributes {
			if len(l.Scores[k]) == 0 {
				out = append(out, k)
			}
		}
	}
	return out
}
