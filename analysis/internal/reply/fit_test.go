package reply

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// panel invents n tasters at common ages.
func invent(rng *rand.Rand, n int, ages []float64, mu, sigma, tau, slips float64) []Subject {
	var out []Subject
	for range n {
		m := mu + sigma*rng.NormFloat64()
		u := Unit{Row: []float64{1}}
		for _, a := range ages {
			z := (math.Log(a) - m)
			if tau > 0 {
				z += tau * rng.NormFloat64()
			}
			yes := z >= 0
			if rng.Float64() < slips {
				yes = !yes
			}
			u.At, u.Yes = append(u.At, math.Log(a)), append(u.Yes, yes)
		}
		out = append(out, Subject{Weight: 1, Units: []Unit{u}})
	}
	return out
}

// No start anywhere climbs higher than Maximise did.
func TestMaximiseIsTheTop(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 1))
	ages := []float64{2, 4, 6, 8, 10, 12, 14, 16}
	minutes := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	missed := 0
	for trial := range 150 {
		grid := ages
		if trial%2 == 1 {
			grid = minutes
		}
		tau := []float64{0, 0, 0.2, 0.4, 1}[rng.IntN(5)]
		p := New(Law{0.02, 0.98}, invent(rng, 1+rng.IntN(12), grid, math.Log(2+10*rng.Float64()), 0.6*rng.Float64(), tau, 0.03*rng.Float64()))
		best := p.Maximise(200)
		var w Space
		c, b := newClimber(3, 2), p.box()
		for range 20 {
			v := []float64{3.5*rng.Float64() - 0.3, math.Log(0.02) + 5*rng.Float64(), math.Pi / 2 * rng.Float64()}
			r := c.ascend(func(y, g, h []float64) float64 { return p.Eval(&w, y, g, h) }, v, b, 1e-10, 200)
			if r.value > best.Value+1e-6 {
				missed++
				t.Logf("trial %d: %v at %v, Maximise %v at %v (%v)", trial, r.value, v, best.Value, best.V, best.Converged)
				break
			}
		}
		if !best.Converged {
			t.Logf("trial %d: not converged at %v after %d", trial, best.V, best.Steps)
		}
	}
	require.Zero(t, missed)
}

// pairs invents n tasters with two limits each, the second ratio times as late, correlated rho on the log scale.
func pairs(rng *rand.Rand, n int, ratio, rho, tau float64, ages []float64) []Subject {
	var out []Subject
	for range n {
		s, u := Subject{Weight: 1}, rng.NormFloat64()
		for x := range 2 {
			m := math.Log(7) + math.Log(ratio)*float64(x) + 0.35*(math.Sqrt(rho)*u+math.Sqrt(1-rho)*rng.NormFloat64())
			unit := Unit{Row: []float64{1, float64(x)}}
			for _, a := range ages {
				unit.At, unit.Yes = append(unit.At, math.Log(a)), append(unit.Yes, math.Log(a)+tau*rng.NormFloat64() >= m)
			}
			s.Units = append(s.Units, unit)
		}
		out = append(out, s)
	}
	return out
}

// The same for tasters with two limits each, whose correlation is often estimated as 0 or 1.
func TestNestedMaximiseIsTheTop(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 1))
	edges := map[string]int{}
	for trial := range 24 {
		p := New(Law{0.02, 0.98}, pairs(rng, 2+rng.IntN(7), 1+rng.Float64(), []float64{0, 0.5, 1}[trial%3], []float64{0, 0.2, 0.5}[rng.IntN(3)], []float64{2, 4, 6, 8, 10, 12, 14, 16}))
		best := p.Maximise(200)
		switch best.V[4] {
		case 0:
			edges["one limit"]++
		case math.Pi / 2:
			edges["apart"]++
		}
		var w Space
		c, b := newClimber(5, 3), p.box()
		for range 6 {
			v := []float64{3 * rng.Float64(), rng.NormFloat64() / 2, math.Log(0.05) + 4*rng.Float64(), math.Pi / 2 * rng.Float64(), math.Pi / 2 * rng.Float64()}
			r := c.ascend(func(y, g, h []float64) float64 { return p.Eval(&w, y, g, h) }, v, b, 1e-8, 60)
			require.LessOrEqual(t, r.value, best.Value+5e-6, "trial %d: %v against %v", trial, v, best)
		}
	}
	require.NotEmpty(t, edges["one limit"])
	require.NotEmpty(t, edges["apart"])
}
