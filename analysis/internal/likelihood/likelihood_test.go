package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/mathtest"
)

// The cuts printed with the method: n log(1 + t^2/(n-1)) worked with R 4.2.2 qt (n*log1p(qt(.975,n-1)^2/(n-1))).
func TestSmallPanelCut(t *testing.T) {
	for n, want := range map[int]float64{3: 6.98, 5: 5.37, 8: 4.70, 12: 4.38, 16: 4.23, 24: 4.10} {
		mathtest.Close(t, "cut", SmallPanelCut(n, n-1, 0.95), want, 0.006, "closed form with R 4.2.2 qt, two decimals")
	}
	require.True(t, math.IsInf(SmallPanelCut(1, 0, 0.95), 1))
	mathtest.Close(t, "chi-square", ChiSquareCut(0.95), 3.841458820694124, 1e-9, "R 4.2.2 qchisq(.95,1)")
}

// The p-value is the level at which the cut is met.
func TestSmallPanelP(t *testing.T) {
	for _, n := range []int{3, 5, 12, 100} {
		for _, level := range []float64{0.5, 0.9, 0.95, 0.999} {
			require.InDelta(t, 1-level, SmallPanelP(SmallPanelCut(n, n-1, level), n, n-1), 1e-9)
		}
	}
	require.Equal(t, 1.0, SmallPanelP(-1e-12, 5, 4))
	require.True(t, math.IsNaN(SmallPanelP(1, 1, 0)))
}

// Profile limits of a normal mean at the small-panel cut are Student's interval.
func TestEndsOfANormalMean(t *testing.T) {
	x := []float64{4.1, 5.0, 6.3, 6.4, 8.8}
	n := float64(len(x))
	mean, ss := 0.0, 0.0
	for _, v := range x {
		mean += v / n
	}
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	f := func(mu float64) float64 { return -n / 2 * math.Log((ss+n*(mu-mean)*(mu-mean))/n) }
	lo, hi := Ends(f, mean, f(mean), SmallPanelCut(5, 4, 0.95), 0.1, -100, 100)
	half := distuv.StudentsT{Sigma: 1, Nu: 4}.Quantile(0.975) * math.Sqrt(ss/(n-1)/n)
	require.InDelta(t, mean-half, lo, 1e-6)
	require.InDelta(t, mean+half, hi, 1e-6)
}

func TestEndsOpenAndSteep(t *testing.T) {
	flat := func(psi float64) float64 { return -math.Exp(-psi) } // rises to 0: open above
	lo, hi := Ends(flat, 10, flat(10), 2, 0.5, -50, 50)
	require.InDelta(t, -math.Log(1+math.Exp(-10)), lo, 1e-6)
	require.True(t, math.IsInf(hi, 1))
	wall := func(psi float64) float64 {
		if psi < 1 || psi > 3 {
			return math.Inf(-1)
		}
		return 0
	}
	lo, hi = Ends(wall, 2, 0, 3, 0.3, -10, 10)
	require.InDelta(t, 1, lo, 1e-6)
	require.InDelta(t, 3, hi, 1e-6)
	lo, hi = Ends(wall, 2, 0, math.Inf(1), 0.3, -10, 10)
	require.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1))
}

func TestMeanLimits(t *testing.T) {
	mean, half := MeanLimits([]float64{4.1, 5.0, 6.3, 6.4, 8.8}, 0.95)
	mathtest.Close(t, "mean", mean, 6.12, 1e-12, "worked by hand")
	mathtest.Close(t, "half width", half, 2.20618221876, 1e-9, "R 4.2.2 t.test(c(4.1,5,6.3,6.4,8.8))")
}
