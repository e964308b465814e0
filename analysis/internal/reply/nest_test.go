package reply

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

// bruteNested integrates a cluster's likelihood over u by panels, its limits' over e by panels within.
func bruteNested(law Law, units []Unit, b []float64, t three, reach int) float64 {
	var cuts []float64
	for _, u := range units {
		for _, a := range u.At {
			cuts = append(cuts, a-dot(u.Row, b))
		}
	}
	single := func(u Unit, mu float64) float64 {
		p := func(m float64) float64 { return chance(law, u.At, u.Yes, m, t.tau) }
		if t.kappa < 1e-5*t.tau || t.kappa == 0 { // half the variance times the second difference
			if t.tau == 0 {
				return p(mu)
			}
			h := t.tau / 1000
			return p(mu) + t.kappa*t.kappa/2*(p(mu+h)-2*p(mu)+p(mu-h))/(h*h)
		}
		return panels(p, u.At, mu, t.kappa, t.tau, reach, 1, 10)
	}
	f := func(u float64) float64 {
		v := 1.0
		for _, x := range units {
			v *= single(x, dot(x.Row, b)+u)
		}
		return v
	}
	return panels(f, cuts, 0, t.omega, t.inner, reach, 1, 10)
}

func clusterOf(law Law, units []Unit) *nested {
	n := &nested{law: law}
	c := cluster{weight: 1}
	for i, u := range units {
		n.groups = append(n.groups, newGroup(law, u.Row, []*limit{newLimit(law, u.At, u.Yes)}, []float64{1}))
		c.members = append(c.members, member{i, 0})
	}
	n.clusters = []cluster{c}
	return n
}

// The nested integral against panels within panels, at every size of the three spreads.
func TestNestedMeetsBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("integrals within integrals")
	}
	rng := rand.New(rand.NewPCG(15, 1))
	for _, alpha := range []float64{0, 1e-6, 0.05, 0.4, 1, 1.5, math.Pi / 2} {
		for _, theta := range []float64{0, 1e-6, 0.05, 0.3, 0.8, 1.4, math.Pi / 2} {
			for _, slips := range []float64{0.02, 0.1} {
				nestedCase(t, rng, slips, theta, alpha, 10)
			}
		}
	}
	rng = rand.New(rand.NewPCG(15, 7))
	for _, at := range [][2]float64{{0.05, 1}, {1e-6, 0.4}, {0.8, 1.5}} { // no slips: likelihoods that rest on tails
		for range 2 {
			nestedCase(t, rng, 0, at[0], at[1], 30)
		}
	}
}

// nestedCase compares one invented subject; reach bounds the panels, in spreads.
func nestedCase(t *testing.T, rng *rand.Rand, slips, theta, alpha float64, reach int) {
	t.Helper()
	law := Law{slips, 1 - slips}
	var units []Unit
	for k := range 1 + rng.IntN(3) {
		at, yes := replies(rng, 1+rng.IntN(6))
		units = append(units, Unit{Row: []float64{1, float64(k % 2)}, At: at, Yes: yes})
	}
	b := []float64{0.8 + 1.5*rng.Float64(), rng.NormFloat64() / 2}
	s := newThree(math.Log([]float64{0.01, 0.4, 2}[rng.IntN(3)]), theta, alpha)
	n := clusterOf(law, units)
	scale := 0.0
	for _, g := range n.groups {
		scale += g.limits[0].scale
		if math.IsInf(g.limits[0].start, -1) {
			return // a rejection at age 0 without slips
		}
	}
	var w nestSpace
	w.evaluate(n, b, s, true, false)
	got, want := w.jets[0].l*math.Exp(scale), bruteNested(law, units, b, s, reach)
	if want > 1e-250 {
		mathtest.CloseRel(t, "likelihood", got, want, 0, 1e-8, "Gauss-Legendre panels within panels")
	}
}

// Gradient and Hessian of nested likelihoods against central differences.
func TestNestedDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(16, 1))
	for trial := range 150 {
		var subjects []Subject
		for range 1 + rng.IntN(3) {
			s := Subject{Weight: 0.5 + rng.Float64()}
			for k := range 1 + rng.IntN(3) {
				at, yes := replies(rng, 1+rng.IntN(8))
				s.Units = append(s.Units, Unit{Row: []float64{1, float64(k % 2)}, At: at, Yes: yes})
			}
			subjects = append(subjects, s)
		}
		p := New(Law{0.02, 0.98}, subjects)
		if !p.Apart {
			continue
		}
		angle := func() float64 {
			a := math.Pi / 2 * rng.Float64()
			switch rng.IntN(5) {
			case 0:
				a /= 50
			case 1:
				a = math.Pi/2 - a/50
			}
			return a
		}
		v := []float64{0.5 + 2*rng.Float64(), rng.NormFloat64() / 2, -2 + 2*rng.Float64(), angle(), angle()}
		var w Space
		n := p.Dim()
		g, h := make([]float64, n), make([]float64, n*n)
		l := p.Eval(&w, v, g, h)
		require.InDelta(t, l, p.Eval(&w, v, nil, nil), 1e-11)
		up, down, none := make([]float64, n), make([]float64, n), make([]float64, n*n)
		for j := range v {
			const e = 1e-5
			x := append([]float64{}, v...)
			x[j] += e
			a := p.Eval(&w, x, up, none)
			x[j] -= 2 * e
			b := p.Eval(&w, x, down, none)
			require.InDelta(t, (a-b)/(2*e), g[j], 1e-4*(1+math.Abs(g[j])), "trial %d gradient %d at %v", trial, j, v)
			for k := range v {
				require.InDelta(t, (up[k]-down[k])/(2*e), h[j*n+k], 1e-3*(1+math.Abs(h[j*n+k])), "trial %d Hessian %d %d at %v", trial, j, k, v)
			}
		}
	}
}
