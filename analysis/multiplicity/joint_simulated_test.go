package multiplicity_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/multiplicity"
)

// Draws by hand: normal statistics over one common scale.
func TestSimulated(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310401, 3))
	const rounds, c = 200_000, 2.2
	for _, tt := range []struct {
		n, rank int
		df      float64
	}{{5, 4, 8}, {8, 2, 20}, {7, 6, math.Inf(1)}} {
		l := make([][]float64, tt.n)
		for i := range l {
			l[i] = make([]float64, tt.rank)
			length := 0.0
			for k := range l[i] {
				l[i][k] = rng.NormFloat64()
				length += l[i][k] * l[i][k]
			}
			for k := range l[i] {
				l[i][k] /= math.Sqrt(length)
			}
		}
		var both, greater float64
		y := make([]float64, tt.rank)
		for range rounds {
			s := 1.0
			if !math.IsInf(tt.df, 1) {
				s = 0
				for range int(tt.df) {
					z := rng.NormFloat64()
					s += z * z / tt.df
				}
			}
			for k := range y {
				y[k] = rng.NormFloat64()
			}
			top, size := math.Inf(-1), 0.0
			for _, row := range l {
				v := 0.0
				for k := range y {
					v += row[k] * y[k] / math.Sqrt(s)
				}
				top, size = max(top, v), max(size, math.Abs(v))
			}
			if size > c {
				both++
			}
			if top > c {
				greater++
			}
		}
		for side, count := range map[multiplicity.Side]float64{multiplicity.TwoSided: both, multiplicity.Greater: greater} {
			share := count / rounds
			p, _ := tail(t, joint(t, of(ones(tt.rank), l), tt.df, side), c)
			mathtest.Close(t, "simulated", p, share, 4*math.Sqrt(share*(1-share)/rounds), "200,000 seeded draws, four standard errors")
		}
	}
}
