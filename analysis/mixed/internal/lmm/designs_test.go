package lmm

import (
	"math"
	"math/rand/v2"
)

// invented is a random design: kind names its structure.
func invented(rng *rand.Rand, kind string) (x [][]float64, y []float64, terms []Term) {
	n := 18 + rng.IntN(30)
	factor := func(levels int) []int {
		l := make([]int, n)
		for i := range l {
			l[i] = rng.IntN(levels)
		}
		return l
	}
	normal := func(f float64) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = f * rng.NormFloat64()
		}
		return v
	}
	x = [][]float64{ones(n), normal(1), normal(20)}[:1+rng.IntN(3)]
	y = normal(1)
	outer := factor(3 + rng.IntN(3))
	inner := make([]int, n) // two or three levels within each of outer
	for i := range inner {
		inner[i] = outer[i]*3 + rng.IntN(3)
	}
	one := [][]float64{nil}
	slope := [][]float64{nil, normal(3)}
	switch kind {
	case "single":
		terms = []Term{{6, outer, one, false}}
	case "slopes":
		terms = []Term{{6, outer, slope, false}}
	case "three columns":
		terms = []Term{{6, outer, [][]float64{normal(1), nil, normal(5)}, false}}
	case "independent":
		terms = []Term{{6, outer, slope, true}}
	case "nested":
		terms = []Term{{18, inner, one, false}, {6, outer, slope, false}}
	case "nested slopes":
		terms = []Term{{6, outer, slope, false}, {18, inner, [][]float64{nil, normal(1)}, false}}
	case "crossed":
		terms = []Term{{6, outer, one, false}, {5, factor(4), one, false}}
	case "crossed slopes":
		terms = []Term{{5, factor(4), slope, false}, {6, outer, slope, false}}
	case "panel":
		terms = []Term{{6, outer, slope, false}, {4, factor(4), one, false}, {18, inner, one, false}}
	case "three crossed":
		terms = []Term{{9, factor(8), one, false}, {7, factor(6), slope, true}, {4, factor(4), one, false}}
	case "sparse": // each level of the root meets few of the others
		other := make([]int, n)
		for i := range other {
			other[i] = (2*outer[i] + rng.IntN(2)) % 9
		}
		terms = []Term{{12, factor(12), one, false}, {9, other, [][]float64{nil, normal(2)}, false}, {18, inner, one, false}}
	case "one level":
		terms = []Term{{1, make([]int, n), one, false}, {6, outer, one, false}}
	case "twice":
		terms = []Term{{6, outer, one, false}, {6, outer, one, false}, {3, factor(3), one, false}}
	default:
		panic(kind)
	}
	for _, t := range terms { // effects, so that variances are seldom 0
		b := make([]float64, t.Levels*len(t.Columns))
		for i := range b {
			b[i] = 0.7 * rng.NormFloat64()
		}
		for c, col := range t.Columns {
			for i, l := range t.Level {
				v := b[l*len(t.Columns)+c]
				if col != nil {
					v *= col[i] / 3
				}
				y[i] += v
			}
		}
	}
	return x, y, terms
}

var kinds = []string{"single", "slopes", "three columns", "independent", "nested", "nested slopes", "crossed", "crossed slopes", "panel",
	"three crossed", "sparse", "one level", "twice"}

// randomTheta has zeros on the diagonal and whole zero columns now and then.
func randomTheta(rng *rand.Rand, p *Problem) []float64 {
	theta := make([]float64, p.Thetas())
	for k, diagonal := range p.Diagonal() {
		theta[k] = rng.NormFloat64()
		if diagonal {
			theta[k] = math.Abs(theta[k])
		}
		if rng.IntN(4) == 0 {
			theta[k] = 0
		}
	}
	return theta
}
