package mixed_test

import (
	"math/rand/v2"
	"testing"

	"lastsip/analysis/mixed"
)

// A panel of 12 tasters and three styles at four ages: ages against fresh and all styles at one age, means and degrees of
// freedom included.
func BenchmarkContrasts(b *testing.B) {
	data := evening(b, rand.New(rand.NewPCG(20310405, 1)), 12, 0.1)
	f := fit(b, mixed.Spec{Response: "score", Fixed: terms(fac("style"), fac("age"), by(fac("style"), fac("age"))), Random: perTaster}, data)
	for _, bb := range []struct {
		name   string
		by     string
		make   func([]mixed.Contrast) []mixed.Contrast
		adjust mixed.Adjustment
	}{
		{"fresh, max-t", "age", mixed.AgainstFirst, mixed.MaxT},
		{"pairs of styles, max-t", "style", mixed.AllPairs, mixed.MaxT},
		{"pairs of ages, max-t", "age", mixed.AllPairs, mixed.MaxT},
		{"pairs of ages, Tukey", "age", mixed.AllPairs, mixed.Tukey},
		{"pairs of ages, Holm", "age", mixed.AllPairs, mixed.Holm},
	} {
		b.Run(bb.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				list, err := f.Means([]string{bb.by})
				if err != nil {
					b.Fatal(err)
				}
				if _, err := f.Contrasts(bb.make(list), mixed.ContrastOptions{Adjust: bb.adjust}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
