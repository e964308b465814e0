package lmm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestStarts begins every reference case far away, at 0 and close by: the end is the same.
func TestStarts(t *testing.T) {
	for _, e := range references(t) {
		name := strings.TrimSuffix(strings.TrimSuffix(strings.TrimPrefix(e.ID, "lmm_"), "_reml"), "_ml")
		m, ok := models[name]
		if !ok {
			require.Equal(t, "edge_one_taster", name)
			continue
		}
		p := m.problem(t, testdata(t, e.Data[0]))
		s := p.Space()
		cold := s.Fit(e.Values.REML, nil)
		for _, size := range []float64{0, 1e-7, 0.02, 1, 50, 2000} {
			start := make([]float64, p.Thetas())
			for k, diagonal := range p.Diagonal() {
				if start[k] = size; !diagonal {
					start[k] = -size / 3
				}
			}
			kept := append([]float64(nil), start...)
			o := s.Fit(e.Values.REML, start)
			require.Equal(t, kept, start, "the start is the caller's")
			require.True(t, o.Converged, "%s from %v: %s", e.ID, size, o.Why)
			require.InDelta(t, cold.Deviance, o.Deviance, 1e-8, "%s from %v", e.ID, size)
			for k := range start {
				require.InDelta(t, cold.Theta[k], o.Theta[k], 1e-4*(1+cold.Theta[k]), "%s from %v", e.ID, size)
			}
		}
	}
}

// TestUnits changes the units of covariates and response by powers that are not of two.
func TestUnits(t *testing.T) {
	f := testdata(t, "sim_crossed")
	m := models["crossed"]
	p := m.problem(t, f)
	s := p.Space()
	o := s.Fit(true, nil)
	beta := s.Beta()
	for _, unit := range []float64{1e8, 1e-8} {
		x := make([][]float64, p.p)
		for k, c := range p.x {
			factor := 1.0
			if strings.Contains(m.names[k], "time") {
				factor = unit
			}
			x[k] = times(factor, c)
		}
		terms := []Term{p.terms[0].Term, p.terms[1].Term}
		terms[0].Columns = [][]float64{nil, times(unit, terms[0].Columns[1])}
		q := New(x, times(1000, p.y), terms)
		z := q.Space()
		got := z.Fit(true, nil)
		require.True(t, got.Converged, got.Why)
		// |X'H^-1X| takes the square of the unit for each of its three columns, the n-p squares 1000 each
		want := o.Deviance + 2*float64(p.n-p.p)*math.Log(1000) + 6*math.Log(unit)
		require.InDelta(t, want, got.Deviance, 1e-6)
		for k, name := range m.names {
			factor := 1000.0
			if strings.Contains(name, "time") {
				factor /= unit
			}
			require.InEpsilon(t, beta[k]*factor, z.Beta()[k], 1e-6, name)
		}
		require.InEpsilon(t, o.Theta[2]/unit, got.Theta[2], 1e-4)
		require.InEpsilon(t, o.Theta[3], got.Theta[3], 1e-4)
	}
}

func times(f float64, v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = f * v[i]
	}
	return out
}

// TestOffset adds a constant of 10^8 to the response: the intercept takes it up and nothing else moves.
func TestOffset(t *testing.T) {
	p := models["sleepstudy_corr"].problem(t, testdata(t, "sleepstudy"))
	s := p.Space()
	o, beta := s.Fit(true, nil), s.Beta()
	y := append([]float64(nil), p.y...)
	for i := range y {
		y[i] += 1e8
	}
	s.SetResponse(y)
	got := s.Fit(true, nil)
	require.True(t, got.Converged, got.Why)
	require.InDelta(t, o.Deviance, got.Deviance, 1e-6)
	require.InDelta(t, beta[0]+1e8, s.Beta()[0], 1e-4)
	require.InDelta(t, beta[1], s.Beta()[1], 1e-6)
}

