package survival_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

// rounds is how many invented data sets each law is tried on.
const rounds = 300

// eachInvented calls law with rows (with ties in two of three rounds) and weights (nil in every other round).
func eachInvented(t *testing.T, law func(rng *rand.Rand, obs []survival.Interval, weights []float64)) {
	rng := rand.New(rand.NewPCG(20310304, 3))
	for round := range rounds {
		obs := invented(rng, 1+rng.IntN(40), round%3 != 0)
		var weights []float64
		if round%2 == 1 {
			weights = make([]float64, len(obs))
			for i := range weights {
				weights[i] = float64(rng.IntN(5))
			}
			weights[rng.IntN(len(weights))] = 1
		}
		law(rng, obs, weights)
		if t.Failed() {
			t.Fatalf("round %d, rows %v, weights %v", round, obs, weights)
		}
	}
}

// same fails unless two curves have the same sets (after scaling those of a by unit) and masses.
func same(t *testing.T, a, b *survival.Curve, unit float64, why string) {
	t.Helper()
	sets := a.Sets()
	for k := range sets {
		sets[k].L *= unit
		sets[k].R *= unit
	}
	require.Equal(t, sets, b.Sets(), why)
	require.InDeltaSlice(t, a.Mass(), b.Mass(), 1e-7, why)
	require.InDelta(t, a.LogLik, b.LogLik, 1e-9*(1+math.Abs(a.LogLik)), why)
}

func TestEveryFitIsProved(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		sound(t, obs, weights, fit(t, obs, weights))
	})
}

func TestRowOrder(t *testing.T) {
	eachInvented(t, func(rng *rand.Rand, obs []survival.Interval, weights []float64) {
		before := fit(t, obs, weights)
		rng.Shuffle(len(obs), func(i, j int) {
			obs[i], obs[j] = obs[j], obs[i]
			if weights != nil {
				weights[i], weights[j] = weights[j], weights[i]
			}
		})
		same(t, before, fit(t, obs, weights), 1, "row order")
	})
}

func TestUnit(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		before := fit(t, obs, weights)
		for i := range obs {
			obs[i].L *= 64
			obs[i].R *= 64
		}
		same(t, before, fit(t, obs, weights), 64, "unit")
	})
}

func TestWeightsAreRepeats(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		if weights == nil {
			return
		}
		var repeated []survival.Interval
		for i, w := range weights {
			for range int(w) {
				repeated = append(repeated, obs[i])
			}
		}
		weighted, plain := fit(t, obs, weights), fit(t, repeated, nil)
		same(t, weighted, plain, 1, "a weight repeats its row")
		require.Equal(t, plain.N, weighted.N)
	})
}

func TestWeightScale(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		if weights == nil {
			return
		}
		before := fit(t, obs, weights)
		for i := range weights {
			weights[i] *= 1024
		}
		after := fit(t, obs, weights)
		require.Equal(t, before.Sets(), after.Sets())
		require.InDeltaSlice(t, before.Mass(), after.Mass(), 1e-7)
		require.InDelta(t, 1024*before.LogLik, after.LogLik, 1e-6*(1+math.Abs(after.LogLik)))
	})
}

func TestInputUntouched(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		rows, kept := slices.Clone(obs), slices.Clone(weights)
		fit(t, obs, weights)
		_, err := survival.ExactQuantile(obs, 0.5, 0.95)
		require.NoError(t, err)
		_, err = survival.ExactShare(obs, 3, 0.95)
		require.NoError(t, err)
		require.Equal(t, rows, obs)
		require.Equal(t, kept, weights)
	})
}

// Turned about in time, (L, R] becomes [c-R, c-L): without ties the same problem with the order of sets turned.
func TestMirror(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 4))
	for range rounds {
		obs := invented(rng, 1+rng.IntN(40), false)
		mirrored := make([]survival.Interval, len(obs))
		const c = 20
		for i, o := range obs {
			m := survival.Interval{L: c - o.R, R: c - o.L}
			if math.IsInf(o.R, 1) {
				m.L = 0
			}
			if o.L == 0 {
				m.R = inf
			}
			mirrored[i] = m
		}
		a, b := fit(t, obs, nil), fit(t, mirrored, nil)
		back := b.Mass()
		slices.Reverse(back)
		require.InDeltaSlice(t, a.Mass(), back, 1e-7, "%v", obs)
		require.InDelta(t, a.LogLik, b.LogLik, 1e-9*(1+math.Abs(a.LogLik)))
	}
}

