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
// neighbours lie within half a minute (30 s included); a chain of small gaps is one step. A step is named by its mean
// actual age. Steps are sorted by that mean; of[i] is the step of tastes[i]. The input is not changed; no tastes, no steps.
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
	var base []time.Duration  // first age of each step, so that sums of differences cannot overflow
	var above []time.Duration // sum of (age - base)
	for k, i := range order {
		t := &tastes[i]
		if k == 0 || !sameStep(&tastes[order[k-1]], t) {
			steps = append(steps, Step{})
			base = append(base, t.Age)
			above = append(above, 0)
		}
		s := len(steps) - 1
		of[i] = s
		steps[s].N++
		above[s] += t.Age - base[s]
	}
	for s := range steps {
		n := time.Duration(steps[s].N)
		steps[s].Mean = base[s] + (above[s]+n/2)/n
	}
	return sortSteps(steps, of)
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
	order := make([]int, len(steps))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(steps[i].Mean, steps[j].Mean) })
	sorted := make([]Step, len(steps))
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
