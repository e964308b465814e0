package multiplicity_test

import (
	"math"
	"testing"

	"lastsip/analysis/multiplicity"
)

// Six ages against fresh: five adjusted p-values and the critical value. Then all pairs of styles, equally precise or not;
// where points are drawn, the law is most of the time.
func BenchmarkJoint(b *testing.B) {
	unequal := []float64{1, 1.3, 0.8, 1.1, 0.9, 1.2}
	loads := []float64{0.7, 0.72, 0.69, 0.75, 0.66}
	for _, bb := range []struct {
		name string
		make func() *multiplicity.Joint
	}{
		{"fresh, equal", func() *multiplicity.Joint { return joint(b, equal(5, 0.5), 200, multiplicity.TwoSided) }},
		{"fresh, unequal", func() *multiplicity.Joint { return joint(b, products(loads), 200, multiplicity.TwoSided) }},
		{"fresh, normal", func() *multiplicity.Joint { return joint(b, products(loads), math.Inf(1), multiplicity.TwoSided) }},
		{"pairs of 6", func() *multiplicity.Joint { return joint(b, of(ones(6), allPairs(6)), 200, multiplicity.TwoSided) }},
		{"pairs of 3, unequal", func() *multiplicity.Joint { return joint(b, of(unequal[:3], allPairs(3)), 200, multiplicity.TwoSided) }},
		{"pairs of 4, unequal", func() *multiplicity.Joint { return joint(b, of(unequal[:4], allPairs(4)), 200, multiplicity.TwoSided) }},
		{"pairs of 6, unequal", func() *multiplicity.Joint { return joint(b, of(unequal, allPairs(6)), 200, multiplicity.TwoSided) }},
	} {
		b.Run(bb.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				j := bb.make()
				stats := make([]float64, j.Len())
				for i := range stats {
					stats[i] = 0.5 + 0.3*float64(i)
				}
				if _, err := j.Adjust(stats); err != nil {
					b.Fatal(err)
				}
				if _, err := j.Critical(0.95); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
