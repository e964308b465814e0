package multiplicity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/multiplicity"
)

// Ages against fresh where tasters fall at different speeds: of no form that quadrature knows. Coarser points say how coarse they
// are, and are right within that.
func TestCoarserPoints(t *testing.T) {
	const ages = 8
	cov := func(i, j int) float64 {
		v := 0.04*float64(i+1)*float64(j+1) + 0.5
		if i == j {
			v += 0.5 * float64(1+i%3)
		}
		return v
	}
	corr := mat.NewSymDense(ages, nil)
	for i := range ages {
		for j := range i + 1 {
			corr.SetSym(i, j, cov(i, j)/math.Sqrt(cov(i, i)*cov(j, j)))
		}
	}
	fine := joint(t, corr, 30, multiplicity.TwoSided)
	require.Equal(t, []string{"lattice"}, fine.Methods())
	want, err := fine.Critical(0.95)
	require.NoError(t, err)
	coarse, err := multiplicity.NewJointWithin(corr, 30, multiplicity.TwoSided, 2e-4)
	require.NoError(t, err)
	got, err := coarse.Critical(0.95)
	require.NoError(t, err)
	require.Greater(t, got.Within, want.Within)
	mathtest.Close(t, "critical value", got.Value, want.Value, got.Within+want.Within, "the same by more points")
	for _, at := range []float64{2, 2.5, 3, 4} {
		p, within, err := fine.Tail(at)
		require.NoError(t, err)
		q, coarser, err := coarse.Tail(at)
		require.NoError(t, err)
		require.True(t, p > 0.1 || coarser <= 2e-4, "%g at %g", coarser, p)
		mathtest.Close(t, "tail", q, p, within+coarser, "the same by more points")
	}
}
