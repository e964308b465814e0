package panel

import (
	"cmp"
	"slices"
	"time"
)

// stepGap is the widest gap between neighbouring ages of one step.
const stepGap = 30 * time.Second

// Step is an age step: ages that count as one level.
type Step struct {
	Mean time.Duration // mean actual age of its tastes, to the nanosecond
	N    int           // tastes in it
}

// AgeSteps groups tastes into age steps, for answers that need ages as levels (shares, contrasts, one mean per age).
// Likelihoods and curves use actual ages instead.
//
// Tastes with a planned age are grouped by it, exactly. The others are put in order of actual age and joined while
// neighbours lie within half a minute (30 s included); a chain of small gaps is one step. Where tastes with and without a
// planned age stand side by side, a step without one joins the step with one whose mean lies closest within half a minute,
// and steps of equal means are one. A step is named by its mean actual age. Steps are sorted by that mean; of[i] is the step
// of tastes[i]. The input is not changed; no tastes, no steps.
func AgeSteps(tastes []Taste) (steps []Step, of []int) {
	of = make([]int, len(tastes))
	order := make([]int, len(tastes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &tastes[i], &tastes[j]
		switch {
		case a.HasPlanned && b.HasPlanned:
			return cmp.Or(cmp.Compare(a.Planned, b.Planned), cmp.Compare(a.Age, b.Age))
		case a.HasPlanned != b.HasPlanned:
			if a.HasPlanned {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.Age, b.Age)
	})
	planned := 0 // steps with a planned age stand first
	for k, i := range order {
		t := &tastes[i]
		if k == 0 || !sameStep(&tastes[order[k-1]], t) {
			steps = append(steps, Step{})
			if t.HasPlanned {
				planned++
			}
		}
		of[i] = len(steps) - 1
		steps[of[i]].N++
	}
	average(tastes, steps, of)
	for joinSteps(steps, of, planned) { // every turn empties a step
		average(tastes, steps, of)
	}
	return sortSteps(steps, of)
}

// average sets every step's mean. Sums are of differences to the step's first age, so that they cannot overflow.
func average(tastes []Taste, steps []Step, of []int) {
	base := make([]time.Duration, len(steps))
	above := make([]time.Duration, len(steps))
	seen := make([]bool, len(steps))
	for i, t := range tastes {
		s := of[i]
		if !seen[s] {
			base[s], seen[s] = t.Age, true
		}
		above[s] += t.Age - base[s]
	}
	for s := range steps {
		if n := time.Duration(steps[s].N); n > 0 {
			steps[s].Mean = base[s] + roundedDiv(above[s], n)
		}
	}
}

// roundedDiv divides to the nearest, halves upwards.
func roundedDiv(a, n time.Duration) time.Duration {
	q := (a + n/2) / n
	if (a+n/2)%n < 0 {
		q--
	}
	return q
}

// joinSteps moves the tastes of a step without a planned age into the closest step with one, within half a minute, and those
// of a step into an earlier one of equal mean. Emptied steps keep N = 0. It tells whether anything moved.
func joinSteps(steps []Step, of []int, planned int) bool {
	into := make([]int, len(steps))
	moved := false
	for s := range steps {
		into[s] = s
		best := stepGap + 1
		if steps[s].N == 0 {
			continue
		}
		for p := range min(s, planned) {
			if steps[p].N == 0 {
				continue
			}
			gap := (steps[s].Mean - steps[p].Mean).Abs()
			if (gap == 0 || s >= planned) && gap < best {
				best, into[s] = gap, into[p]
			}
		}
		moved = moved || into[s] != s
	}
	for i := range of {
		if to := into[of[i]]; to != of[i] {
			steps[of[i]].N--
			steps[to].N++
			of[i] = to
		}
	}
	return moved
}

// sameStep tells whether b, the next taste in order after a, belongs to a's step.
func sameStep(a, b *Taste) bool {
	if a.HasPlanned != b.HasPlanned {
		return false
	}
	if a.HasPlanned {
		return a.Planned == b.Planned
	}
	return b.Age-a.Age <= stepGap
}

// sortSteps puts the steps in order of their mean and renumbers of, in place.
func sortSteps(steps []Step, of []int) ([]Step, []int) {
	var order []int // of the steps that hold a taste
	for i := range steps {
		if steps[i].N > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(steps[i].Mean, steps[j].Mean) })
	sorted := make([]Step, len(order))
	place := make([]int, len(steps))
	for to, from := range order {
		sorted[to] = steps[from]
		place[from] = to
	}
	for i := range of {
		of[i] = place[of[i]]
	}
	return sorted, of
}
