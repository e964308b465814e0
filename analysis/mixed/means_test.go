package mixed_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// estimates are the estimates of a list.
func estimates(t testing.TB, f *mixed.Fit, list []mixed.Contrast) (out []float64) {
	got, err := f.Contrasts(list, mixed.ContrastOptions{DF: mixed.Normal})
	require.NoError(t, err)
	for _, c := range got.List {
		out = append(out, c.Estimate)
	}
	return out
}

// With all interactions and no random term a cell's mean is that of its rows, and a style's is that of its cells, whatever
// the numbers of rows.
func TestMeansOfUnequalCells(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310403, 1))
	var style []string
	var age, score []float64
	sum, n := map[string]map[float64]float64{}, map[string]map[float64]float64{}
	for k, s := range []string{"sour", "tall"} {
		sum[s], n[s] = map[float64]float64{}, map[float64]float64{}
		for j, a := range []float64{0, 5, 20} {
			for range 2 + 3*k + j*j {
				v := 7 + rng.NormFloat64() - float64(j) - float64(k*j)
				style, age, score = append(style, s), append(age, a), append(score, v)
				sum[s][a] += v
				n[s][a]++
			}
		}
	}
	data := table(t, mixed.Labels("style", style), mixed.Numbers("age", age), mixed.Numbers("score", score))
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), fac("age"), by(fac("style"), fac("age")))}, data)
	cells, err := f.Means([]string{"style", "age"})
	require.NoError(t, err)
	require.Equal(t, "sour, 0", cells[0].Name)
	require.Equal(t, "sour, 5", cells[1].Name)
	require.Equal(t, "tall, 20", cells[5].Name)
	styles := means(t, f, "style")
	chosen := means(t, f, "style", mixed.At{Name: "age", Values: []float64{20, 0}})
	all, err := f.Means(nil)
	require.NoError(t, err)
	const source = "worked by hand: means of the rows of each cell"
	total := 0.0
	for k, s := range []string{"sour", "tall"} {
		mean := 0.0
		for j, a := range []float64{0, 5, 20} {
			cell := sum[s][a] / n[s][a]
			mathtest.Close(t, "cell", estimates(t, f, cells)[3*k+j], cell, 1e-10, source)
			mean += cell / 3
		}
		mathtest.Close(t, "style", estimates(t, f, styles)[k], mean, 1e-10, source)
		mathtest.Close(t, "style at two ages", estimates(t, f, chosen)[k], (sum[s][0]/n[s][0]+sum[s][20]/n[s][20])/2, 1e-10, source)
		total += mean / 2
	}
	mathtest.Close(t, "all", estimates(t, f, all)[0], total, 1e-10, source)
}

// A cell without rows makes the means that need it errors, by name; others stand.
func TestMeansWithEmptyCell(t *testing.T) {
	data := eveningWhere(t, rand.New(rand.NewPCG(20310403, 2)), 4, func(style string, age float64) bool { return style != "still" || age != 15 })
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), fac("age"), by(fac("style"), fac("age"))), Random: perTaster}, data)
	require.Len(t, f.Aliased(), 1)
	_, err := f.Means([]string{"style"})
	require.ErrorContains(t, err, `"still" cannot be estimated`)
	require.Len(t, dataerr.All(err), 1)
	_, err = f.Means([]string{"age"})
	require.ErrorContains(t, err, `"15" cannot be estimated`)
	got, err := f.Means([]string{"style"}, mixed.At{Name: "age", Values: []float64{0, 4, 9}})
	require.NoError(t, err)
	require.Len(t, got, 3)
	got, err = f.Means([]string{"age"}, mixed.At{Name: "style", Labels: []string{"sour", "tall"}})
	require.NoError(t, err)
	require.Len(t, got, 4)
	_, err = f.Linear("lost", map[string]float64{"style[still]:age[15]": 1})
	require.ErrorContains(t, err, "cannot be estimated")
	require.ErrorContains(t, err, "left out")
	added := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), fac("age")), Random: perTaster}, data)
	_, err = added.Means([]string{"style", "age"})
	require.NoError(t, err, "without interaction the cell is told by the others")
}

