package survival_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

// lifetimeBenchRows are rows as BenchmarkNPMLE's "cont" with one covariate, or those of BENCH_DATA: aft_N.csv (columns l, r,
// z) and boot_N.csv (l, r); NA = open. To compare with survreg() of R's survival package on the same rows:
//
//	R: S <- survival::Surv(l, r, type = "interval2"); system.time(survival::survreg(S ~ z, dist = "weibull"))
//	BENCH_DATA=FOLDER go test -run '^$' -bench Lifetime ./analysis/survival
func lifetimeBenchRows(tb testing.TB, name string, n int) (rows []survival.Interval, x [][]float64) {
	dir := os.Getenv("BENCH_DATA")
	if dir == "" {
		rng := rand.New(rand.NewPCG(2, uint64(n)))
		rows = lookRows(rng, "cont", n)
		for range rows {
			x = append(x, []float64{rng.NormFloat64()})
		}
		return rows, x
	}
	file, err := os.Open(filepath.Join(dir, fmt.Sprintf("%s_%d.csv", name, n)))
	if os.IsNotExist(err) {
		tb.Skipf("%s_%d.csv is not there", name, n)
	}
	require.NoError(tb, err)
	defer file.Close()
	cells, err := csv.NewReader(file).ReadAll()
	require.NoError(tb, err)
	number := func(s string, open float64) float64 {
		if s == "NA" {
			return open
		}
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(tb, err)
		return v
	}
	for _, c := range cells[1:] {
		rows = append(rows, survival.Interval{L: number(c[0], 0), R: number(c[1], math.Inf(1))})
		if len(c) > 2 {
			x = append(x, []float64{number(c[2], math.NaN())})
		}
	}
	return rows, x
}

func BenchmarkLifetimeFit(b *testing.B) {
	for _, f := range allFamilies {
		for _, n := range []int{12, 200, 1000, 100_000} {
			if f >= survival.Gamma && (n > 1000 || n < 200) { // twelve rows rarely have a generalised gamma maximum
				continue
			}
			b.Run(fmt.Sprintf("%v/n=%d", f, n), func(b *testing.B) {
				rows, x := lifetimeBenchRows(b, "aft", n)
				var fit *survival.ParametricFit
				var err error
				b.ReportAllocs()
				for b.Loop() {
					if fit, err = (survival.Parametric{Family: f}).Fit(rows, x, nil); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(fit.Iterations), "steps")
				b.ReportMetric(fit.LogLik, "loglik")
			})
		}
	}
}

func BenchmarkLifetimeBootstrap(b *testing.B) {
	rows, _ := lifetimeBenchRows(b, "boot", 200)
	var q survival.ParametricEstimate
	b.ReportAllocs()
	for b.Loop() { // fit, 1,000 resamples, limits of the median
		fit, err := survival.Parametric{Family: survival.Weibull}.Fit(rows, nil, nil)
		if err != nil {
			b.Fatal(err)
		}
		boot, err := fit.Bootstrap(4, 1000)
		if err != nil {
			b.Fatal(err)
		}
		if q, err = boot.Quantile(nil, 0, 0.5); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(q.SE, "sd")
}

func BenchmarkLifetimeProfile(b *testing.B) {
	for _, f := range allFamilies {
		b.Run(f.String(), func(b *testing.B) {
			rows := lookRows(rand.New(rand.NewPCG(2, 24)), "grid", 24)
			fit, err := survival.Parametric{Family: f}.Fit(rows, nil, nil)
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := fit.Quantile(nil, 0, 0.5, survival.ProfileLimits); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLifetimeDistance(b *testing.B) {
	rows := lookRows(rand.New(rand.NewPCG(2, 24)), "grid", 24)
	fit, err := survival.Parametric{Family: survival.LogNormal}.Fit(rows, nil, nil)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fit.Distance(nil, 999, 1); err != nil {
			b.Fatal(err)
		}
	}
}
