package answer

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// A panel of twelve, and one of many tasters and tastes, at eight ages.
func BenchmarkAgeDifferences(b *testing.B) {
	for _, tasters := range []int{12, 120, 360} {
		b.Run(fmt.Sprint(8*tasters, " tastes"), func(b *testing.B) {
			in := decline(rand.New(rand.NewPCG(5, 6)), tasters, []float64{1, 3, 5, 7, 9, 11, 13, 15}, -0.3, 0.1).Indexed()
			b.ReportAllocs()
			for b.Loop() {
				a, err := NewAgeDifferences(in, sour)
				require.NoError(b, err)
				require.Equal(b, OK, a.Status)
			}
		})
	}
}
