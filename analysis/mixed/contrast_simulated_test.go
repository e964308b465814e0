package mixed_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// Ages against fresh by MaxT: in panels with a truth of no differences some p-value is below 0.05 in a twentieth of them, and
// the joint limits hold all true differences in nineteen twentieths; tasters scatter, and rows are missing in the second
// run. Bonferroni's are careful, p-values alone far off.
func TestMaxTKeepsItsLevel(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	rng := rand.New(rand.NewPCG(20310404, 2))
	for _, tt := range []struct{ panels, lost float64 }{{2000, 0}, {300, 0.1}} {
		rejected := map[mixed.Adjustment]float64{}
		missed := 0.0
		for range int(tt.panels) {
			f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("age")), Random: perTaster}, withoutDifferences(t, rng, tt.lost))
			list := mixed.AgainstFirst(means(t, f, "age"))
			for _, adjust := range []mixed.Adjustment{mixed.None, mixed.MaxT, mixed.Bonferroni} {
				got, err := f.Contrasts(list, mixed.ContrastOptions{Adjust: adjust})
				require.NoError(t, err)
				some, out := false, false
				for _, c := range got.List {
					some = some || c.Adjusted < 0.05
					out = out || c.Joint && (c.JointLower > 0 || c.JointUpper < 0)
				}
				if some {
					rejected[adjust]++
				}
				if out && adjust == mixed.MaxT {
					missed++
				}
			}
		}
		error := 4 * math.Sqrt(0.05*0.95/tt.panels)
		require.InDelta(t, 0.05, rejected[mixed.MaxT]/tt.panels, error)
		require.InDelta(t, 0.05, missed/tt.panels, error)
		require.LessOrEqual(t, rejected[mixed.Bonferroni], rejected[mixed.MaxT])
		require.Greater(t, rejected[mixed.None]/tt.panels, 0.05+error)
		t.Logf("some rejection: alone %.3f, max-t %.3f, Bonferroni %.3f", rejected[mixed.None]/tt.panels, rejected[mixed.MaxT]/tt.panels, rejected[mixed.Bonferroni]/tt.panels)
	}
}

// withoutDifferences is a panel of six tasters at five ages that all score alike.
func withoutDifferences(t *testing.T, rng *rand.Rand, lost float64) *mixed.Table {
	var taster []string
	var age, score []float64
	for k := range 6 {
		offset := rng.NormFloat64()
		for _, a := range []float64{0, 3, 6, 9, 12} {
			if rng.Float64() >= lost {
				taster, age, score = append(taster, string(rune('a'+k))), append(age, a), append(score, 7+offset+0.8*rng.NormFloat64())
			}
		}
	}
	return table(t, mixed.Labels("taster", taster), mixed.Numbers("age", age), mixed.Numbers("score", score))
}
