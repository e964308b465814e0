package survival_test

import (
	"math"
	"math/rand/v2"
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