// A second solver: plain self-consistency over every upper end of a row as a place for mass. It never finds more than
// the gap allows, and given time it comes near.
func TestPlainEMNeverBeatsIt(t *testing.T) {
	eachInvented(t, func(_ *rand.Rand, obs []survival.Interval, weights []float64) {
		c := fit(t, obs, weights)
		em := plainEM(obs, weights, 3000)
		require.LessOrEqual(t, em, c.LogLik+c.Gap+1e-9*(1+math.Abs(em)))
		require.InDelta(t, em, c.LogLik, 0.02, "two solvers, one maximum")
	})
}

func plainEM(obs []survival.Interval, weights []float64, steps int) float64 {
	var places []float64
	n := 0.0
	for i, o := range obs {
		if w := weight(weights, i); w > 0 {
			places = append(places, o.R)
			n += w
		}
	}
	slices.Sort(places)
	places = slices.Compact(places)
	p := make([]float64, len(places))
	for j := range p {
		p[j] = 1 / float64(len(p))
	}
	loglik := 0.0
	for range steps {
		next := make([]float64, len(p))
		loglik = 0
		for i, o := range obs {
			w := weight(weights, i)
			if w == 0 {
				continue
			}
			prob := 0.0
			for j, x := range places {
				if holds(o, x) {
					prob += p[j]
				}
			}
			loglik += w * math.Log(prob)
			for j, x := range places {
				if holds(o, x) {
					next[j] += w * p[j] / prob / n
				}
			}
		}
		p = next
	}
	return loglik
}

// On exact and right-censored rows the product-limit formula, written out here, gives the curve.
func TestKaplanMeierLaw(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 5))
	for range rounds {
		obs := make([]survival.Interval, 1+rng.IntN(40))
		for i := range obs {
			at := float64(1 + rng.IntN(12))
			obs[i] = survival.Interval{L: at, R: at}
			if rng.IntN(3) == 0 {
				obs[i].R = inf
			}
		}
		c := fit(t, obs, nil)
		s, latest := 1.0, 0.0
		for _, o := range obs {
			latest = max(latest, o.L)
		}
		for at := 1.0; at <= latest; at++ {
			risk, events := 0.0, 0.0
			for _, o := range obs {
				if o.L >= at {
					risk++
				}
				if o.L == at && o.R == at {
					events++
				}
			}
			s *= 1 - events/risk
			lo, hi := c.At(at)
			require.InDelta(t, s, lo, 1e-9)
			require.InDelta(t, s, hi, 1e-9)
		}
	}
}

// Weights of very different size: proved all the same, or said.
func TestUnevenWeights(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 6))
	for _, span := range []float64{4, 10, 15, 40, 300, 700} {
		for range 40 {
			obs := invented(rng, 1+rng.IntN(30), true)
			weights := make([]float64, len(obs))
			for i := range weights {
				weights[i] = math.Exp(span * (2*rng.Float64() - 1))
			}
			honest(t, obs, weights)
			if c, err := (survival.NPMLE{}).FitWeighted(obs, weights); span <= 10 {
				require.NoError(t, err)
				require.True(t, c.Converged, "weights up to %g times each other: gap %g", math.Exp(2*span), c.Gap)
			}
		}
	}
}

// honest fails unless a fit is an error, says that it has not converged, or is proved; the masses are sane in each case.
func honest(t *testing.T, obs []survival.Interval, weights []float64) {
	t.Helper()
	c, err := survival.NPMLE{MaxIter: 300}.FitWeighted(obs, weights)
	if err != nil {
		return
	}
	require.Equal(t, c.Converged, len(c.Warnings()) == 0)
	sum := 0.0
	for _, m := range c.Mass() {
		require.Greater(t, m, 0.0)
		sum += m
	}
	require.InDelta(t, 1, sum, 1e-9, "%v %v", obs, weights)
	require.False(t, math.IsNaN(c.LogLik) || math.IsNaN(c.Gap))
	if c.Converged {
		_, gap := judge(obs, weights, c)
		require.Less(t, gap, 1e-6+1e-9*c.N, "%v %v", obs, weights)
	}
}
