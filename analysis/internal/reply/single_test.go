package reply

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

// The integral against panels of Gauss-Legendre, at every size of both spreads.
func TestSingleMeetsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	for _, ratio := range []float64{0, 1e-6, 0.01, 0.1, 0.3, 0.34, 0.5, 2, 30, 1e5} {
		for _, sigma := range []float64{1e-6, 0.01, 0.3, 3} {
			for _, slips := range []float64{0, 1e-3, 0.02, 0.2} {
				for range 4 {
					singleCase(t, rng, sigma, ratio*sigma, slips)
				}
			}
		}
	}
}

func singleCase(t *testing.T, rng *rand.Rand, sigma, tau, slips float64) {
	t.Helper()
	law, mu := Law{slips, 1 - slips}, 3*rng.Float64()
	at, yes := replies(rng, 1+rng.IntN(24))
	g := one(law, at, yes)
	if math.IsInf(g.limits[0].start, -1) {
		return // a rejection at age 0 without slips
	}
	var w space
	w.evaluate(g, mu, newSpread(math.Log(math.Hypot(sigma, tau)), math.Atan2(tau, sigma)), true, false)
	want := brute(func(m float64) float64 { return chance(law, at, yes, m, tau) }, at, mu, sigma, tau)
	rel := 1e-8
	if tau == 0 {
		rel = 1e-11 // of the closed form; the panels are no closer
	}
	if want > 1e-290 {
		mathtest.CloseRel(t, "likelihood", w.raw[0].l*math.Exp(g.limits[0].scale), want, 0, rel, "Gauss-Legendre panels")
	}
}

// Steps in closed form, worked by hand: an acceptance at 4 and a rejection at 6 minutes, slips s. A limit between is right twice,
// one outside once.
func TestStepsByHand(t *testing.T) {
	const s, mu, sigma = 0.02, 1.5, 0.4
	g := one(Law{s, 1 - s}, []float64{math.Log(4), math.Log(6)}, []bool{false, true})
	var w space
	w.evaluate(g, mu, spread{sigma, sigma, 0}, false, false)
	phi := func(age float64) float64 { return math.Erfc(-(math.Log(age)-mu)/sigma/math.Sqrt2) / 2 }
	between := phi(6) - phi(4)
	mathtest.CloseRel(t, "likelihood", w.raw[0].l*math.Exp(g.limits[0].scale), (1-s)*(1-s)*between+s*(1-s)*(1-between), 0, 1e-12, "worked by hand")
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
