package mixed

import (
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/mathtest"
)

// Lines of three subjects of sleepstudy by least squares alone: base R, lm(Reaction ~ Days, subset = Subject == 308) and so
// on, as coef() prints them with ten digits.
func TestSeparate(t *testing.T) {
	fit := model(t, "sleepstudy_corr")
	levels, beta, err := fit.Separate("Subject", []int{0, 1})
	require.NoError(t, err)
	require.Len(t, levels, 18)
	want := map[string][2]float64{"308": {244.19266909, 21.76470242}, "335": {263.034692727, -2.881033939}, "372": {267.0448, 11.29807333}}
	for i, level := range levels {
		if w, ok := want[level]; ok {
			mathtest.Close(t, level+" intercept", beta[i][0], w[0], 1e-7, "R 4.2 lm")
			mathtest.Close(t, level+" slope", beta[i][1], w[1], 1e-7, "R 4.2 lm")
		}
	}
	_, _, err = fit.Separate("Drink", []int{0})
	require.ErrorContains(t, err, "Drink")
	_, _, err = fit.Separate("Subject", []int{2})
	require.ErrorContains(t, err, "from 0 to 1")
}
