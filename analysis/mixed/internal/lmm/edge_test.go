package lmm

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// finite fails on a NaN anywhere in an optimum.
func finite(t *testing.T, o Optimum) {
	t.Helper()
	require.False(t, math.IsNaN(o.Deviance))
	for k := range o.Theta {
		require.False(t, math.IsNaN(o.Theta[k]) || math.IsInf(o.Theta[k], 0), "theta[%d] = %v", k, o.Theta[k])
		require.False(t, math.IsNaN(o.Gradient[k]), "gradient[%d]", k)
	}
}

// A single level cannot tell its variance from the intercept: the deviance is lowest at 0, REML flat.
func TestSingleLevel(t *testing.T) {
	y := []float64{3, 4, 2, 5, 6, 4}
	p := New([][]float64{ones(6)}, y, []Term{{Levels: 1, Level: make([]int, 6), Columns: [][]float64{nil}}})
	s := p.Space()
	o := s.Fit(false, nil)
	finite(t, o)
	require.True(t, o.Converged, o.Why)
	require.Zero(t, o.Theta[0])
	o = s.Fit(true, nil)
	finite(t, o)
	require.InDelta(t, s.Deviance([]float64{0}, true), o.Deviance, 1e-9)
}

func TestPerfectFit(t *testing.T) {
	level := []int{0, 0, 0, 1, 1, 1, 2, 2, 2}
	x := []float64{1, 2, 3, 1, 2, 3, 1, 2, 3}
	for name, y := range map[string][]float64{
		"constant": ones(9),
		"zero":     make([]float64, 9),
		"line":     {3, 5, 7, 3, 5, 7, 3, 5, 7},
	} {
		s := New([][]float64{ones(9), x}, y, []Term{{Levels: 3, Level: level, Columns: [][]float64{nil, x}}}).Space()
		o := s.Fit(true, nil)
		finite(t, o)
		require.False(t, o.Converged, name)
		require.Contains(t, o.Why, "passes through every value", name)
	}
	s := New([][]float64{ones(9)}, []float64{1, 1, 1, 5, 5, 5, 2, 2, 2}, []Term{{Levels: 3, Level: level, Columns: [][]float64{nil}}}).Space()
	o := s.Fit(true, nil)
	finite(t, o)
	require.False(t, o.Converged, "constant within levels")
	require.NotEmpty(t, o.Why)
	t.Log(o)
}

func TestDependentColumns(t *testing.T) {
	y := []float64{1, 4, 2, 5, 6, 4}
	o := New([][]float64{ones(6), ones(6)}, y, []Term{{Levels: 2, Level: []int{0, 0, 0, 1, 1, 1}, Columns: [][]float64{nil}}}).Space().Fit(true, nil)
	finite(t, o)
	require.False(t, o.Converged)
	require.Contains(t, o.Why, "depend on each other")
}
