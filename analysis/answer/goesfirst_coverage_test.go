package answer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// race is a world in which three attributes fail at log-normal times of log-sd 0.35, correlated over a taster by a common
// factor. Scores fall from 8 to 2 at the time of failure. Tasters leave after a step with chance stop, whatever they score.
type race struct {
	medians [3]float64 // min
	gap     float64    // min between age steps, to 16
	stop    float64
	tasters int
}

func (w race) times(rng *rand.Rand) (out [3]float64) {
	common := rng.NormFloat64()
	for k, m := range w.medians {
		out[k] = m * math.Exp(0.35*(math.Sqrt(0.4)*common+math.Sqrt(0.6)*rng.NormFloat64()))
	}
	return out
}

func (w race) steps() (out []float64) {
	for age := w.gap; age <= 16; age += w.gap {
		out = append(out, age)
	}
	return out
}

// truth is the chance that an attribute fails before the others and by each step, in continuous time, from a million draws.
func (w race) truth() [3][]float64 {
	rng := rand.New(rand.NewPCG(11, 12))
	const draws = 1_000_000
	steps := w.steps()
	var out [3][]float64
	for k := range out {
		out[k] = make([]float64, len(steps))
	}
	for range draws {
		at, k := firstOf(w.times(rng))
		for s, age := range steps {
			if at <= age {
				out[k][s] += 1. / draws
			}
		}
	}
	return out
}

func firstOf(times [3]float64) (at float64, k int) {
	for j, x := range times {
		if x < times[k] {
			k = j
		}
	}
	return times[k], k
}

func (w race) panel(rng *rand.Rand) Input {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}}
	for _, name := range []string{"air", "cold", "aroma"} {
		p.Attributes = append(p.Attributes, panel.Attribute{Name: name, Ranged: true, High: 10, Limit: 4})
	}
	for i := range w.tasters {
		name := fmt.Sprint("t", i)
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: name, Taster: name, Style: sour.Style, Serve: sour.Serve})
		times := w.times(rng)
		for _, age := range w.steps() {
			t := panel.Taste{Session: "one", Taster: name, Pour: i, Mode: panel.SipThrough, Age: panel.Age(age), Scores: make([]panel.Score, 3)}
			for k := range times {
				t.Scores[k] = panel.Score{Value: 8, Given: true}
				if times[k] <= age {
					t.Scores[k].Value = 2
				}
			}
			p.Tastes = append(p.Tastes, t)
			if rng.Float64() < w.stop {
				break
			}
		}
	}
	return Input{Panel: p}
}

// The limits, from Clopper and Pearson's lower of alone to the upper of alone, tied and stopped, hold the true share of
// tasters for whom an attribute fails first by an age step in 95 % of panels or more: for every attribute and step, coarse
// steps and early leavers included.
func TestGoesFirstCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	const panels = 600
	for i, w := range []race{
		{[3]float64{6, 8, 12}, 2, 0, 5}, {[3]float64{6, 8, 12}, 2, 0, 12}, {[3]float64{6, 8, 12}, 4, 0, 12}, {[3]float64{6, 8, 12}, 2, 0, 24},
		{[3]float64{7, 7, 7}, 4, 0, 12}, {[3]float64{6, 8, 12}, 2, 0.15, 12}, {[3]float64{6, 8, 12}, 2, 0.15, 24}, {[3]float64{9, 10, 12}, 4, 0.3, 24},
	} {
		truth := w.truth()
		held := [3][]int{}
		for k := range held {
			held[k] = make([]int, len(truth[k]))
		}
		rng := rand.New(rand.NewPCG(21, uint64(i)))
		all := 0
		for range panels {
			a, err := NewGoesFirst(w.panel(rng), sour)
			require.NoError(t, err)
			for k, x := range a.Parts[0].Attributes {
				for s, st := range x.Steps {
					if st.Lower.Float() <= truth[k][s] && truth[k][s] <= st.Upper.Float() {
						held[k][s]++
						all++
					}
				}
				for s := len(x.Steps); s < len(truth[k]); s++ { // everyone had left: nothing is claimed
					held[k][s]++
					all++
				}
			}
		}
		least := panels
		for k := range held {
			for s := range held[k] {
				least = min(least, held[k][s])
			}
		}
		t.Logf("%+v: %.1f %% of all limits hold, %.1f %% at the worst attribute and step", w, 100*float64(all)/float64(panels*3*len(truth[0])), 100*float64(least)/panels)
		// Worst of up to 24 cells: three standard errors of a coverage of 0.95.
		require.GreaterOrEqual(t, float64(least)/panels, 0.95-3*math.Sqrt(0.95*0.05/panels))
	}
}

func BenchmarkGoesFirst(b *testing.B) {
	for _, tasters := range []int{12, 120} {
		in := race{[3]float64{6, 8, 12}, 2, 0.1, tasters}.panel(rand.New(rand.NewPCG(1, 2))).Indexed()
		b.Run(fmt.Sprintf("tasters=%d", tasters), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := NewGoesFirst(in, sour); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
