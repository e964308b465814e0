package answer

import (
	"cmp"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/binomial"
	"lastsip/analysis/panel"
)

// firstAttributes counts every attribute at every step that was scored.
func firstAttributes(h *endpoint.Histories, firsts []endpoint.First) []FirstAttribute {
	scored := make([]bool, len(h.Steps))
	for _, u := range h.Units {
		for _, l := range u.Looks {
			scored[l.Step] = true
		}
	}
	var out []FirstAttribute
	for k, a := range h.Attributes {
		x := FirstAttribute{Name: a.Name, Better: a.Better.String(), Limit: Of(a.Limit)}
		if a.Better == panel.BetterMiddle {
			x.Best = Of(a.Best)
		}
		for _, f := range firsts {
			if f.Reversed[k] {
				x.Reversed++
			}
			if !slices.Contains(f.Which, k) {
				continue
			}
			for _, other := range f.Which {
				if name := h.Attributes[other].Name; other != k && !slices.Contains(x.With, name) {
					x.With = append(x.With, name)
				}
			}
		}
		for s, step := range h.Steps {
			if scored[s] {
				x.Steps = append(x.Steps, firstStep(panel.Minutes(step.Mean), s, k, firsts))
			}
		}
		out = append(out, x)
	}
	return out
}

// firstStep counts one attribute at one step.
func firstStep(age float64, step, attribute int, firsts []endpoint.First) FirstStep {
	out := FirstStep{AgeMin: age}
	for _, f := range firsts {
		switch {
		case f.Step < 0 || f.Step > step:
			out.Nothing++
			if f.Step < 0 && f.Until < step {
				out.Stopped++
			}
		case !slices.Contains(f.Which, attribute):
			out.Other++
		case len(f.Which) == 1:
			out.Alone++
		default:
			out.Tied++
		}
	}
	if n := len(firsts); n >= 3 {
		tail := (1 - Level) / 2
		out.Lower = Of(binomial.Lower(out.Alone, n, tail))
		out.Upper = Of(binomial.Upper(out.Alone+out.Tied+out.Stopped, n, tail))
	}
	return out
}

func (in Input) firstUnit(h *endpoint.Histories, u *endpoint.History, f endpoint.First) FirstUnit {
	names := func(list []int) []string {
		var out []string
		for _, k := range list {
			out = append(out, h.Attributes[k].Name)
		}
		return out
	}
	x := FirstUnit{Taster: in.name(u.Taster), Session: u.Session, Pour: u.Pour, Which: names(f.Which), AtOnce: names(f.AtOnce), Unseen: names(f.Unseen)}
	x.Until = panel.Minutes(h.Steps[f.Until].Mean)
	if f.Step >= 0 {
		x.AgeMin = Of(panel.Minutes(h.Steps[f.Step].Mean))
	}
	return x
}

// last is an attribute's last step; nil where nobody is compared.
func (p *FirstPart) last(attribute int) *FirstStep {
	if steps := p.Attributes[attribute].Steps; len(steps) > 0 {
		return &steps[len(steps)-1]
	}
	return nil
}

// leaders are the attributes that were first alone most often by the last step, ties between them broken by how often they
// were tied first; none where nothing failed.
func leaders(attributes []FirstAttribute) []string {
	var out []string
	alone, tied := 0, 0
	for _, a := range attributes {
		if len(a.Steps) == 0 {
			continue
		}
		s := a.Steps[len(a.Steps)-1]
		c := cmp.Or(cmp.Compare(s.Alone, alone), cmp.Compare(s.Tied, tied))
		if c > 0 {
			alone, tied, out = s.Alone, s.Tied, nil
		}
		if c >= 0 && s.Alone+s.Tied > 0 {
			out = append(out, a.Name)
		}
	}
	return out
}

// notApart lists the attributes whose limits overlap those of the only leader.
func (p *FirstPart) notApart() {
	if len(p.Leads) != 1 || p.Units < 3 {
		return
	}
	lead := p.last(p.index(p.Leads[0]))
	if lead.Alone == 0 {
		return
	}
	for k, a := range p.Attributes {
		if s := p.last(k); a.Name != p.Leads[0] && s.Upper.Float() >= lead.Lower.Float() {
			p.NotApart = append(p.NotApart, a.Name)
		}
	}
}

func (p *FirstPart) index(name string) int {
	return slices.IndexFunc(p.Attributes, func(a FirstAttribute) bool { return a.Name == name })
}

// Settled is the first step at which an attribute's counts are those of the last step; the sentence names its age and the
// figure marks it. It is nil where the attribute has no step.
func (a *FirstAttribute) Settled() *FirstStep {
	if len(a.Steps) == 0 {
		return nil
	}
	last := &a.Steps[len(a.Steps)-1]
	for i := range a.Steps {
		if s := &a.Steps[i]; s.Alone == last.Alone && s.Tied == last.Tied {
			return s
		}
	}
	return last
}
