package mixed_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// decline is an invented panel: every taster scores a drink at each age, with an own level (sd 0.8), an own slope (sd 0.05
// per minute) and a reading error of 0.7 points about a curve of the age.
func decline(t testing.TB, rng *rand.Rand, tasters int, curve func(age float64) float64) *mixed.Table {
	t.Helper()
	var score, age []float64
	var taster []string
	for i := range tasters {
		level, slope := 0.8*rng.NormFloat64(), 0.05*rng.NormFloat64()
		for k := range 8 {
			a := 2 * float64(k)
			age, taster = append(age, a), append(taster, fmt.Sprintf("t%02d", i))
			score = append(score, curve(a)+level+slope*a+0.7*rng.NormFloat64())
		}
	}
	return table(t, mixed.Numbers("score", score), mixed.Numbers("age", age), mixed.Labels("taster", taster))
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
	data := decline(b, rand.New(rand.NewPCG(20320301, 1)), 12, broken(6, 0.4))
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
