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

// The rows are those of a Weibull time (shape 2, scale 10) seen through looks: "cont" by an interval of width 0.5 to 4
// about it, one row in ten without an upper end; "grid" by looks every 2 minutes to 30, one in five skipped.
//
// With BENCH_DATA naming a folder that holds ic_cont_N.csv and ic_grid_N.csv (columns l, r; NA = open), those rows are
// timed instead. To compare with survfit() of R's survival package on the same rows, write them and time both:
//
//	R: x <- list(l =, r =) as above; write.csv(data.frame(l, r), "ic_cont_1000.csv", row.names = FALSE)
//	   S <- survival::Surv(x$l, x$r, type = "interval2"); system.time(survival::survfit(S ~ 1))
//	BENCH_DATA=FOLDER go test -run '^$' -bench 'NPMLE' -count 10 ./analysis/survival
func BenchmarkNPMLE(b *testing.B) {
	for _, kind := range []string{"cont", "grid"} {
		for _, n := range []int{100, 1000, 5000} {
			b.Run(fmt.Sprintf("%s/n=%d", kind, n), func(b *testing.B) {
				obs := benchRows(b, kind, n)
				var curve *survival.Curve
				var err error
				b.ReportAllocs()
				for b.Loop() {
					if curve, err = (survival.NPMLE{}).Fit(obs); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(curve.Gap, "gap")
				b.ReportMetric(float64(curve.Iterations), "steps")
			})
		}
	}
}

func BenchmarkIsotonic(b *testing.B) {
	for _, n := range []int{100, 1000, 5000} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(3, uint64(n)))
			obs := make([]survival.Status, n)
			for i := range obs {
				at := 30 * rng.Float64()
				obs[i] = survival.Status{Time: at, Over: 10*math.Sqrt(rng.ExpFloat64()) <= at}
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := (survival.Isotonic{}).Fit(obs); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkExact(b *testing.B) {
	obs := lookRows(rand.New(rand.NewPCG(2, 12)), "grid", 12)
	b.Run("share/n=12", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := survival.ExactShare(obs, 6, 0.95); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("quantile/n=12", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := survival.ExactQuantile(obs, 0.5, 0.95); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// benchRows reads the rows of BENCH_DATA, else invents them with a fixed seed.
func benchRows(tb testing.TB, kind string, n int) []survival.Interval {
	dir := os.Getenv("BENCH_DATA")
	if dir == "" {
		return lookRows(rand.New(rand.NewPCG(2, uint64(n))), kind, n)
	}
	name := filepath.Join(dir, fmt.Sprintf("ic_%s_%d.csv", kind, n))
	file, err := os.Open(name)
	if os.IsNotExist(err) {
		tb.Skipf("%s is not there", name)
	}
	require.NoError(tb, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(tb, err)
	obs := make([]survival.Interval, 0, n)
	for _, row := range rows[1:] {
		o := survival.Interval{L: 0, R: math.Inf(1)}
		for j, at := range []*float64{&o.L, &o.R} {
			if row[j] != "NA" {
				*at, err = strconv.ParseFloat(row[j], 64)
				require.NoError(tb, err)
			}
		}
		obs = append(obs, o)
	}
	return obs
}

// lookRows invents n rows as BenchmarkNPMLE describes.
func lookRows(rng *rand.Rand, kind string, n int) []survival.Interval {
	obs := make([]survival.Interval, n)
	for i := range obs {
		t := 10 * math.Sqrt(rng.ExpFloat64())
		var o survival.Interval
		if kind == "grid" {
			const step, top = 2, 30
			o.L = math.Floor(t/step) * step
			o.R = o.L + step
			if rng.Float64() < 0.2 {
				o.R += step
			}
			if o.R > top {
				o.R = math.Inf(1)
			}
			o.L = min(o.L, top)
		} else {
			width := 0.5 + 3.5*rng.Float64()
			o.L = t - rng.Float64()*width
			o.R = o.L + width
			o.L = max(o.L, 0)
			if rng.Float64() < 0.1 {
				o.R = math.Inf(1)
			}
		}
		obs[i] = o
	}
	return obs
}
