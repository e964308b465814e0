package mixed

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/resample"
)

// In panels of ten tasters and six drinks with holes, drawn from a known model, limits on Kenward and Roger's degrees of
// freedom hold the truth as often as they say; normal limits of differences between styles, which two drinks each inform,
// do so far too seldom. Monte Carlo error: four standard errors of a share.
func TestLimitsHoldTheTruth(t *testing.T) {
	draws := 600
	if testing.Short() {
		draws = 150
	}
	fit := unbalanced(t)
	d := fit.drawer()
	columns := slices.DeleteFunc(slices.Clone(fit.table.columns), func(c Column) bool { return c.name == "score" })
	held := map[DF][]int{KenwardRoger: make([]int, len(fit.beta)), Satterthwaite: make([]int, len(fit.beta)), Normal: make([]int, len(fit.beta))}
	for i := range draws {
		d.draw(resample.Child(21, uint64(i)))
		table, err := NewTable(append(slices.Clone(columns), Numbers("score", d.y))...)
		require.NoError(t, err)
		again, err := fit.spec.Fit(table)
		require.NoError(t, err)
		for df, counts := range held {
			list, err := again.Coef(df)
			require.NoError(t, err)
			for j, c := range list {
				if c.Lower <= fit.beta[j] && fit.beta[j] <= c.Upper {
					counts[j]++
				}
			}
		}
	}
	share := func(df DF, j int) float64 { return float64(held[df][j]) / float64(draws) }
	slack := math.Sqrt(0.95 * 0.05 / float64(draws))
	for j, name := range fit.Coefficients() {
		t.Logf("%s: Kenward-Roger %.3f, Satterthwaite %.3f, normal %.3f", name, share(KenwardRoger, j), share(Satterthwaite, j), share(Normal, j))
		require.Greater(t, share(KenwardRoger, j), 0.95-4*slack, name)
	}
	require.Less(t, share(Normal, 1), 0.95-2*slack)
	require.Less(t, share(Normal, 1), share(KenwardRoger, 1))
}
