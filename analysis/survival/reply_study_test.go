package survival_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// Coverage of the median's 95 % limits over 400 panels a cell. Their Monte Carlo error is 1.1 points at 95 %.
func TestReplyCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("1,600 panels")
	}
	minutes := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	for _, tt := range []struct {
		name  string
		study simulate.Study
	}{
		{"5 tasters, clean, every 2 min", simulate.Study{Tasters: 5}},
		{"12 tasters, clean, every 2 min", simulate.Study{Tasters: 12}},
		{"5 tasters, noise 0.3, every minute", simulate.Study{Tasters: 5, ReplySD: 0.3, Ages: minutes}},
		{"12 tasters, noise 0.3, every minute", simulate.Study{Tasters: 12, ReplySD: 0.3, Ages: minutes}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			const panels = 400
			truth := tt.study.TrueMedian()
			var mutex sync.Mutex
			covered, open, failed := 0, 0, 0
			var wg sync.WaitGroup
			cores := runtime.GOMAXPROCS(0)
			for core := range cores {
				wg.Add(1)
				go func() {
					defer wg.Done()
					for i := core; i < panels; i += cores {
						f, err := survival.ReplyModel{Slips: 0.02}.Fit(unitsOf(tt.study.Draw(rand.New(rand.NewPCG(31, uint64(i)))), false))
						var q survival.ReplyEstimate
						if err == nil {
							q, err = f.Quantile(nil, 0.5)
						}
						mutex.Lock()
						switch {
						case err != nil || !f.Converged:
							failed++
						case q.Lower <= truth && truth <= q.Upper:
							covered++
						}
						if err == nil && (q.Lower == 0 || math.IsInf(q.Upper, 1)) {
							open++
						}
						mutex.Unlock()
					}
				}()
			}
			wg.Wait()
			share := 100 * float64(covered) / panels
			t.Logf("covered %.1f %%, open %d, failed %d", share, open, failed)
			require.Zero(t, failed)
			require.GreaterOrEqual(t, share, 92.0)
			require.LessOrEqual(t, share, 98.0)
		})
	}
}
