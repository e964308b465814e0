package reply

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// highest is the profile at psi by climbing from many places.
func highest(l *Line, psi float64, more []float64) float64 {
	w := newWalker(l)
	w.b = l.box()
	best, i := math.Inf(-1), l.p.P-1
	for _, lambda := range []float64{-5, -3, -2, -1, 0, 1, 2, 5, 9} {
		for _, theta := range []float64{0, 0.1, 0.4, 0.9, 1.3, 1.55} {
			l.drop(more, w.y)
			w.y[i], w.y[i+1] = lambda, theta
			w.b.into(w.y)
			v, _ := w.profile(psi, w.y)
			best = max(best, v)
		}
	}
	l.drop(more, w.y)
	v, _ := w.profile(psi, w.y)
	return max(best, v)
}

// At every end the profile, maximised from many places, has fallen by half the cut; a little further in it has not, a little
// further out it has; an open end is inside at its bound.
func TestEndsMeetTheCut(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of ascents")
	}
	rng := rand.New(rand.NewPCG(17, 1))
	grids := [][]float64{{2, 4, 6, 8, 10, 12, 14, 16}, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}, {1, 2, 3, 5, 8, 12, 16}, {4, 7, 11}}
	bad, open, seen := 0, 0, 0
	for trial := range endTrials {
		n := []int{2, 3, 5, 8, 12}[rng.IntN(5)]
		tau := []float64{0, 0.2, 0.4}[rng.IntN(3)]
		slips := []float64{0, 0.02, 0.02}[rng.IntN(3)]
		p := New(Law{slips, 1 - slips}, invent(rng, n, grids[rng.IntN(4)], math.Log(3+8*rng.Float64()), 0.1+0.5*rng.Float64(), tau, slips))
		top := p.Maximise(200)
		far, _ := p.Far()
		if top.V == nil || top.Value < far+1e-7 || p.Widest(top.V) || p.Flat(top.V, top.Value, 200) {
			continue
		}
		cut := []float64{3, 4.38, 5.37, 6.98}[rng.IntN(4)]
		k := math.Sqrt(float64(n) / float64(n-1))
		lines := []*Line{p.Quantile([]float64{1}, 0, k), p.Quantile([]float64{1}, -1.2815515655446004, k), p.Share([]float64{1}, math.Log(8), k)}
		for q, l := range lines {
			at := l.Psi(top.V)
			bounds := [2]float64{p.youngest - 30*p.scale(), p.oldest + 30*p.scale()}
			if q == 2 {
				bounds = [2]float64{-8.3, 8.3}
			}
			if at < bounds[0] || at > bounds[1] {
				continue
			}
			for side, way := range []float64{-1, 1} {
				seen++
				end := l.End(at, top.V, top.Value, cut, 0.2, bounds[side], way)
				over := func(psi float64) float64 { return 2*(top.Value-highest(l, psi, top.V)) - cut }
				if math.IsInf(end, 0) {
					open++
					if v := over(bounds[side]); v > 1e-3 {
						bad++
						t.Logf("trial %d line %d way %v: called open, at the bound %v over", trial, q, way, v)
					}
					continue
				}
				d := 1e-4 + 1e-3*math.Abs(end-at)
				if in, out := over(end-way*d), over(end+way*d); in > 1e-5 || out < -1e-5 {
					bad++
					t.Logf("trial %d line %d way %v n %d slips %v cut %v: end %v of %v: inside %v outside %v; top %v %v", trial, q, way, n, slips, cut, end, at, in, out, top.V, top.Value)
				}
			}
		}
	}
	t.Logf("%d ends, %d open", seen, open)
	require.Zero(t, bad)
}

const endTrials = 40

// The same for the difference of two limits of one taster, with all spreads free.
func TestNestedEndsMeetTheCut(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of ascents")
	}
	rng := rand.New(rand.NewPCG(18, 1))
	bad, seen := 0, 0
	for trial := range 6 {
		rho, tau := []float64{0, 0.6, 1}[trial%3], []float64{0, 0.25}[trial%2]
		p := New(Law{0.02, 0.98}, pairs(rng, 4+rng.IntN(5), 1.2, rho, tau, []float64{2, 4, 6, 8, 10, 12, 14, 16}))
		top := p.Maximise(200)
		require.True(t, top.Converged, "trial %d: %+v", trial, top)
		l := p.Coefficient(1)
		const cut = 4.7
		for _, way := range []float64{-1, 1} {
			end := l.End(top.V[1], top.V, top.Value, cut, 0.2, top.V[1]+way*60, way)
			over := func(psi float64) float64 { return 2*(top.Value-highestNested(l, psi, top.V)) - cut }
			d := 1e-3
			require.False(t, math.IsInf(end, 0))
			seen++
			if in, out := over(end-way*d), over(end+way*d); in > 1e-5 || out < -1e-5 {
				bad++
				t.Logf("trial %d way %v: end %v of %v: inside %v outside %v; %v", trial, way, end, top.V[1], in, out, top.V)
			}
		}
	}
	require.Zero(t, bad)
	require.Equal(t, 12, seen)
}

// highestNested is the profile at psi by climbing from several places.
func highestNested(l *Line, psi float64, v []float64) float64 {
	w := newWalker(l)
	w.b = l.box()
	best, i := math.Inf(-1), l.p.P-1
	for _, theta := range []float64{0, 0.3, 0.9, 1.4} {
		for _, alpha := range []float64{0, 0.4, 1.1, math.Pi / 2} {
			l.drop(v, w.y)
			w.y[i+1], w.y[i+2] = theta, alpha
			value, _ := w.profile(psi, w.y)
			best = max(best, value)
		}
	}
	return best
}
