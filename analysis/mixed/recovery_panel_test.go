package mixed_test

import (
	"fmt"
	"math/rand/v2"

	"gonum.org/v1/gonum/interp"

	"lastsip/analysis/mixed"
)

// recoveryWorld is how the panels of the table come about: every taster tastes three styles at eight ages on three evenings, each
// time from one of that evening's two batches of the style, which half of the tasters share. Standard deviations are in points.
type recoveryWorld struct {
	tasters                                          int
	offset, slope, tasterStyle, evening, batch, rest float64
}

func usualWorld(tasters int) recoveryWorld {
	return recoveryWorld{tasters: tasters, offset: 0.8, slope: 0.06, tasterStyle: 0.3, evening: 0.3, batch: 0.2, rest: 1}
}

var (
	recoveryStyles   = []string{"highball", "sour", "stirred"}
	recoveryAges     = []float64{0, 2, 4, 6, 8, 10, 13, 16}
	recoveryKnots    = []float64{4 + 2./3, 9 + 1./3} // type-7 quantiles of the ages at 1/3 and 2/3
	recoveryEvenings = []string{"fri", "mon", "wed"}
)

// recoveryTruth is each style's expected score at each age: a natural cubic spline on the knots of the model, so that both
// models, one mean per age and the spline, can be right.
var recoveryTruth = func() (out [][]float64) {
	for _, at := range [][]float64{{7.5, 6.2, 4.4, 3}, {8, 6.6, 4.1, 2.9}, {7, 7.4, 6.5, 4.8}} { // at 0, both knots, 16 min
		var curve interp.NaturalCubic
		if err := curve.Fit([]float64{0, recoveryKnots[0], recoveryKnots[1], 16}, at); err != nil {
			panic(err)
		}
		means := make([]float64, len(recoveryAges))
		for k, a := range recoveryAges {
			means[k] = curve.Predict(a)
		}
		out = append(out, means)
	}
	return out
}()

// draw invents one panel.
func (w recoveryWorld) draw(rng *rand.Rand) (*mixed.Table, error) {
	normal := func(sd float64) float64 { return sd * rng.NormFloat64() }
	var score, age []float64
	var taster, style, evening, batch []string
	offsets, slopes := make([]float64, w.tasters), make([]float64, w.tasters)
	own := make([][3]float64, w.tasters)
	for i := range w.tasters {
		offsets[i], slopes[i] = normal(w.offset), normal(w.slope)
		for s := range own[i] {
			own[i][s] = normal(w.tasterStyle)
		}
	}
	for e, night := range recoveryEvenings {
		shift := normal(w.evening)
		for s, name := range recoveryStyles {
			faults := [2]float64{normal(w.batch), normal(w.batch)}
			for i := range w.tasters {
				half := (i + e + s) % 2 // who shares a batch with whom changes little by little
				for k, a := range recoveryAges {
					score = append(score, recoveryTruth[s][k]+offsets[i]+slopes[i]*a+own[i][s]+shift+faults[half]+normal(w.rest))
					age, style, evening = append(age, a), append(style, name), append(evening, night)
					taster = append(taster, fmt.Sprintf("t%02d", i))
					batch = append(batch, fmt.Sprint(night, name, half))
				}
			}
		}
	}
	return mixed.NewTable(mixed.Numbers("score", score), mixed.Numbers("age", age), mixed.Labels("taster", taster),
		mixed.Labels("style", style), mixed.Labels("evening", evening), mixed.Labels("batch", batch))
}

// recoveryModel is a model that is fitted to the panels.
type recoveryModel struct {
	name    string
	curve   bool // a spline in age, else one mean per age
	own     bool // with a term for tasters' own liking of a style
	tasters []int
}

var recoveryModels = []recoveryModel{
	{"one mean per age", false, true, []int{5, 8, 12, 24}},
	{"spline", true, true, []int{5, 8, 12, 24}},
	{"one mean per age, taster:style left out", false, false, []int{12}},
}

func (m recoveryModel) spec() mixed.Spec {
	curve := fac("age")
	if m.curve {
		curve = mixed.Spline{Name: "age", Knots: recoveryKnots, Boundary: [2]float64{0, 16}}
	}
	s := mixed.Spec{Response: "score",
		Fixed:  terms(fac("style"), curve, by(fac("style"), curve), mixed.Factor{Name: "evening", Contrast: mixed.Sum}),
		Random: []mixed.Random{over("taster", num("age")), over("batch")}}
	if m.own {
		s.Random = append(s.Random, mixed.Random{Group: []string{"taster", "style"}})
	}
	return s
}

// recoveryFamily is a family of contrasts with their true values.
type recoveryFamily struct {
	name  string
	of    []mixed.Contrast
	truth []float64
}

// families lists what is asked of a fit: ages of one style against fresh, styles at 8 min, and the mean slopes of the styles
// over the ages (least squares through the eight expected scores) against each other.
func families(f *mixed.Fit) ([]recoveryFamily, error) {
	means, err := f.Means([]string{"style", "age"}, mixed.At{Name: "age", Values: recoveryAges})
	if err != nil {
		return nil, err
	}
	ages, styles := len(recoveryAges), len(recoveryStyles)
	fresh := recoveryFamily{name: familyNames[0], of: mixed.AgainstFirst(means[ages : 2*ages])}
	for k := range ages - 1 {
		fresh.truth = append(fresh.truth, recoveryTruth[1][k+1]-recoveryTruth[1][0])
	}
	middle := 0.0
	for _, a := range recoveryAges {
		middle += a / float64(ages)
	}
	weights, squares := make([]float64, ages), 0.0
	for k, a := range recoveryAges {
		weights[k] = a - middle
		squares += weights[k] * weights[k]
	}
	var at8, slopes []mixed.Contrast
	level, fall := make([]float64, styles), make([]float64, styles)
	for k := range weights {
		weights[k] /= squares
	}
	for s := range styles {
		at8 = append(at8, means[s*ages+4])
		level[s] = recoveryTruth[s][4]
		line, err := mixed.Combine(recoveryStyles[s], means[s*ages:(s+1)*ages], weights)
		if err != nil {
			return nil, err
		}
		slopes = append(slopes, line)
		for k, w := range weights {
			fall[s] += w * recoveryTruth[s][k]
		}
	}
	return []recoveryFamily{fresh, {familyNames[1], mixed.AllPairs(at8), pairsOf(level)},
		{familyNames[2], mixed.AllPairs(slopes), pairsOf(fall)}}, nil
}

var familyNames = []string{"sour, ages against fresh", "styles at 8 min", "slopes between styles, per min"}

// pairsOf gives the differences in the order of mixed.AllPairs.
func pairsOf(v []float64) (out []float64) {
	for i := range v {
		for j := i + 1; j < len(v); j++ {
			out = append(out, v[i]-v[j])
		}
	}
	return out
}
