package answer

import (
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// shares counts, at every age step past 0, who would still go on.
func (m *maker) shares(curve *survival.Curve) ([]Share, error) {
	var out []Share
	for _, step := range m.r.Steps {
		age := panel.Minutes(step.Mean)
		if age <= 0 {
			continue
		}
		rows := m.stepRows(age)
		if len(rows) == 0 {
			continue
		}
		lim, err := survival.ExactShare(rows, age, Level)
		if err != nil {
			return nil, err
		}
		s := Share{AgeMin: age, Lower: lim.Lower, Upper: lim.Upper, Level: lim.Level, Units: len(rows), No: m.rejectionsAt(age)}
		s.EstLo, s.EstHi = curve.At(age)
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

// stepRows are the rows that a share at one age step counts: every unit in sip-through, side by side the first glass of
// that step of each unit.
func (m *maker) stepRows(age float64) []survival.Interval {
	var rows []survival.Interval
	if m.r.Mode == panel.SipThrough {
		for _, u := range m.units {
			if u.steps.Known {
				rows = append(rows, u.steps.Interval)
			}
		}
		return rows
	}
	for _, g := range m.r.Glasses {
		seen := map[string]bool{}
		for _, y := range g.Replies {
			key := "" // of a taster, one; of one taster's pours, one a batch
			if m.of == "pour" {
				if key = "batch " + y.Session + "/" + y.Batch; y.Batch == "" {
					key = "pour " + y.Session + "/" + y.Pour
				}
			}
			if y.StepMin == age && !seen[key] {
				seen[key] = true
				rows = append(rows, survival.Status{Time: age, Over: y.Reject}.Interval())
			}
		}
	}
	return rows
}

// rejectionsAt counts the units with a rejection at an age step, whatever came before or after it.
func (m *maker) rejectionsAt(age float64) int {
	n := 0
	for _, g := range m.r.Glasses {
		counted := m.r.Mode == panel.SideBySide || m.isCounted(g)
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
	batchOf, stepOf := map[float64]string{}, map[string]float64{}
	for _, g := range r.Glasses {
		for _, y := range g.Replies {
			if y.Batch == "" {
				return false
			}
			batch := y.Session + "/" + y.Batch
			if b, ok := batchOf[y.StepMin]; ok && b != batch {
				return false
			}
			if s, ok := stepOf[batch]; ok && s != y.StepMin {
				return false
			}
			batchOf[y.StepMin], stepOf[batch] = batch, y.StepMin
		}
	}
	return true
}
