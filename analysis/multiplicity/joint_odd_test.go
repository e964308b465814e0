package multiplicity_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/multiplicity"
)

// Matrices that are singular, nearly so, or hold a statistic twice: p-values lie between that of one alone and Bonferroni's,
// critical values are finite, whatever the side, the degrees of freedom and how far out the statistic is.
func TestOddMatrices(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310407, 1))
	for range 40 {
		n, rank := 1+rng.IntN(7), 1+rng.IntN(4)
		l := make([][]float64, n)
		for i := range l {
			if i > 0 && rng.IntN(4) == 0 {
				l[i] = l[rng.IntN(i)]
				continue
			}
			l[i] = make([]float64, rank)
			for k := range l[i] {
				l[i][k] = float64(rng.IntN(3) - 1)
				if rng.IntN(3) == 0 {
					l[i][k] += math.Pow(10, -float64(rng.IntN(14))) * rng.NormFloat64()
				}
			}
			l[i][rng.IntN(rank)] = 1.5
		}
		df := []float64{1, 2.2, 30, 1e6, math.Inf(1)}[rng.IntN(5)]
		level := []float64{0.5, 0.95, 0.999999}[rng.IntN(3)]
		for side := multiplicity.TwoSided; side <= multiplicity.Less; side++ {
			j := joint(t, of(ones(rank), l), df, side)
			for _, c := range []float64{-30, -1, 0, 1e-9, 0.4, 2, 6, 1000} {
				p, within, err := j.Tail(c)
				require.NoError(t, err)
				at := c
				switch side {
				case multiplicity.TwoSided:
					at = math.Abs(c)
				case multiplicity.Less:
					at = -c
				}
				one := single(at, df, side)
				require.GreaterOrEqual(t, p, one*(1-1e-7)-within)
				require.LessOrEqual(t, p, min(1, float64(n)*one*(1+1e-7)+within))
				require.False(t, math.IsNaN(within))
			}
			critical, err := j.Critical(level)
			require.NoError(t, err)
			require.False(t, math.IsNaN(critical.Value+critical.Within) || math.IsInf(critical.Value+critical.Within, 0))
		}
	}
}
