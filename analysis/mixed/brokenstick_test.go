package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// scatter is a regression of n rows on a few values of x, without groups.
func scatter(t testing.TB, rng *rand.Rand, n int) *mixed.Table {
	var x, y []float64
	for i := range n {
		v := float64(i % 7)
		if i > 10 {
			v = 6 * rng.Float64()
		}
		x, y = append(x, v), append(y, 3-0.2*v-0.3*max(0, v-3)+rng.NormFloat64())
	}
	return table(t, mixed.Numbers("score", y), mixed.Numbers("age", x))
}

// No place on a dense grid has a larger likelihood than the one found, and the set holds exactly the places of the grid
// whose likelihood reaches the cut: in least squares and in taster panels, with pronounced bends and with none.
func TestBendIsTheBestOfADenseGrid(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320302, 1))
	several := 0
	for i := range 24 {
		name, b, data := fmt.Sprint("panel ", i), onset(1.5), decline(rng, 4, broken(4+4*rng.Float64(), 0.3*rng.Float64())).sparse(rng).table(t)
		if i%2 == 0 {
			name, b.Spec.Random, data = fmt.Sprint("rows ", i), nil, scatter(t, rng, 12+rng.IntN(20))
		}
		found := bend(t, b, data)
		grid := make([]float64, 301)
		for k := range grid {
			grid[k] = min(found.From+(found.To-found.From)*float64(k)/300, found.To)
		}
		above, err := found.Profile(grid...)
		require.NoError(t, err)
		set := found.Set()
		if len(set) > 1 {
			several++
		}
		for k, psi := range grid {
			fit := fit(t, mixed.Spec{Response: "score", Fixed: terms(num("age"), mixed.Hinge{Name: "age", At: psi}), Random: b.Spec.Random, ML: true}, data)
			require.GreaterOrEqual(t, fit.Deviance(), found.Deviance-1e-7, "%s: %v is better than %v", name, psi, found.At)
			require.InDelta(t, fit.Deviance()-found.Deviance, above[k], 1e-6, "%s: profile at %v", name, psi)
			j := slices.Index(fit.Coefficients(), "hinge(age)")
			wald := fit.Beta()[j] * fit.Beta()[j] / fit.Covariance().At(j, j) * float64(fit.Rows()-3) / float64(fit.Rows())
			require.LessOrEqual(t, wald, found.F*(1+1e-5)+1e-6, "%s: F at %v is larger than at %v", name, psi, found.FAt)
			if math.Abs(above[k]-1.5) > 1e-4 {
				in := slices.ContainsFunc(set, func(p mixed.Piece) bool { return p.Lower <= psi && psi <= p.Upper })
				require.Equal(t, above[k] < 1.5, in, "%s: %v in %v at %v", name, psi, set, above[k])
			}
		}
	}
	require.Positive(t, several, "some sets have several pieces")
}

// The ends of the set lie where the profile is at the cut, or at the edge and are called open.
func TestBendSetEndsAtTheCut(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320303, 1))
	open := 0
	for range 12 {
		b := bend(t, onset(4.9), decline(rng, 5, broken(5, 0.25)).table(t))
		for _, p := range b.Set() {
			above, err := b.Profile(p.Lower, p.Upper)
			require.NoError(t, err)
			for i, side := range []struct {
				open     bool
				at, edge float64
			}{{p.OpenLower, p.Lower, b.From}, {p.OpenUpper, p.Upper, b.To}} {
				if side.open {
					open++
					require.Equal(t, side.edge, side.at)
					require.LessOrEqual(t, above[i], 4.9)
				} else {
					require.InDelta(t, 4.9, above[i], 1e-5)
				}
			}
		}
		require.True(t, slices.ContainsFunc(b.Set(), func(p mixed.Piece) bool { return p.Lower <= b.At && b.At <= p.Upper }))
	}
	require.Positive(t, open)
}

