package multiplicity

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mathtest"
)

// The rule over the angle against a fine even grid of angles, one- and two-sided, also for w below 0.
func TestPlaneByBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310406, 1))
	for range 5 {
		rows := make([][]float64, 3+rng.IntN(3))
		for i := range rows {
			s, c := math.Sincos(2 * math.Pi * rng.Float64())
			rows[i] = []float64{c, s}
		}
		for _, both := range []bool{true, false} {
			r, points := plane(rows, both), lattice(rows, nil, both, 1)
			const angles = 200_000
			for _, w := range []float64{-1.5, -0.4, 0.02, 0.1, 0.7, 2, 5} {
				if both && w < 0 {
					continue
				}
				brute := 0.0
				for k := range angles {
					s, c := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / angles)
					top := -1.0
					for _, a := range rows {
						v := a[0]*c + a[1]*s
						if both {
							v = math.Abs(v)
						}
						top = max(top, v)
					}
					brute += r.beyond(w, top) / angles
				}
				mathtest.Close(t, "plane", r.exceed(w).p, brute, 2e-8, "200,000 angles")
				drawn := points.exceed(w)
				mathtest.Close(t, "points", drawn.p, brute, 2*drawn.within+1e-5, "200,000 angles; in two dimensions M crowds at 1, which the grid follows less well than in more")
			}
		}
	}
}

// A companion leaves the answer and takes most of the error away, be it one factor or all pairs.
func TestCompanionHelps(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310406, 2))
	disturbed := func(at *mat.SymDense) *mat.SymDense {
		n := at.SymmetricDim()
		z := mat.NewDense(n, n, nil)
		for i := range n {
			for j := range n {
				z.Set(i, j, 0.008*rng.NormFloat64())
			}
		}
		var moved mat.Dense // a correlation matrix again: (I + Z) R (I + Z)'
		for i := range n {
			z.Set(i, i, 1+z.At(i, i))
		}
		moved.Product(z, at, z.T())
		out := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				out.SetSym(i, j, moved.At(i, j)/math.Sqrt(moved.At(i, i)*moved.At(j, j)))
			}
		}
		return out
	}
	half := mat.NewSymDense(5, nil)
	for i := range 5 {
		for j := range i + 1 {
			half.SetSym(i, j, 0.5)
		}
		half.SetSym(i, i, 1)
	}
	pairs := mat.NewSymDense(6, nil) // 12, 13, 14, 23, 24, 34
	for i, row := range [][]float64{{1}, {0.5, 1}, {0.5, 0.5, 1}, {-0.5, 0.5, 0, 1}, {-0.5, 0, 0.5, 0.5, 1}, {0, -0.5, 0.5, -0.5, 0.5, 1}} {
		for j, v := range row {
			pairs.SetSym(i, j, v)
		}
	}
	for _, start := range []*mat.SymDense{half, pairs} {
		corr := disturbed(start)
		group := make([]int, corr.SymmetricDim())
		for i := range group {
			group[i] = i
		}
		rows, ok := directions(corr, group)
		require.True(t, ok)
		c := nearest(corr, group, true)
		require.NotNil(t, c)
		own, turned, ok := c.aligned(rows)
		require.True(t, ok)
		with := lattice(own, turned, true, 1)
		with.base = c.law
		without := lattice(rows, nil, true, 1)
		finest := lattice(rows, nil, true, 3)
		for _, w := range []float64{2, 2.5, 3} {
			a, b, truth := with.exceed(w), without.exceed(w), finest.exceed(w)
			require.Less(t, a.within, b.within/1.5)
			mathtest.Close(t, "with companion", a.p, truth.p, 2*(a.within+truth.within), "16 times as many points")
		}
	}
}
