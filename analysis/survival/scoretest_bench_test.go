package survival_test

import (
	"math/rand/v2"
	"testing"

	"lastsip/analysis/survival"
)

// 200 rows of two groups, 10,000 random relabellings each; 12 tasters who had two drinks, all 4,096.
func BenchmarkScoreTest(b *testing.B) {
	rows := lookRows(rand.New(rand.NewPCG(2, 200)), "grid", 200)
	half, pair, whole := make([]int, 200), make([]int, 200), make([]int, 200)
	for i := range rows {
		half[i], pair[i], whole[i] = i%2, i/2, i%2+2*(i/4)
	}
	spec := survival.ScoreTest{}
	for name, run := range map[string]func() (*survival.ScoreResult, error){
		"all/rows=200":       func() (*survival.ScoreResult, error) { return spec.Test(rows, half) },
		"within/rows=200":    func() (*survival.ScoreResult, error) { return spec.Within(rows, half, pair) },
		"between/rows=200":   func() (*survival.ScoreResult, error) { return spec.Between(rows, half, whole) },
		"clustered/rows=200": func() (*survival.ScoreResult, error) { return spec.Clustered(rows, half, pair) },
		"within/exact/rows=24": func() (*survival.ScoreResult, error) {
			return spec.Within(rows[:24], half[:24], pair[:24])
		},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := run(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
