package resample

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestEachIsTheSameOnAnyNumberOfCores(t *testing.T) {
	const n = 1000
	draw := func(cores int) []uint64 {
		out := make([]uint64, n)
		Each(n, 7, cores, func(i int, rng *rand.Rand) { out[i] = rng.Uint64() ^ rng.Uint64() })
		return out
	}
	one := draw(1)
	for _, cores := range []int{0, 2, 3, 16, 2000} {
		require.Equal(t, one, draw(cores), "%d cores", cores)
	}
	for i, v := range one {
		rng := Child(7, uint64(i))
		require.Equal(t, v, rng.Uint64()^rng.Uint64(), "Each hands out Child")
	}
	slices.Sort(one)
	require.Len(t, slices.Compact(one), n, "no stream stands twice")
	Each(0, 7, 4, func(int, *rand.Rand) { t.Error("nothing to do") })
}

// Streams of neighbouring seeds and indices are not alike: means of neighbours are uncorrelated, the mean is one half.
func TestChildrenAreApart(t *testing.T) {
	const n = 4000
	mean := func(seed, index uint64) float64 {
		rng, sum := Child(seed, index), 0.0
		for range 50 {
			sum += rng.Float64()
		}
		return (sum/50 - 0.5) * math.Sqrt(12*50) // standard normal, nearly
	}
	var sum, squares, byIndex, bySeed float64
	for i := range uint64(n) {
		m := mean(3, i)
		sum += m
		squares += m * m
		byIndex += m * mean(3, i+1)
		bySeed += m * mean(4, i)
	}
	const limit = 4 / 63.0 // four standard errors, sqrt(n) = 63
	require.InDelta(t, 0, sum/n, limit)
	require.InDelta(t, 1, squares/n, limit*math.Sqrt2)
	require.InDelta(t, 0, byIndex/n, limit)
	require.InDelta(t, 0, bySeed/n, limit)
}

func TestEachWithKeepsSpaceApart(t *testing.T) {
	var made atomic.Int32
	out := make([]int, 500)
	EachWith(len(out), 1, 2, func() *int { made.Add(1); return new(int) }, func(i int, _ *rand.Rand, s *int) {
		*s = i
		out[i] = *s
	})
	require.LessOrEqual(t, made.Load(), int32(2))
	for i, v := range out {
		require.Equal(t, i, v)
	}
}

func TestEachRaisesPanics(t *testing.T) {
	for _, cores := range []int{1, 2} {
		require.PanicsWithValue(t, "bad", func() {
			Each(100, 1, cores, func(i int, _ *rand.Rand) {
				if i == 37 {
					panic("bad")
				}
			})
		})
	}
}

func TestSubjects(t *testing.T) {
	subject := []int{9, -2, 9, 4, -2, 9}
	s := NewSubjects(subject)
	require.Equal(t, 3, s.Len())
	for k, want := range [][]int{{1, 4}, {3}, {0, 2, 5}} {
		require.Equal(t, want, s.Rows(k))
		require.Equal(t, subject[want[0]], s.Label(k))
	}
	require.Equal(t, []int{9, -2, 9, 4, -2, 9}, subject, "input untouched")
	require.Zero(t, NewSubjects(nil).Len())
}

func TestDrawTakesWholeSubjects(t *testing.T) {
	s := NewSubjects([]int{9, -2, 9, 4, -2, 9})
	var rows, as []int
	drawn := make([]int, s.Len())
	for i := range uint64(3000) {
		rows, as = s.Draw(Child(5, i), rows, as)
		weights := make([]float64, 6)
		s.Weights(Child(5, i), weights)
		counted := make([]float64, 6)
		for k := 0; k < len(rows); {
			own := slices.IndexFunc([]int{1, 3, 0}, func(first int) bool { return first == rows[k] })
			require.GreaterOrEqual(t, own, 0)
			for _, want := range s.Rows(own) {
				require.Equal(t, want, rows[k])
				counted[want]++
				k++
			}
			drawn[own]++
		}
		require.Equal(t, 2, as[len(as)-1], "three draws")
		require.True(t, slices.IsSorted(as))
		require.Equal(t, counted, weights, "Weights counts what Draw draws")
	}
	for _, n := range drawn { // binomial(9000, 1/3), standard deviation 45
		require.InDelta(t, 3000, n, 200)
	}
}

func BenchmarkEach(b *testing.B) {
	b.ReportAllocs()
	out := make([]float64, 10_000)
	for b.Loop() {
		Each(len(out), 1, 0, func(i int, rng *rand.Rand) { out[i] = rng.Float64() })
	}
}

func BenchmarkSubjectsWeights(b *testing.B) {
	subject := make([]int, 200)
	for i := range subject {
		subject[i] = i % 25
	}
	s, rng, weights := NewSubjects(subject), Child(1, 1), make([]float64, 200)
	b.ReportAllocs()
	for b.Loop() {
		s.Weights(rng, weights)
	}
}
