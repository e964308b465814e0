package survival_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// labellings goes through all k^n labellings of n rows and hands over those that keep, for every subject, how many rows of
// each label it has. same nil: all rows are one subject.
func labellings(label, same []int, k int, f func(try []int)) {
	counts := func(l []int) map[[2]int]int {
		c := map[[2]int]int{}
		for i, g := range l {
			s := 0
			if same != nil {
				s = same[i]
			}
			c[[2]int{s, g}]++
		}
		return c
	}
	want := counts(label)
	try := make([]int, len(label))
	var from func(i int)
	from = func(i int) {
		if i == len(try) {
			c := counts(try)
			for key, n := range want {
				if c[key] != n {
					return
				}
			}
			f(try)
			return
		}
		for g := range k {
			try[i] = g
			from(i + 1)
		}
	}
	from(0)
}

// pairs gives n tasters who had k drinks each, with labels and subjects.
func pairs(rng *rand.Rand, n, k int, ties bool) (rows []survival.Interval, label, subject []int) {
	rows = invented(rng, n*k, ties)
	for i := range rows {
		label, subject = append(label, i%k), append(subject, i/k)
	}
	return rows, label, subject
}

// centred gives scores less the mean of their subject (of all when same is nil).
func centred(score []float64, same []int) []float64 {
	sum, n := map[int]float64{}, map[int]float64{}
	at := func(i int) int {
		if same == nil {
			return 0
		}
		return same[i]
	}
	for i, c := range score {
		sum[at(i)] += c
		n[at(i)]++
	}
	out := make([]float64, len(score))
	for i, c := range score {
		out[i] = c - sum[at(i)]/n[at(i)]
	}
	return out
}

// bruteForce gives p, the smallest p and the covariance of the sums of values by label over all labellings; size is the
// statistic.
func bruteForce(value []float64, label, same []int, k int, size func(sum []float64) float64) (p, smallest float64, cov [][]float64) {
	sums := func(l []int) []float64 {
		u := make([]float64, k)
		for i, g := range l {
			u[g] += value[i]
		}
		return u
	}
	observed := size(sums(label))
	var all []float64
	cov = make([][]float64, k)
	for g := range cov {
		cov[g] = make([]float64, k)
	}
	labellings(label, same, k, func(try []int) {
		u := sums(try)
		all = append(all, size(u))
		for g := range cov {
			for h := range cov {
				cov[g][h] += u[g] * u[h]
			}
		}
	})
	most := slices.Max(all)
	for _, q := range all {
		if q >= observed-1e-7 {
			p++
		}
		if q >= most-1e-7 {
			smallest++
		}
	}
	n := float64(len(all))
	for g := range cov {
		for h := range cov {
			cov[g][h] /= n
		}
	}
	return p / n, smallest / n, cov
}

func agrees(t *testing.T, r *survival.ScoreResult, p, smallest float64, cov [][]float64) {
	t.Helper()
	require.Equal(t, survival.Exact, r.Method)
	const source = "brute force over all labellings"
	mathtest.Close(t, "p", r.P, p, 1e-12, source)
	mathtest.Close(t, "smallest p", r.SmallestP, smallest, 1e-12, source)
	for g, row := range cov {
		for h, v := range row {
			mathtest.Close(t, "variance", r.Variance()[g][h], v, 1e-9, source)
		}
	}
}

func TestExactIsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 21))
	twoSided := func(u []float64) float64 { return math.Abs(u[0]) }
	tested := map[string]int{}
	check := func(name string, r *survival.ScoreResult, value []float64, label, same []int) {
		p, smallest, cov := bruteForce(value, label, same, 2, twoSided)
		if r.Tied {
			require.Equal(t, 1.0, p)
			return
		}
		agrees(t, r, p, smallest, cov)
		tested[name]++
	}
	for round := range 60 {
		spec := survival.ScoreTest{Scores: survival.ScoreKind(round % 3)}
		rows, label, subject := pairs(rng, 2+rng.IntN(4), 2, round%2 == 0)
		n := len(rows) // one more row: subject 1 had drink 0, row 2, twice
		rows, label, subject = append(rows, rows[0]), append(label, 0), append(subject, 1)
		score, _, err := spec.RowScores(rows)
		require.NoError(t, err)

		r, err := spec.Within(rows, label, subject)
		require.NoError(t, err)
		means := slices.Clone(score[:n])
		means[2] = (score[2] + score[n]) / 2
		check("within", r, centred(means, subject[:n]), label[:n], subject[:n])

		for i := range label {
			label[i] = rng.IntN(2)
		}
		label[0], label[1] = 0, 1
		r, err = spec.Test(rows, label)
		require.NoError(t, err)
		check("all", r, centred(score, nil), label, nil)

		// Subjects 0, 1 and 4, of one to three rows: 0 and 4 in group 0, 1 in group 1; and one of a single row in each.
		for i := range rows {
			subject[i] = i * i % 5
		}
		subject[n], subject[n-1] = 7, 8
		var whole []float64
		var of []int
		for i, s := range subject {
			label[i] = s % 2
			sum, count := 0.0, 0.0
			for j, o := range subject {
				if o == s {
					sum += score[j]
					count++
				}
			}
			if slices.Index(subject, s) == i {
				whole, of = append(whole, sum/count), append(of, s%2)
			}
		}
		r, err = spec.Between(rows, label, subject)
		require.NoError(t, err)
		require.Equal(t, len(whole), r.Units)
		check("between", r, centred(whole, nil), of, nil)
	}
	for name, n := range tested {
		require.Greater(t, n, 40, name)
	}
	require.Len(t, tested, 3)
}

// Three drinks by every taster: the quadratic form is in proportion to the sum of squares.
func TestExactIsBruteForceThreeGroups(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 22))
	for round := range 20 {
		rows, label, subject := pairs(rng, 3, 3, round%2 == 0)
		spec := survival.ScoreTest{Scores: survival.ScoreKind(round % 3)}
		score, _, err := spec.RowScores(rows)
		require.NoError(t, err)
		r, err := spec.Within(rows, label, subject)
		require.NoError(t, err)
		if r.DF < 2 {
			continue
		}
		p, smallest, cov := bruteForce(centred(score, subject), label, subject, 3, func(u []float64) float64 {
			return u[0]*u[0] + u[1]*u[1] + u[2]*u[2]
		})
		agrees(t, r, p, smallest, cov)
		require.LessOrEqual(t, r.Relabellings, 216.0)
	}
}

// Two drinks by n tasters whose replies all differ: 2 of 2^n relabellings are the most extreme.
func TestSmallestP(t *testing.T) {
	for n, want := range map[int]float64{3: 0.25, 5: 0.0625, 8: 0.0078125, 12: 2. / 4096} {
		var rows []survival.Interval
		var label, subject []int
		for i := range n {
			at := float64(i)
			rows = append(rows, survival.Interval{L: at, R: at + 1}, survival.Interval{L: at + 20, R: at + 21 + at/10})
			label, subject = append(label, 4, 9), append(subject, i, i)
		}
		for _, spec := range []survival.ScoreTest{{}, {Scores: survival.WilcoxonScores}, {MaxExact: -1, Draws: 20_000}} {
			r, err := spec.Within(rows, label, subject)
			require.NoError(t, err)
			mathtest.Close(t, "smallest p", r.SmallestP, want, 1e-12, "2 of 2^n by counting")
			require.Equal(t, float64(int(1)<<n), r.Relabellings)
			require.InDelta(t, want, r.P, 1e-12+5*r.PError, "this is the most extreme relabelling")
			require.Negative(t, r.Z, "the second drink lasted longer")
		}
		// A taster who makes no difference counts out.
		r, err := survival.ScoreTest{}.Within(append(rows, rows[0], rows[0]), append(label, 4, 9), append(subject, n, n))
		require.NoError(t, err)
		require.Equal(t, 1, r.TiedUnits)
		require.Equal(t, n+1, r.Units)
		mathtest.Close(t, "smallest p", r.SmallestP, want, 1e-12, "2 of 2^n by counting")
	}
}

