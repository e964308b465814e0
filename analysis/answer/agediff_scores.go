package answer

import (
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// ageScores gathers the overall scores of a drink. Where the scale is best in the middle the distance from the best stands for
// the score, low being better: best is then not empty.
func (in Input) ageScores(d endpoint.Drink, keep func(panel.Taste) bool) (s *scoreRows, best Num, why string) {
	k := slices.IndexFunc(in.Panel.Attributes, func(a panel.Attribute) bool {
		return a.Name == in.Panel.Settings.Overall && a.Better == panel.BetterMiddle
	})
	if k >= 0 && in.Panel.Settings.Overall != "" {
		best = Of(in.Panel.Attributes[k].Best)
		in = in.distances(k)
	}
	s, why = in.scoreRowsOf(d, keep)
	return s, best, why
}

// distances is the same input with distances from its best for scores of attribute k.
func (in Input) distances(k int) Input {
	p := *in.Panel
	p.Attributes, p.Tastes = slices.Clone(p.Attributes), slices.Clone(p.Tastes)
	a := &p.Attributes[k]
	a.Better = panel.BetterLow
	a.Low, a.High = 0, max(math.Abs(a.High-a.Best), math.Abs(a.Low-a.Best))
	for i := range p.Tastes {
		t := &p.Tastes[i]
		t.Scores = slices.Clone(t.Scores)
		t.Scores[k].Value = math.Abs(t.Scores[k].Value - a.Best)
	}
	in.Panel, in.byDrink = &p, nil
	return in
}

// tooFewForAges says why the ages of these scores cannot be compared.
func (s *scoreRows) tooFewForAges() string {
	flat := true
	for i := range s.rows {
		flat = flat && s.rows[i].score == s.rows[0].score
	}
	switch {
	case len(s.rows) == 0:
		return "no overall score was given"
	case s.unit == "pour" && s.units < 3:
		return "one taster speaks for one person; from three independently made pours on ages are compared for this taster"
	case s.units < 3:
		return "two tasters are too few to tell what others would find"
	case len(s.steps) < 2:
		return "it was scored at one age only"
	case flat:
		return fmt.Sprintf("every score of %s is the same, so that nothing tells how far scores scatter", s.attribute.Name)
	}
	return ""
}

// decimals are those that a fiftieth of the scale needs.
func (s *scoreRows) decimals() int {
	span := s.attribute.High - s.attribute.Low
	if !s.attribute.Ranged {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range s.rows {
			low, high = min(low, s.rows[i].score), max(high, s.rows[i].score)
		}
		span = high - low
	}
	if !(span > 0) {
		return 1
	}
	return min(6, max(0, int(math.Ceil(math.Log10(50/span)))))
}

// at counts the units and the tastes of a step.
func (s *scoreRows) at(step int) (units, tastes int) {
	seen := map[string]bool{}
	for i := range s.rows {
		if r := &s.rows[i]; r.step == step {
			seen[r.unit] = true
			tastes++
		}
	}
	return len(seen), tastes
}

// ownDifferences gives every unit's own mean at each older step less its mean at the youngest, where it has both: raw, in the
// scale's own direction.
func (s *scoreRows) ownDifferences(in Input) []ScorePoint {
	type cell struct {
		sum float64
		n   int
	}
	var order []string
	sums, shown := map[string][]cell{}, map[string]string{}
	for i := range s.rows {
		r := &s.rows[i]
		if sums[r.unit] == nil {
			sums[r.unit] = make([]cell, len(s.steps))
			shown[r.unit] = in.name(r.taster)
			order = append(order, r.unit)
		}
		c := &sums[r.unit][r.step]
		c.sum, c.n = c.sum+s.sign*r.score, c.n+1
	}
	slices.Sort(order)
	var out []ScorePoint
	for _, u := range order {
		c := sums[u]
		for k := 1; k < len(c); k++ {
			if c[0].n > 0 && c[k].n > 0 {
				out = append(out, ScorePoint{Taster: shown[u], AgeMin: s.steps[k], Score: c[k].sum/float64(c[k].n) - c[0].sum/float64(c[0].n)})
			}
		}
	}
	return out
}
