package masses

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

// Two sets with mass a and b alone and c in either: a/(a+b) and b/(a+b); l is strictly concave, so any start ends there.
func TestSolveClosedForm(t *testing.T) {
	p := Problem{Sets: 2, Rows: []Row{{0, 0, 3}, {1, 1, 1}, {0, 1, 5}}}
	r := Solve(p, 1e-9, 100)
	const source = "worked by hand: l = 3 log p + log(1-p)"
	mathtest.Close(t, "p", r.Mass[0], 0.75, 1e-12, source)
	mathtest.Close(t, "l", r.LogLik, 3*math.Log(0.75)+math.Log(0.25), 1e-12, source)
	require.Less(t, r.Gap, 1e-9)
}

// d of the middle set is 2/0.5 + 1 = 5 at (1/2, 0, 1/2), below N = 23: it has exactly no mass.
func TestSolveLeavesSetsOut(t *testing.T) {
	p := Problem{Sets: 3, Rows: []Row{{0, 0, 10}, {2, 2, 10}, {0, 1, 1}, {1, 2, 1}, {0, 2, 1}}}
	r := Solve(p, 1e-9, 100)
	mathtest.Close(t, "p_0", r.Mass[0], 0.5, 1e-12, "worked by hand, by symmetry")
	require.Zero(t, r.Mass[1])
}

func TestSolveOneSet(t *testing.T) {
	r := Solve(Problem{Sets: 1, Rows: []Row{{0, 0, 2}}}, 1e-9, 100)
	require.Equal(t, Result{Mass: []float64{1}, LogLik: 0, Gap: 0, Iterations: 0}, r)
}

func TestMerge(t *testing.T) {
	rows := []Row{{1, 2, 1}, {0, 2, 2}, {1, 2, 4}, {0, 1, 8}, {0, 2, 16}}
	require.Equal(t, []Row{{0, 1, 8}, {0, 2, 18}, {1, 2, 5}}, Merge(slices.Clone(rows)))
	require.Empty(t, Merge(nil))
}

// inventedProblem has every set held and rows of all lengths.
func inventedProblem(rng *rand.Rand, sets, rows int) Problem {
	p := Problem{Sets: sets}
	for j := range sets {
		p.Rows = append(p.Rows, Row{int32(j), int32(min(sets-1, j+rng.IntN(3))), 0.5 + rng.Float64()})
	}
	for range rows {
		a, b := rng.IntN(sets), rng.IntN(sets)
		p.Rows = append(p.Rows, Row{int32(min(a, b)), int32(max(a, b)), 0.5 + rng.Float64()})
	}
	return p
}

// The gap worked out from the definition, set by set, and the sparse Newton step against nothing but that: a solver that
// went astray in any of its parts would not close it.
func TestSolveIsProved(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 9))
	for range 200 {
		p := inventedProblem(rng, 1+rng.IntN(60), rng.IntN(200))
		kept := slices.Clone(p.Rows)
		r := Solve(p, 1e-8, 200)
		require.Equal(t, kept, p.Rows)
		sum, n, l := 0.0, 0.0, 0.0
		d := make([]float64, p.Sets)
		for _, m := range r.Mass {
			require.GreaterOrEqual(t, m, 0.0)
			sum += m
		}
		for _, row := range p.Rows {
			prob := 0.0
			for _, m := range r.Mass[row.First : row.Last+1] {
				prob += m
			}
			n += row.Weight
			l += row.Weight * math.Log(prob)
			for j := row.First; j <= row.Last; j++ {
				d[j] += row.Weight / prob
			}
		}
		require.InDelta(t, 1, sum, 1e-12)
		require.InDelta(t, l, r.LogLik, 1e-9)
		require.Less(t, slices.Max(d)-n, 1e-8)
		require.LessOrEqual(t, r.Iterations, 10, "Newton is quadratic near the maximum")
	}
}

// The envelope factor and its solution against the dense product.
func TestFactorAndSolve(t *testing.T) {
	s := newSolver(inventedProblem(rand.New(rand.NewPCG(20310304, 10)), 30, 60))
	w := &s.newton
	s.newtonStep() // fills sets and node from the first state; then set up the system at the state reached
	w.sets = w.sets[:0]
	for j, v := range s.p {
		w.node[j] = int32(len(w.sets))
		if v > 0 {
			w.sets = append(w.sets, int32(j))
		}
	}
	w.node[len(s.p)] = int32(len(w.sets))
	s.assemble()
	k := len(w.sets)
	require.Greater(t, k, 5)
	h := make([][]float64, k)
	for a := 1; a < k; a++ {
		h[a] = make([]float64, k)
		for b := int(w.low[a]); b <= a; b++ {
			h[a][b] = w.h[w.offset[a]+b]
			h[b][a] = h[a][b]
		}
	}
	require.True(t, w.factor(k))
	w.solve(k)
	for a := 1; a < k; a++ {
		sum := 0.0
		for b := 1; b < k; b++ {
			sum += h[a][b] * w.x[b]
		}
		mathtest.CloseRel(t, "H x", sum, w.grad[a], 1e-9, 1e-9, "definition: x solves H x = gradient")
	}
}

// Work arrays are made once, the envelope grows at most a few times, whatever the number of steps.
func TestFewAllocations(t *testing.T) {
	p := inventedProblem(rand.New(rand.NewPCG(20310304, 11)), 200, 2000)
	require.LessOrEqual(t, testing.AllocsPerRun(3, func() { Solve(p, 1e-8, 200) }), 24.0)
}