func TestBendIsTheSameOnAnyNumberOfCores(t *testing.T) {
	data := decline(rand.New(rand.NewPCG(20320305, 1)), 5, broken(6, 0.3)).table(t)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := bend(t, onset(4.9), data)
	draws, err := one.Bootstrap(5, 60)
	require.NoError(t, err)
	for _, cores := range []int{2, 3} {
		runtime.GOMAXPROCS(cores)
		b := bend(t, onset(4.9), data)
		require.Equal(t, one.Set(), b.Set())
		require.Equal(t, []float64{one.At, one.F, one.FAt, one.Deviance}, []float64{b.At, b.F, b.FAt, b.Deviance})
		again, err := b.Bootstrap(5, 60)
		require.NoError(t, err)
		require.Equal(t, draws, again)
	}
	seed, err := one.Bootstrap(6, 60)
	require.NoError(t, err)
	require.NotEqual(t, draws.Values, seed.Values)
	require.LessOrEqual(t, draws.F, one.F*(1+1e-9), "the grid is part of the range")
	require.Len(t, draws.Grid, 16)
	require.Equal(t, []float64{2, 12}, []float64{draws.Grid[0], draws.Grid[15]})
}

// Slopes, their errors and predictions are those of the model at psi; errors of the sum count the covariance.
func TestBendSlopes(t *testing.T) {
	b := bend(t, onset(4.9), decline(rand.New(rand.NewPCG(20320306, 1)), 8, broken(6, 0.4)).table(t))
	f := b.Fit()
	require.Equal(t, []string{"intercept", "age", "hinge(age)"}, f.Coefficients())
	require.True(t, f.REML())
	after, err := f.Infer([]float64{0, 1, 1}, mixed.Normal)
	require.NoError(t, err)
	require.InDelta(t, after.Estimate, b.After.Estimate, 1e-12)
	require.InDelta(t, after.SE, b.After.SE, 1e-12)
	for _, tt := range []struct {
		from, to float64
		slope    mixed.Slope
	}{{0, b.At, b.Before}, {b.At, b.At + 50, b.After}} {
		at, err := f.Predict(table(t, mixed.Numbers("age", []float64{tt.from, tt.to})), mixed.Average)
		require.NoError(t, err)
		require.InDelta(t, tt.slope.Estimate, (at[1].Value-at[0].Value)/(tt.to-tt.from), 1e-9)
	}
	require.InDelta(t, b.Change.Estimate, b.After.Estimate-b.Before.Estimate, 1e-12)
	require.Equal(t, f.Rows()-3, b.DF)
	require.Equal(t, []string{"intercept", "age"}, b.Line().Coefficients())
}

// A column that Spec has already is not given twice, wherever it stands; other terms stay.
func TestBendWithOtherTerms(t *testing.T) {
	data := invented(rand.New(rand.NewPCG(20320307, 1))).table(t)
	spec := mixed.Spec{Response: "score", Fixed: terms(fac("style")), Random: []mixed.Random{over("taster", num("age")), over("evening")}}
	want := bend(t, mixed.BrokenStick{Spec: spec, Name: "age"}, data)
	spec.Fixed = terms(num("age"), fac("style"))
	got := bend(t, mixed.BrokenStick{Spec: spec, Name: "age"}, data)
	require.Equal(t, []string{"intercept", "age", "style[sour]", "style[stirred]", "hinge(age)"}, got.Fit().Coefficients())
	require.InDelta(t, want.At, got.At, 1e-6)
	require.InDelta(t, want.Before.Estimate, got.Before.Estimate, 1e-6)
	require.Equal(t, 4.9, got.Cut, "the default")
}

// Values within half a minute of the next are one step: two steps on either side are then more values.
func TestBendSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320308, 1))
	p := decline(rng, 6, broken(6, 0.4))
	loose := p.with(asTheyAre(len(p.score)), func(s, _ float64) float64 { return s }, func(_, a float64) float64 { return a + float64(rng.IntN(5))/10 }).table(t)
	b := onset(4.9)
	require.Less(t, bend(t, b, loose).From, 1.0)
	b.Within = 0.5
	got := bend(t, b, loose)
	require.Equal(t, []float64{2.4, 12}, []float64{got.From, got.To}, "the top of the second step and the foot of the last but one")
	b.MinSteps = 4
	require.Equal(t, []float64{6.4, 8}, []float64{bend(t, b, loose).From, bend(t, b, loose).To})
}
