package reply

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// chance is P(replies | m) by the definition, a product of logs.
func chance(law Law, at []float64, yes []bool, m, tau float64) float64 {
	sum := 0.0
	for j, a := range at {
		var p float64
		switch {
		case math.IsInf(a, -1):
			p = law.Floor
		case tau == 0:
			p = law.Floor
			if a >= m {
				p = law.Ceiling
			}
		case yes[j]:
			p = law.Floor + (law.Ceiling-law.Floor)*math.Erfc(-(a-m)/tau/math.Sqrt2)/2
		default:
			p = 1 - law.Ceiling + (law.Ceiling-law.Floor)*math.Erfc((a-m)/tau/math.Sqrt2)/2
			sum += math.Log(p)
			continue
		}
		if !yes[j] {
			p = 1 - p
		}
		sum += math.Log(p)
	}
	return math.Exp(sum)
}

// brute integrates P(replies | m) over the normal law of m by Gauss-Legendre on panels no wider than half of either scale.
func brute(f func(m float64) float64, at []float64, mu, sigma, tau float64) float64 {
	return panels(f, at, mu, sigma, tau, 76, 2, 12)
}

// panels is brute with cuts to reach/per spreads either way, per of them in a spread, and so many points in a panel.
func panels(f func(m float64) float64, at []float64, mu, sigma, tau float64, reach, per, points int) float64 {
	if sigma == 0 {
		return f(mu)
	}
	var cuts []float64
	for k := -reach; k <= reach; k++ {
		cuts = append(cuts, mu+float64(k)/float64(per)*sigma)
	}
	for _, a := range at {
		if math.IsInf(a, -1) {
			continue
		}
		for k := -reach / 2; k <= reach/2; k++ {
			cuts = append(cuts, a+float64(k)/float64(per)*tau)
		}
	}
	slices.Sort(cuts)
	far := float64(reach) / float64(per) * sigma
	lo, hi := mu-far, mu+far
	sum := 0.0
	g := func(m float64) float64 { z := (m - mu) / sigma; return f(m) * math.Exp(-z*z/2) }
	for i := 1; i < len(cuts); i++ {
		if a, b := max(cuts[i-1], lo), min(cuts[i], hi); b > a {
			sum += quad.Fixed(g, a, b, points, quad.Legendre{}, 0)
		}
	}
	return sum / (sigma * math.Sqrt(2*math.Pi))
}

// replies invents the replies of one taster: ages on a grid (some twice) or anywhere, wavering about a limit.
func replies(rng *rand.Rand, n int) (at []float64, yes []bool) {
	limit := 1 + 2*rng.Float64()
	noise := []float64{0, 0.3, 3}[rng.IntN(3)]
	for range n {
		a := math.Log(float64(1 + rng.IntN(16)))
		if rng.IntN(2) == 0 {
			a = 3 * rng.Float64()
		}
		if rng.IntN(20) == 0 {
			a = math.Inf(-1)
		}
		at = append(at, a)
		yes = append(yes, !math.IsInf(a, -1) && a > limit+noise*rng.NormFloat64())
	}
	return at, yes
}

func one(law Law, at []float64, yes []bool) *group {
	return newGroup(law, []float64{1}, []*limit{newLimit(law, at, yes)}, []float64{1})
}
