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
	require.False(t, o.Converged)
	require.Contains(t, o.Why, "moves theta[0]")
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

// TestDegenerate runs designs that say nothing about some of their parameters: no panic, no NaN, and where it converges,
// nowhere near is better.
func TestDegenerate(t *testing.T) {
	y := []float64{3, 4.5, 2, 5, 6, 4, 7, 1, 2.5, 3.5}
	n := len(y)
	each, two, alone := make([]int, n), make([]int, n), make([]int, n)
	for i := range n {
		each[i], two[i], alone[i] = i, i%2, max(i-4, 0)
	}
	zeros, one := make([]float64, n), [][]float64{nil}
	ramp := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	perLevel := indicator(two, 1) // constant within levels
	for name, terms := range map[string][]Term{
		"none":                       {},
		"a level per row":            {{n, each, one, false}},
		"slope per row":              {{n, each, [][]float64{nil, ramp}, false}},
		"a column of zeros":          {{2, two, [][]float64{zeros}, false}},
		"a slope of zeros":           {{2, two, [][]float64{nil, zeros}, false}},
		"slope constant in levels":   {{2, two, [][]float64{nil, perLevel}, false}},
		"same column twice":          {{2, two, [][]float64{ramp, ramp}, false}},
		"same column twice, apart":   {{2, two, [][]float64{ramp, ramp}, true}},
		"single rows in most levels": {{6, alone, [][]float64{nil, ramp}, false}},
		"empty levels":               {{5, two, one, false}, {40, alone, one, false}},
		"five columns":               {{2, two, [][]float64{nil, ramp, perLevel, y, zeros}, false}},
	} {
		for _, x := range [][][]float64{{}, {ones(n)}, {ones(n), ramp}, {ones(n), y}} {
			for _, reml := range []bool{true, false} {
				p := New(x, y, terms)
				s := p.Space()
				o := s.Fit(reml, nil)
				finite(t, o)
				require.Equal(t, o.Converged, o.Why == "", name)
				for _, v := range append(append(s.Beta(), s.Unscaled()...), s.Sigma(reml)) {
					require.False(t, math.IsNaN(v), name)
				}
				if len(x) == 2 && x[1][1] == y[1] {
					require.False(t, o.Converged, name)
					continue
				}
				if !o.Converged {
					t.Logf("%s, p %d, REML %v: %s", name, len(x), reml, o.Why)
					continue
				}
				for k := range o.Theta {
					for _, by := range []float64{0.01, -0.01} {
						moved := append([]float64(nil), o.Theta...)
						moved[k] += by
						require.GreaterOrEqual(t, s.Deviance(moved, reml), o.Deviance-1e-7, "%s theta[%d] %v REML %v %+v", name, k, by, reml, o)
					}
				}
			}
		}
	}
	o := New([][]float64{ones(3), {1, 2, 3}, {1, 4, 9}}, []float64{1, 5, 2}, []Term{{3, []int{0, 1, 2}, one, false}}).Space().Fit(true, nil)
	finite(t, o)
	require.Contains(t, o.Why, "more rows than fixed columns")
}

// TestHuge evaluates where the columns of crossed factors depend on each other but for the ones on the diagonal: pivots
// stay at 1 or more. By far the largest part of the criterion is then log|H|, 2 log(theta) for each of the 24 + 6 - 1
// directions of Z, of which REML takes off one for the intercept.
func TestHuge(t *testing.T) {
	s := models["penicillin"].problem(t, testdata(t, "penicillin")).Space()
	f := func(theta float64, reml bool) float64 { return s.Deviance([]float64{theta, theta}, reml) }
	require.InDelta(t, 2*29*math.Log(10), f(1e5, false)-f(1e4, false), 1e-3)
	require.InDelta(t, 2*28*math.Log(10), f(1e5, true)-f(1e4, true), 1e-3)
	require.False(t, math.IsInf(f(farOut, true), 0) || math.IsNaN(f(farOut, true)))
}
