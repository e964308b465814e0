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

// The rows are Weibull times (shape 2, scale about 10) in two groups, censored evenly between 0 and 25. With BENCH_DATA
// naming a folder that holds rc_N.csv (columns t, d = 1 for an event, z, g = 0 or 1) those rows are timed instead. To
// compare with R's survival package on the same rows:
//
//	R: x <- read.csv("rc_100000.csv"); S <- survival::Surv(x$t, x$d)
//	   system.time(survival::survfit(S ~ x$g)); system.time(survival::survdiff(S ~ x$g))
//	BENCH_DATA=FOLDER go test -run '^$' -bench 'KaplanMeier|LogRank' -count 10 ./analysis/survival
func timedRows(b *testing.B, n int) (rows []survival.Timed, group []int) {
	dir := os.Getenv("BENCH_DATA")
	if dir == "" {
		rng := rand.New(rand.NewPCG(3, uint64(n)))
		for i := range n {
			t := 10 * math.Exp(-0.2*rng.NormFloat64()-0.1*float64(i%2)) * math.Sqrt(rng.ExpFloat64())
			c := 25 * rng.Float64()
			rows = append(rows, survival.Timed{Time: min(t, c), Event: t <= c})
			group = append(group, i%2)
		}
		return rows, group
	}
	name := filepath.Join(dir, fmt.Sprintf("rc_%d.csv", n))
	file, err := os.Open(name)
	if os.IsNotExist(err) {
		b.Skipf("%s is not there", name)
	}
	require.NoError(b, err)
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(b, err)
	for _, r := range records[1:] {
		t, err := strconv.ParseFloat(r[0], 64)
		require.NoError(b, err)
		rows = append(rows, survival.Timed{Time: t, Event: r[1] == "1"})
		g, err := strconv.Atoi(r[3])
		require.NoError(b, err)
		group = append(group, g)
	}
	return rows, group
}

func eachSize(b *testing.B, run func(b *testing.B, rows []survival.Timed, group []int)) {
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			rows, group := timedRows(b, n)
			b.ReportAllocs()
			b.ResetTimer()
			run(b, rows, group)
		})
	}
}

// Both curves, rows parted by group included; "log" has the limits that survfit() gives unless told otherwise.
func BenchmarkKaplanMeier(b *testing.B) {
	for _, scale := range []survival.LimitScale{survival.LogLimits, survival.LogLogLimits} {
		b.Run(scale.String(), func(b *testing.B) {
			eachSize(b, func(b *testing.B, rows []survival.Timed, group []int) {
				for b.Loop() {
					var part [2][]survival.Timed
					for g := range part {
						part[g] = make([]survival.Timed, 0, len(rows))
					}
					for i, r := range rows {
						part[group[i]] = append(part[group[i]], r)
					}
					for _, p := range part {
						if _, err := (survival.KaplanMeier{Scale: scale}).Fit(p); err != nil {
							b.Fatal(err)
						}
					}
				}
			})
		})
	}
}

func BenchmarkLogRank(b *testing.B) {
	eachSize(b, func(b *testing.B, rows []survival.Timed, group []int) {
		var r *survival.GroupTest
		var err error
		for b.Loop() {
			if r, err = (survival.LogRank{}).Test(rows, group); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(r.ChiSquare, "chi-square")
	})
}

// Two causes, every second event by the other one.
func BenchmarkIncidence(b *testing.B) {
	for _, name := range []string{"curves", "gray"} {
		b.Run(name, func(b *testing.B) {
			eachSize(b, func(b *testing.B, rows []survival.Timed, group []int) {
				caused := make([]survival.Caused, len(rows))
				for i, r := range rows {
					if caused[i].Time = r.Time; r.Event {
						caused[i].Cause = 1 + i/2%2
					}
				}
				for b.Loop() {
					var err error
					if name == "curves" {
						_, err = survival.CumulativeIncidence{}.Fit(caused)
					} else {
						_, err = survival.GrayTest{}.Test(caused, 1, group)
					}
					if err != nil {
						b.Fatal(err)
					}
				}
			})
		})
	}
}
