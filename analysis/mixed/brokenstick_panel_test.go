package mixed_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// tasted is rows of one score each.
type tasted struct {
	score, age []float64
	taster     []string
}

func (p tasted) table(t testing.TB) *mixed.Table {
	t.Helper()
	return table(t, mixed.Numbers("score", p.score), mixed.Numbers("age", p.age), mixed.Labels("taster", p.taster))
}

// decline is an invented panel: every taster scores a drink at each of eight ages, with an own level (sd 0.8), an own slope
// (sd 0.05 per minute) and a reading error of 0.7 points about a curve of the age.
func decline(rng *rand.Rand, tasters int, curve func(age float64) float64) tasted {
	var p tasted
	for i := range tasters {
		level, slope := 0.8*rng.NormFloat64(), 0.05*rng.NormFloat64()
		for k := range 8 {
			a := 2 * float64(k)
			p.age, p.taster = append(p.age, a), append(p.taster, fmt.Sprintf("t%02d", i))
			p.score = append(p.score, curve(a)+level+slope*a+0.7*rng.NormFloat64())
		}
	}
	return p
}

// with gives the panel with its rows in another order, and its numbers changed.
func (p tasted) with(order []int, score, age func(score, age float64) float64) tasted {
	var out tasted
	for _, k := range order {
		out.score, out.age = append(out.score, score(p.score[k], p.age[k])), append(out.age, age(p.score[k], p.age[k]))
		out.taster = append(out.taster, p.taster[k])
	}
	return out
}

// asTheyAre is the order of n rows.
func asTheyAre(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// sparse leaves about one row in five out.
func (p tasted) sparse(rng *rand.Rand) tasted {
	keep := slices.DeleteFunc(asTheyAre(len(p.score)), func(int) bool { return rng.IntN(5) == 0 })
	return p.with(keep, func(s, _ float64) float64 { return s }, func(_, a float64) float64 { return a })
}

func straightFall(age float64) float64 { return 8 - 0.25*age }

// broken falls by 0.05 a minute up to psi, then by 0.05 + change.
func broken(psi, change float64) func(age float64) float64 {
	return func(age float64) float64 { return 8 - 0.05*age - change*max(0, age-psi) }
}

func onset(cut float64) mixed.BrokenStick {
	return mixed.BrokenStick{Spec: mixed.Spec{Response: "score", Random: []mixed.Random{over("taster", num("age"))}}, Name: "age", Cut: cut}
}

func bend(t testing.TB, b mixed.BrokenStick, data *mixed.Table) *mixed.Bend {
	t.Helper()
	out, err := b.Fit(data)
	require.NoError(t, err)
	return out
}

func BenchmarkBrokenStick(b *testing.B) {
	data := decline(rand.New(rand.NewPCG(20320301, 1)), 12, broken(6, 0.4)).table(b)
	b.Run("fit/n=96", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := onset(4.7).Fit(data); err != nil {
				b.Fatal(err)
			}
		}
	})
	found := bend(b, onset(4.7), data)
	b.Run("bootstrap/n=96/draws=499", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := found.Bootstrap(1, 499); err != nil {
				b.Fatal(err)
			}
		}
	})
}