// TestOrder permutes rows and relabels levels.
func TestOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for _, kind := range kinds {
		x, y, terms := invented(rng, kind)
		o := New(x, y, terms).Space().Fit(true, nil)
		rows := rng.Perm(len(y))
		move := func(v []float64) []float64 {
			if v == nil {
				return nil
			}
			out := make([]float64, len(v))
			for i, r := range rows {
				out[i] = v[r]
			}
			return out
		}
		x2, terms2 := make([][]float64, len(x)), make([]Term, len(terms))
		for k := range x {
			x2[k] = move(x[k])
		}
		for k, tm := range terms {
			label := rng.Perm(tm.Levels)
			terms2[k] = Term{Levels: tm.Levels, Independent: tm.Independent}
			for _, r := range rows {
				terms2[k].Level = append(terms2[k].Level, label[tm.Level[r]])
			}
			for _, c := range tm.Columns {
				terms2[k].Columns = append(terms2[k].Columns, move(c))
			}
		}
		got := New(x2, move(y), terms2).Space().Fit(true, nil)
		require.Equal(t, o.Converged, got.Converged, kind)
		require.InDelta(t, o.Deviance, got.Deviance, 1e-7, kind)
	}
}

// TestState says that the Space stands at the optimum after Fit, and that a given start leads to the same bytes each time.
func TestState(t *testing.T) {
	for name, m := range models {
		file := map[bool]string{true: "sim_crossed"}[strings.HasPrefix(name, "crossed")]
		if file == "" {
			file, _, _ = strings.Cut(name, "_")
		}
		p := m.problem(t, testdata(t, file))
		s, z := p.Space(), p.Space()
		o := s.Fit(true, nil)
		beta, modes := s.Beta(), s.Modes(0)
		g := make([]float64, p.Thetas())
		require.Equal(t, o.Deviance, z.Gradient(o.Theta, true, g), name)
		require.Equal(t, o.Gradient, g, name)
		require.Equal(t, beta, z.Beta(), name)
		require.Equal(t, modes, z.Modes(0), name)
		require.Equal(t, fmt.Sprint(o), fmt.Sprint(p.Space().Fit(true, nil)), name)
	}
}

func TestEvaluationsAllocateNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for _, kind := range kinds {
		p := New(invented(rng, kind))
		s := p.Space()
		theta, g := randomTheta(rng, p), make([]float64, p.Thetas())
		require.Zero(t, testing.AllocsPerRun(20, func() { s.Deviance(theta, true) }), kind)
		require.Zero(t, testing.AllocsPerRun(20, func() { s.Gradient(theta, false, g) }), kind)
		require.Zero(t, testing.AllocsPerRun(20, func() {
			s.Gradient(theta, true, g)
			s.min.newton()
		}), kind)
		require.Zero(t, testing.AllocsPerRun(20, func() { s.SetResponse(p.y) }), kind)
	}
}

// TestPrecise has a residual far below the levels' spread: the balanced one-way case has closed forms. With k rows in each
// of m levels and mean squares MSA between and MSE within, REML gives sigma^2 = MSE and theta^2 = (MSA/MSE - 1)/k. Rounding
// of the sums within levels leaves theta^2 * 1e-16 of theta.
func TestPrecise(t *testing.T) {
	const m, k = 7, 4
	for _, tt := range []struct{ spread, tol float64 }{{1, 1e-6}, {1e-4, 1e-6}, {1e-5, 1e-5}} {
		rng := rand.New(rand.NewPCG(31, 32))
		var y []float64
		var level []int
		for j := range m {
			b := rng.NormFloat64()
			for range k {
				y, level = append(y, 5+b+tt.spread*rng.NormFloat64()), append(level, j)
			}
		}
		within, between, grand := 0.0, 0.0, 0.0
		for _, v := range y {
			grand += v / (m * k)
		}
		for j := range m {
			mean := 0.0
			for i := range k {
				mean += y[j*k+i] / k
			}
			between += k * (mean - grand) * (mean - grand) / (m - 1)
			for i := range k {
				within += (y[j*k+i] - mean) * (y[j*k+i] - mean) / (m * (k - 1))
			}
		}
		s := New([][]float64{ones(m * k)}, y, []Term{{m, level, [][]float64{nil}, false}}).Space()
		o := s.Fit(true, nil)
		require.True(t, o.Converged, o.Why)
		require.InEpsilon(t, math.Sqrt(within), s.Sigma(true), tt.tol)
		require.InEpsilon(t, math.Sqrt((between/within-1)/k), o.Theta[0], tt.tol)
	}
}
