package reply

import (
	"math"
	"math/rand/v2"
	"testing"
)

// wide invents n tasters with as many replies each, no two ages alike.
func wide(rng *rand.Rand, n, replies int) []Subject {
	var out []Subject
	for range n {
		ages := make([]float64, replies)
		for j := range ages {
			ages[j] = 16 * (float64(j) + rng.Float64()) / float64(replies)
		}
		out = append(out, invent(rng, 1, ages, math.Log(7), 0.35, 0.3, 0)...)
	}
	return out
}

// BenchmarkEval is one evaluation of the log-likelihood: of 12 tasters at 8 common ages, of 24 with 24 replies each at ages all
// apart; with derivatives, without, and roughly; nodes for all of it (tau 0.3) and for what soft steps leave (tau 0.05).
func BenchmarkEval(b *testing.B) {
	rng := rand.New(rand.NewPCG(14, 1))
	for _, size := range []struct {
		name     string
		subjects []Subject
	}{{"12x8", invent(rng, 12, []float64{2, 4, 6, 8, 10, 12, 14, 16}, math.Log(7), 0.35, 0.3, 0)}, {"24x24", wide(rng, 24, 24)}} {
		p := New(Law{0.02, 0.98}, size.subjects)
		for _, theta := range []float64{0, 0.14, 0.6} {
			for _, how := range []string{"derivatives", "value", "rough"} {
				b.Run(size.name+"/"+how+"/theta="+map[float64]string{0: "0", 0.14: "0.14", 0.6: "0.6"}[theta], func(b *testing.B) {
					var w Space
					v, g, h := []float64{math.Log(7), math.Log(0.45), theta}, make([]float64, 3), make([]float64, 9)
					w.Rough = how == "rough"
					if how != "derivatives" {
						g, h = nil, nil
					}
					b.ReportAllocs()
					for b.Loop() {
						p.Eval(&w, v, g, h)
					}
				})
			}
		}
	}
}

// BenchmarkNestedEval is one evaluation with derivatives for 12 tasters with two limits each at 8 common ages.
func BenchmarkNestedEval(b *testing.B) {
	p := New(Law{0.02, 0.98}, pairs(rand.New(rand.NewPCG(3, 0)), 12, 1.3, 0.9, 0.2, []float64{2, 4, 6, 8, 10, 12, 14, 16}))
	v, g, h := []float64{1.866, 0.19, -1.23, 0.512, 0.266}, make([]float64, 5), make([]float64, 25)
	var w Space
	b.ReportAllocs()
	for b.Loop() {
		p.Eval(&w, v, g, h)
	}
}
