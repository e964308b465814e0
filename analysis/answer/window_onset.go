package answer

import (
	"fmt"

	"lastsip/analysis/mixed"
)

// Cuts of the bend's set, and draws of its test.
const (
	onsetCutFew  = 4.9 // below twelve tasters
	onsetCutMany = 4.7
	onsetMany    = 12
	onsetSteps   = 2 // age steps on either side
	onsetDraws   = 499
	stepMinutes  = 0.5 // ages this near are one step
)

// onset looks for a bend in the decline: two straight lines that meet, within the taster model.
func (m *windowMaker) onset() *Onset {
	if len(m.data.steps) < 2*onsetSteps {
		return nil
	}
	model := m.curve.model
	spec := mixed.Spec{Response: scoreColumn, Fixed: model.beside, Random: model.random}
	if model.noSlope {
		spec.Random = withoutSlopes(spec.Random)
	}
	out := &Onset{Status: OK, Cut: onsetCutMany}
	if m.data.units < onsetMany {
		out.Cut = onsetCutFew
	}
	bend, err := mixed.BrokenStick{Spec: spec, Name: ageColumn, MinSteps: onsetSteps, Within: stepMinutes, Cut: out.Cut}.Fit(model.table)
	if err != nil {
		out.Status, out.Why = NotEnough, err.Error()
		return out
	}
	if !bend.Fit().Converged() {
		out.Status, out.Why = NotConverged, bend.Fit().Why()
		return out
	}
	out.At, out.AtEdge = Of(bend.At), bend.AtEdge
	out.SlopeBefore, out.SlopeAfter = m.data.sign*bend.Before.Estimate, m.data.sign*bend.After.Estimate
	out.F = Of(bend.F)
	for _, p := range bend.Set() {
		out.Set = append(out.Set, Span{p.Lower, p.Upper})
		out.Open = out.Open || p.OpenLower || p.OpenUpper
	}
	if m.in.Quick {
		return out
	}
	drawn, err := bend.Bootstrap(m.in.Seed, onsetDraws)
	if err != nil {
		out.Why = "its test could not be drawn: " + err.Error()
		return out
	}
	out.P, out.Draws = Of(drawn.P), drawn.Draws
	return out
}

// Sentences put the bend into words, for those who open the notebook.
func (o *Onset) Sentences() []string {
	switch {
	case o == nil:
		return []string{"Whether the decline has a bend is not asked: that takes two age steps on either side of it."}
	case o.Status != OK:
		return []string{"Whether the decline has a bend cannot be told: " + o.Why + "."}
	}
	s := []string{fmt.Sprintf("Two straight lines fit best when they meet at %s%smin: %s points per minute before, %s after.", Age(o.At.Float()), nbsp, points(o.SlopeBefore), points(o.SlopeAfter))}
	set := "The data do not rule out"
	for i, p := range o.Set {
		if i > 0 {
			set += " and"
		}
		set += fmt.Sprintf(" %s to %s%smin", Age(p.From), Age(p.To), nbsp)
	}
	if o.Open {
		set += " (open at the ages where the search ends)"
	}
	s = append(s, set+".")
	if o.P.Finite() {
		s = append(s, fmt.Sprintf("Against one straight line: p = %.3g from %d drawn panels.", o.P.Float(), o.Draws))
	}
	return append(s, "A bend is no proof of a break: a fall that merely gains speed is fitted better by two lines too.")
}
