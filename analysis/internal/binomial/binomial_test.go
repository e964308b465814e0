package binomial

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

const dir = "../../../testdata/binomial/"

// table reads a file of numbers, leaving the heading out.
func table(t *testing.T, name string) [][]float64 {
	t.Helper()
	file, err := os.Open(dir + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	out := make([][]float64, len(rows)-1)
	for i, row := range rows[1:] {
		for _, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			out[i] = append(out[i], v)
		}
	}
	require.Greater(t, len(out), 50)
	return out
}

func TestLimitsAgainstR(t *testing.T) {
	for _, r := range table(t, "limits.csv") {
		x, n, level := int(r[0]), int(r[1]), r[2]
		source := fmt.Sprintf("R 4.2.2 binom.test(%d, %d, conf.level = %g)", x, n, level)
		mathtest.CloseRel(t, "lower", Lower(x, n, (1-level)/2), r[3], 1e-14, 1e-11, source)
		mathtest.CloseRel(t, "upper", Upper(x, n, (1-level)/2), r[4], 1e-14, 1e-11, source)
	}
}

func TestRanksAgainstR(t *testing.T) {
	for _, r := range table(t, "ranks.csv") {
		n, p, level := int(r[0]), r[1], r[2]
		l, u := Ranks(n, p, (1-level)/2)
		require.Equal(t, [2]int{int(r[3]), int(r[4])}, [2]int{l, u}, "R 4.2.2 qbinom: n = %d, p = %g, level = %g", n, p, level)
	}
}

func TestCDFAgainstR(t *testing.T) {
	for _, r := range table(t, "cdf.csv") {
		k, n, p := int(r[0]), int(r[1]), r[2]
		source := fmt.Sprintf("R 4.2.2 pbinom(%d, %d, %g)", k, n, p)
		mathtest.CloseRel(t, "P(B <= k)", CDF(k, n, p), r[3], 1e-300, 1e-10, source)
		mathtest.CloseRel(t, "P(B >= k)", Survival(k, n, p), r[4], 1e-300, 1e-10, source)
	}
}

// Closed forms: no beta function in sight.
func TestClosedForms(t *testing.T) {
	const source = "worked by hand: P(B >= n) = p^n, P(B <= 0) = (1-p)^n"
	for _, n := range []int{1, 2, 5, 12, 100} {
		inv := 1 / float64(n)
		mathtest.Close(t, "lower, x = 0", Lower(0, n, 0.025), 0, 0, source)
		mathtest.Close(t, "upper, x = n", Upper(n, n, 0.025), 1, 0, source)
		mathtest.Close(t, "upper, x = 0", Upper(0, n, 0.025), 1-math.Pow(0.025, inv), 1e-15, source)
		mathtest.Close(t, "lower, x = n", Lower(n, n, 0.025), math.Pow(0.025, inv), 1e-15, source)
		mathtest.Close(t, "P(B <= 0)", CDF(0, n, 0.3), math.Pow(0.7, float64(n)), 1e-14, source)
		mathtest.Close(t, "P(B >= n)", Survival(n, n, 0.3), math.Pow(0.3, float64(n)), 1e-14, source)
	}
	// n = 2, x = 1: P(B >= 1) = 1 - (1-p)^2 = tail.
	mathtest.Close(t, "lower, 1 of 2", Lower(1, 2, 0.05), 1-math.Sqrt(0.95), 1e-15, "worked by hand: (1-p)^2 = 0.95")
}

// Sums of a handful of fractions, ends and ties of tails.
func TestRanksByHand(t *testing.T) {
	for _, tt := range []struct {
		n       int
		p, tail float64
		l, u    int
		source  string
	}{
		{5, 0.5, 0.025, 0, 6, "1/32 > 0.025 on either side"},
		{6, 0.5, 0.025, 1, 6, "1/64 < 0.025 < 7/64"},
		{6, 0.5, (1 - 0.96875) / 2, 1, 6, "1/64 is the tail exactly"},
		{8, 0.5, 0.025, 1, 8, "1/256 < 0.025 < 9/256"},
		{9, 0.5, 0.025, 2, 8, "10/512 = 0.0195 < 0.025 < 46/512"},
		{1, 0.1, 0.1, 0, 1, "P(B >= 1) = 0.1 is the tail exactly; P(B < 1) = 0.9"},
		{1, 0.1, (1 - 0.8) / 2, 0, 1, "the same with a tail that is rounded"},
		{3, 0.1, 0.025, 0, 3, "P(B >= 3) = 0.001, P(B >= 2) = 0.028; 0.9^3 > 0.025"},
	} {
		l, u := Ranks(tt.n, tt.p, tt.tail)
		require.Equal(t, [2]int{tt.l, tt.u}, [2]int{l, u}, "n = %d, p = %g, tail = %g; by hand: %s", tt.n, tt.p, tt.tail, tt.source)
	}
}

// Limits solve their definition, also where R was not asked.
func TestLimitsSolveTheirEquation(t *testing.T) {
	for _, n := range []int{4, 7, 40, 5000} {
		for _, x := range []int{1, n / 3, n - 1} {
			for _, tail := range []float64{1e-6, 0.05, 0.4} {
				const source = "definition: P(B >= x) = tail at the lower limit, P(B <= x) = tail at the upper"
				mathtest.CloseRel(t, "lower", Survival(x, n, Lower(x, n, tail)), tail, 0, 1e-9, source)
				mathtest.CloseRel(t, "upper", CDF(x, n, Upper(x, n, tail)), tail, 0, 1e-6, source) // a limit next to 1 has few digits of 1 - limit
			}
		}
	}
}

func TestEnds(t *testing.T) {
	require.Equal(t, []float64{0, 1, 1, 0}, []float64{CDF(-1, 3, 0.2), CDF(3, 3, 0.2), CDF(0, 3, 0), CDF(2, 3, 1)})
	require.Equal(t, []float64{1, 0, 0, 1}, []float64{Survival(0, 3, 0.2), Survival(4, 3, 0.2), Survival(1, 3, 0), Survival(3, 3, 1)})
	require.Equal(t, 1.0, CDF(0, 0, 0.5), "no draws")
	for name, call := range map[string]func(){
		"x above n": func() { Lower(4, 3, 0.05) }, "no rows": func() { Upper(0, 0, 0.05) },
		"tail 0": func() { Lower(1, 3, 0) }, "p NaN": func() { CDF(1, 3, math.NaN()) }, "p 1": func() { Ranks(3, 1, 0.05) },
	} {
		require.Panics(t, call, name)
	}
}

func TestNoAllocations(t *testing.T) {
	require.Zero(t, testing.AllocsPerRun(100, func() { Lower(3, 12, 0.025); Upper(3, 12, 0.025); Ranks(12, 0.5, 0.025) }))
}

func BenchmarkLimits(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Lower(5, 12, 0.025)
		Upper(5, 12, 0.025)
	}
}

func BenchmarkRanks(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Ranks(1000, 0.5, 0.025)
	}
}
