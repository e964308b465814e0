package reply

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The integral against panels of Gauss-Legendre, at every size of both spreads.
func TestSingleMeetsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	worst := 0.0
	for _, ratio := range []float64{0, 1e-6, 0.01, 0.1, 0.3, 0.34, 0.5, 2, 30, 1e5} {
		for _, sigma := range []float64{1e-6, 0.01, 0.3, 3} {
			for _, slips := range []float64{0, 1e-3, 0.02, 0.2} {
				for range 6 {
					law := Law{slips, 1 - slips}
					at, yes := replies(rng, 1+rng.IntN(24))
					mu, tau := 3*rng.Float64(), ratio*sigma
					g := one(law, at, yes)
					if slips == 0 && g.limits[0].start < -1e300 {
						continue
					}
					s := math.Hypot(sigma, tau)
					var w space
					w.evaluate(g, mu, newSpread(math.Log(s), math.Atan2(tau, sigma)), true, false)
					got := w.raw[0].l * math.Exp(g.limits[0].scale)
					want := brute(func(m float64) float64 { return chance(law, at, yes, m, tau) }, at, mu, sigma, tau)
					if want < 1e-290 {
						continue
					}
					worst = max(worst, math.Abs(got/want-1))
					if math.Abs(got/want-1) > 1e-8 {
						t.Logf("sigma %v ratio %v slips %v n %d: got %v want %v rel %.2e", sigma, ratio, slips, len(at), got, want, got/want-1)
						t.Log(at, yes, mu, w.half[0]/w.raw[0].l, len(w.node))
					}
				}
			}
		}
	}
	require.Less(t, worst, 1e-8)
	t.Log(worst)
}

// Gradient and Hessian against central differences of the value and of the gradient.
func TestDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	for range 300 {
		var subjects []Subject
		for range 1 + rng.IntN(4) {
			at, yes := replies(rng, 1+rng.IntN(12))
			subjects = append(subjects, Subject{Weight: 0.5 + rng.Float64(), Units: []Unit{{Row: []float64{1, float64(rng.IntN(2))}, At: at, Yes: yes}}})
		}
		p := New(Law{0.02, 0.98}, subjects)
		v := []float64{0.5 + 2*rng.Float64(), rng.NormFloat64() / 2, -2 + 2*rng.Float64(), math.Pi / 2 * rng.Float64()}
		if rng.IntN(4) == 0 {
			v[3] /= 30
		}
		if rng.IntN(4) == 0 {
			v[3] = math.Pi/2 - rng.Float64()/30
		}
		var w Space
		n := p.Dim()
		g, h := make([]float64, n), make([]float64, n*n)
		l := p.Eval(&w, v, g, h)
		require.Equal(t, l, p.Eval(&w, v, nil, nil))
		up, down, none := make([]float64, n), make([]float64, n), make([]float64, n*n)
		for j := range v {
			const e = 1e-5
			x := append([]float64{}, v...)
			x[j] += e
			a := p.Eval(&w, x, up, none)
			x[j] -= 2 * e
			b := p.Eval(&w, x, down, none)
			if v[3] < e || v[3] > math.Pi/2-e {
				continue
			}
			require.InDelta(t, (a-b)/(2*e), g[j], 3e-5*(1+math.Abs(g[j])), "gradient %d at %v", j, v)
			for k := range v {
				require.InDelta(t, (up[k]-down[k])/(2*e), h[j*n+k], 3e-4*(1+math.Abs(h[j*n+k])), "Hessian %d %d at %v", j, k, v)
			}
		}
	}
}