// Draws agree with the enumeration within their own error, in every way of relabelling; and so does the smallest p.
func TestDrawsAgreeWithExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 23))
	for round := range 12 {
		rows, label, subject := pairs(rng, 4, 2+round%2, round%4 < 2)
		drawn := survival.ScoreTest{MaxExact: -1, Draws: 20_000, Seed: uint64(round), Scores: survival.ScoreKind(round % 3)}
		exact := drawn
		exact.MaxExact = 1_000_000
		apart := make([]int, len(subject)) // subjects of one or two rows, each in one group
		for i := range apart {
			apart[i] = label[i]*10 + subject[i]/2
		}
		for name, run := range map[string]func(s survival.ScoreTest) (*survival.ScoreResult, error){
			"all":     func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Test(rows, label) },
			"within":  func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Within(rows, label, subject) },
			"between": func(s survival.ScoreTest) (*survival.ScoreResult, error) { return s.Between(rows, label, apart) },
		} {
			a, err := run(exact)
			require.NoError(t, err)
			b, err := run(drawn)
			require.NoError(t, err)
			if a.Tied {
				require.True(t, b.Tied)
				continue
			}
			require.Equal(t, survival.Exact, a.Method)
			require.Equal(t, survival.ByDraws, b.Method)
			require.Equal(t, 20_000, b.Draws)
			require.InDelta(t, a.P, b.P, 4.5*math.Sqrt(a.P*(1-a.P)/20_000)+1e-4, "%s, round %d", name, round)
			require.Equal(t, a.ChiSquare, b.ChiSquare)
			require.Equal(t, a.Relabellings, b.Relabellings)
			if len(a.Groups()) == 2 {
				mathtest.Close(t, "smallest p", b.SmallestP, max(a.SmallestP, 1./20_001), 1e-9, "the enumeration of the same relabellings")
			} else {
				require.Equal(t, 1./20_001, b.SmallestP)
			}
		}
	}
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	rows := lookRows(rand.New(rand.NewPCG(4, 4)), "grid", 120)
	label, subject := make([]int, 120), make([]int, 120)
	for i := range rows {
		label[i], subject[i] = i%3, i/3
	}
	run := func(cores int, seed uint64) *survival.ScoreResult {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r, err := survival.ScoreTest{Draws: 3100, Seed: seed}.Within(rows, label, subject)
		require.NoError(t, err)
		require.Equal(t, survival.ByDraws, r.Method)
		return r
	}
	one := run(1, 5)
	for _, cores := range []int{2, 4} {
		require.Equal(t, one, run(cores, 5))
	}
	require.NotEqual(t, one.P, run(2, 6).P, "the seed counts")
}

// One row against 10,000: as many relabellings as rows, gone through in a moment.
func TestExactOneAgainstMany(t *testing.T) {
	const n = 10_001
	rows, label := make([]survival.Interval, n), make([]int, n)
	for i := range rows {
		at := float64(i)
		rows[i] = survival.Interval{L: at, R: at + 1}
	}
	label[0] = 1
	r, err := survival.ScoreTest{Scores: survival.WilcoxonScores}.Test(rows, label)
	require.NoError(t, err)
	require.Equal(t, survival.Exact, r.Method)
	require.Equal(t, float64(n), r.Relabellings)
	mathtest.Close(t, "p", r.P, 2./n, 1e-12, "by counting: the first of n and, mirrored, the last")
	mathtest.Close(t, "smallest p", r.SmallestP, 2./n, 1e-12, "by counting")
}