// Slopes of a straight line are its coefficients; of curves the derivative.
func TestSlopes(t *testing.T) {
	data := evening(t, rand.New(rand.NewPCG(20310403, 3)), 5, 0.1)
	line := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("age"), by(fac("style"), num("age"))), Random: perTaster}, data)
	slopes, err := line.Slopes("age", []string{"style"})
	require.NoError(t, err)
	got, beta := estimates(t, line, slopes), line.Beta()
	for i, want := range []float64{beta[3], beta[3] + beta[4], beta[3] + beta[5]} {
		mathtest.Close(t, slopes[i].Name, got[i], want, 1e-10, "coefficients of the line")
	}
	mean, err := line.Slopes("age", nil)
	require.NoError(t, err)
	mathtest.Close(t, "averaged", estimates(t, line, mean)[0], (got[0]+got[1]+got[2])/3, 1e-10, "equal weights")
	raw := fit(t, mixed.Spec{Response: "score", Fixed: terms(mixed.Polynomial{Name: "age", Degree: 2, Raw: true}), Random: perTaster}, data)
	orthogonal := fit(t, mixed.Spec{Response: "score", Fixed: terms(mixed.Polynomial{Name: "age", Degree: 2}), Random: perTaster}, data)
	at := mixed.At{Name: "age", Values: []float64{6}}
	for _, f := range []*mixed.Fit{raw, orthogonal} {
		slope, err := f.Slopes("age", nil, at)
		require.NoError(t, err)
		b := raw.Beta()
		mathtest.Close(t, "parabola", estimates(t, f, slope)[0], b[1]+12*b[2], 1e-8, "derivative of the parabola at 6")
	}
	curve := fit(t, mixed.Spec{Response: "score", Fixed: terms(mixed.Spline{Name: "age", Knots: []float64{6}, Boundary: [2]float64{0, 15}}), Random: perTaster}, data)
	slope, err := curve.Slopes("age", nil, at)
	require.NoError(t, err)
	const h = 1e-3
	p, err := curve.Predict(table(t, mixed.Numbers("age", []float64{6 - h, 6 + h})), mixed.Average)
	require.NoError(t, err)
	mathtest.Close(t, "spline", estimates(t, curve, slope)[0], (p[1].Value-p[0].Value)/(2*h), 1e-6, "difference of predictions")
	ages, err := curve.Means([]string{"age"}, mixed.At{Name: "age", Values: []float64{0, 6, 12}})
	require.NoError(t, err)
	require.Equal(t, []string{"6 - 0", "12 - 0"}, []string{mixed.AgainstFirst(ages)[0].Name, mixed.AgainstFirst(ages)[1].Name})
}

func TestMeansBadInput(t *testing.T) {
	data := evening(t, rand.New(rand.NewPCG(20310403, 4)), 4, 0)
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("age")), Random: perTaster}, data)
	steps := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), fac("age")), Random: perTaster}, data)
	at := func(name string, values []float64, labels ...string) mixed.At {
		return mixed.At{Name: name, Values: values, Labels: labels}
	}
	for _, tt := range []struct {
		name  string
		f     *mixed.Fit
		by    []string
		at    []mixed.At
		fault error
		says  string
	}{
		{"misspelt", f, []string{"stile"}, nil, dataerr.ErrNoColumn, "did you mean style"},
		{"a grouping", f, []string{"taster"}, nil, dataerr.ErrNoColumn, "style, age"},
		{"twice", f, []string{"style", "style"}, nil, dataerr.ErrDuplicate, "once"},
		{"stated twice", f, nil, []mixed.At{at("age", []float64{1}), at("age", []float64{2})}, dataerr.ErrDuplicate, "once"},
		{"number without values", f, []string{"age"}, nil, dataerr.ErrMissing, "At"},
		{"labels of numbers", f, nil, []mixed.At{at("age", nil, "9")}, dataerr.ErrMissing, "Values"},
		{"numbers of labels", f, nil, []mixed.At{at("style", []float64{1})}, dataerr.ErrMissing, "Labels"},
		{"nothing stated", f, nil, []mixed.At{at("age", nil)}, dataerr.ErrMissing, "Values"},
		{"NaN", f, nil, []mixed.At{at("age", []float64{math.NaN()})}, dataerr.ErrNumber, "finite"},
		{"unknown style", f, nil, []mixed.At{at("style", nil, "soup")}, dataerr.ErrUnknown, "sour, still, tall"},
		{"unknown age", steps, nil, []mixed.At{at("age", []float64{7})}, dataerr.ErrUnknown, "0, 4, 9, 15"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.f.Means(tt.by, tt.at...)
			require.ErrorIs(t, err, tt.fault)
			require.ErrorContains(t, err, tt.says)
		})
	}
	_, err := steps.Slopes("age", nil)
	require.ErrorContains(t, err, "factor")
	_, err = f.Slopes("style", nil)
	require.ErrorContains(t, err, "factor")
	_, err = f.Slopes("ages", nil)
	require.ErrorIs(t, err, dataerr.ErrNoColumn)
	many := make([]float64, 2_000_000)
	_, err = f.Means([]string{"age"}, at("age", many))
	require.ErrorIs(t, err, dataerr.ErrRange)
	only := fit(t, mixed.Spec{Response: "score", Random: perTaster}, data)
	all, err := only.Means(nil)
	require.NoError(t, err)
	require.Equal(t, []mixed.Contrast{{Name: "mean", L: []float64{1}}}, all)
}
