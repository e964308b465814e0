package mixed_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"lastsip/analysis/mixed"
)

// big is a panel of tasters over evenings, styles and ages, with n rows.
func big(n int) *panel {
	rng := rand.New(rand.NewPCG(20320104, uint64(n)))
	p := &panel{}
	tasters, evenings := max(8, n/240), max(4, n/720)
	offset, slope, night := make([]float64, tasters), make([]float64, tasters), make([]float64, evenings)
	for i := range offset {
		offset[i], slope[i] = rng.NormFloat64(), 0.05*rng.NormFloat64()
	}
	for i := range night {
		night[i] = 0.4 * rng.NormFloat64()
	}
	for i := range n {
		a, e, s, age := i%tasters, rng.IntN(evenings), rng.IntN(3), float64(rng.IntN(8))*2
		p.score = append(p.score, 7+offset[a]+night[e]-(0.2+slope[a])*age+0.1*float64(s)*age+0.8*rng.NormFloat64())
		p.age, p.taster, p.evening = append(p.age, age), append(p.taster, fmt.Sprintf("t%04d", a)), append(p.evening, fmt.Sprintf("e%04d", e))
		p.style = append(p.style, []string{"highball", "sour", "stirred"}[s])
	}
	return p
}

// Fit from the table on: checks, model matrix, dependence of columns, kernel, effects.
func BenchmarkFit(b *testing.B) {
	for _, n := range []int{240, 2880, 28800} {
		data := big(n).table(b)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := panelSpec(false).Fit(data); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A curve of 400 ages, for the average and for one taster on one evening.
func BenchmarkPredict(b *testing.B) {
	f := fit(b, panelSpec(false), big(2880).table(b))
	p := &panel{}
	for i := range 400 {
		p.score, p.age, p.style = append(p.score, 0), append(p.age, float64(i)/20), append(p.style, "sour")
		p.taster, p.evening = append(p.taster, "t0003"), append(p.evening, "e0001")
	}
	at := p.table(b)
	for _, who := range []mixed.Who{mixed.Average, mixed.Named} {
		b.Run([]string{"average", "named"}[who], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := f.Predict(at, who); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
