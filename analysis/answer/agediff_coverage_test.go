package answer

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// decline invents tasters with an own level (SD 1) and decline per minute (SD spread) at planned ages tasted up to a fifth of a
// minute off, and scores with SD 0.5.
func decline(rng *rand.Rand, tasters int, ages []float64, slope, spread float64) Input {
	rows := make([][]float64, tasters)
	var actual [][]float64
	for i := range rows {
		level, own := 8+rng.NormFloat64(), slope+spread*rng.NormFloat64()
		actual = append(actual, nil)
		for _, a := range ages {
			at := a + 0.4*(rng.Float64()-0.5)
			actual[i] = append(actual[i], at)
			rows[i] = append(rows[i], level+own*at+0.5*rng.NormFloat64())
		}
	}
	in := liked(ages, rows...)
	for j := range in.Panel.Tastes {
		x := &in.Panel.Tastes[j]
		x.Planned, x.HasPlanned = x.Age, true
		x.Age = panel.Age(actual[j/len(ages)][j%len(ages)])
	}
	return in
}

// Simultaneous limits cover all differences at once in 95 of 100 panels, and sameness is wrongly shown in 5 of 100 at most,
// where the last age lies exactly a margin below fresh. Monte Carlo errors are three standard errors.
func TestAgeDifferencesCoverage(t *testing.T) {
	panels := 150
	if testing.Short() {
		panels = 20
	}
	ages := []float64{1, 4, 7, 10, 13}
	const slope = -0.1
	for _, n := range []int{4, 12} {
		covered, wrong, alone := 0, 0, 0
		for i := range panels {
			in := decline(rand.New(rand.NewPCG(uint64(n), uint64(i))), n, ages, slope, 0.08)
			in.Panel.Settings.SameMargin = 1.2 // which the last age just misses
			a := agesOf(t, in)
			require.Equal(t, OK, a.Status)
			all := true
			for k := 1; k < len(ages); k++ {
				truth := slope * (ages[k] - ages[0])
				all = all && a.Steps[k].Lower <= truth && truth <= a.Steps[k].Upper
			}
			if all {
				covered++
			}
			if a.SameStatus == BeyondLastAge {
				wrong++
			}
			if x := a.Steps[4]; math.Abs(x.Difference-slope*12)/x.SE < 1.96 {
				alone++
			}
		}
		rate := func(k int) float64 { return float64(k) / float64(panels) }
		t.Logf("%d tasters: all differences covered in %.3f of %d panels; 1.96 standard errors cover the last alone in %.3f; sameness at its margin shown in %.3f", n, rate(covered), panels, rate(alone), rate(wrong))
		off := 3 * math.Sqrt(0.95*0.05/float64(panels))
		require.Greater(t, rate(covered), 0.95-off)
		require.Less(t, rate(wrong), 0.05+off)
	}
}
