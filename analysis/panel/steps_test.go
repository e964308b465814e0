package panel_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

func TestAgeSteps(t *testing.T) {
	actual := func(min ...float64) []panel.Taste {
		var out []panel.Taste
		for _, m := range min {
			out = append(out, panel.Taste{Age: panel.Age(m)})
		}
		return out
	}
	planned := func(pairs ...float64) []panel.Taste {
		var out []panel.Taste
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, panel.Taste{Age: panel.Age(pairs[i]), Planned: panel.Age(pairs[i+1]), HasPlanned: true})
		}
		return out
	}
	for _, tt := range []struct {
		name   string
		tastes []panel.Taste
		means  []float64
		n, of  []int
	}{
		{"none", nil, nil, nil, []int{}},
		{"half a minute joins, more does not", actual(2, 2.5, 3.01), []float64{2.25, 3.01}, []int{2, 1}, []int{0, 0, 1}},
		{"a chain of small gaps is one step", actual(3, 2, 2.5, 6), []float64{2.5, 6}, []int{3, 1}, []int{0, 0, 0, 1}},
		{"the plan groups, the actual ages name", planned(4.2, 4, 7, 6, 4.8, 4), []float64{4.5, 7}, []int{2, 1}, []int{0, 1, 0}},
		{"planned ages are exact levels", planned(4, 4, 4.2, 4.1), []float64{4, 4.2}, []int{1, 1}, []int{0, 1}},
		{"the plan groups where actual ages overlap", planned(4.2, 4, 5, 5, 5.1, 4), []float64{4.65, 5}, []int{2, 1}, []int{0, 1, 0}},
		{"steps are sorted by the mean of the actual ages", planned(9, 2, 3, 4), []float64{3, 9}, []int{1, 1}, []int{1, 0}},
		{"a row without a plan joins the planned step within half a minute", append(planned(4, 4), actual(4.1)...), []float64{4.05}, []int{2}, []int{0, 0}},
		{"the closest planned step", append(planned(4, 4, 4.6, 4.6), actual(4.4)...), []float64{4, 4.5}, []int{1, 2}, []int{0, 1, 1}},
		{"a row without a plan further away stays apart", append(planned(4, 4), actual(4.6)...), []float64{4, 4.6}, []int{1, 1}, []int{0, 1}},
		{"planned steps of equal means are one", planned(4.5, 4, 4.5, 5), []float64{4.5}, []int{2}, []int{0, 0}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			steps, of := panel.AgeSteps(tt.tastes)
			require.Equal(t, tt.of, of)
			require.Len(t, steps, len(tt.means))
			for i, s := range steps {
				require.Equal(t, panel.Age(tt.means[i]), s.Mean, "step %d", i)
				require.Equal(t, tt.n[i], s.N, "step %d", i)
			}
		})
	}
}

// Every taste is in exactly one step, the steps do not depend on the order of the rows, and the mean is that of its tastes.
func TestAgeStepsLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		tastes := make([]panel.Taste, 1+rng.IntN(40))
		for i := range tastes {
			tastes[i].Age = panel.Age(20 * rng.Float64())
			if rng.IntN(2) == 0 {
				tastes[i].HasPlanned, tastes[i].Planned = true, panel.Age(float64(2*rng.IntN(6)))
			}
		}
		steps, of := panel.AgeSteps(tastes)
		levels := map[time.Duration]int{}
		sum := make([]time.Duration, len(steps))
		n := make([]int, len(steps))
		for i, s := range of {
			sum[s] += tastes[i].Age
			n[s]++
			if tastes[i].HasPlanned {
				if before, seen := levels[tastes[i].Planned]; seen {
					require.Equal(t, before, s, "one planned age, one step")
				}
				levels[tastes[i].Planned] = s
			}
		}
		for s := range steps {
			require.Equal(t, n[s], steps[s].N)
			require.InDelta(t, float64(sum[s])/float64(n[s]), float64(steps[s].Mean), 1, "nanoseconds")
			require.True(t, s == 0 || steps[s-1].Mean <= steps[s].Mean)
		}
		swap := rng.Perm(len(tastes))
		shuffled := make([]panel.Taste, len(tastes))
		for to, from := range swap {
			shuffled[to] = tastes[from]
		}
		again, ofAgain := panel.AgeSteps(shuffled)
		require.Equal(t, steps, again)
		for to, from := range swap {
			require.Equal(t, of[from], ofAgain[to])
		}
	}
}

func TestAge(t *testing.T) {
	require.Equal(t, 126*time.Second, panel.Age(2.1))
	require.Equal(t, 2.1, panel.Minutes(panel.Age(2.1)))
}
