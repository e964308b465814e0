package figure_test

import (
	"testing"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// BenchmarkSVG times what a page costs: from answer to bytes.
func BenchmarkSVG(b *testing.B) {
	for _, name := range []string{"ribbon_usual", "lifetime_two_modes", "headline_usual", "headline_groups", "differences_many", "rejections_usual", "scores_one", "scores_eight", "window_noticed", "age_usual", "compare_eight", "readings_usual"} {
		a := cases()[name]
		b.Run(name, func(b *testing.B) { benchmarkSVG(b, a) })
	}
	// A full panel: 24 tasters, nine steps, liking and seven attributes.
	big := scoresOf(series("liking", true, 8.5, .4))
	for range 7 {
		big.Attributes = append(big.Attributes, series("bubbles", false, 8, .4))
	}
	for i := range big.Attributes {
		one := big.Attributes[i].Points
		for len(big.Attributes[i].Points) < 24*9 {
			big.Attributes[i].Points = append(big.Attributes[i].Points, one...)
		}
	}
	b.Run("scores_24x9x8", func(b *testing.B) { benchmarkSVG(b, big) })
}

func benchmarkSVG(b *testing.B, a answer.Answer) {
	b.ReportAllocs()
	for b.Loop() {
		f, err := figure.Of(a, figure.Wide)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := f.SVG(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPNG(b *testing.B) {
	f, err := figure.Of(cases()["lifetime_usual"], figure.Wide)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.PNG(); err != nil {
			b.Fatal(err)
		}
	}
}
