package mixed_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// lines gives three rows a level at x = 0, 1, 2 about own lines, with a small residual that is orthogonal to all lines.
func lines(t *testing.T, intercepts, slopes []float64) *mixed.Table {
	var y, x []float64
	var who []string
	for i := range intercepts {
		for k := range 9 {
			at := float64(k % 3)
			y = append(y, intercepts[i]+slopes[i]*at+[]float64{0.5, -1, 0.5}[k%3]*[]float64{1, -1, 0.3}[k/3])
			x, who = append(x, at), append(who, fmt.Sprint("t", i))
		}
	}
	return table(t, mixed.Numbers("y", y), mixed.Numbers("age", x), mixed.Labels("taster", who), mixed.Numbers("odd", repeated(len(y), func(i int) float64 { return float64(i % 2) })))
}

func TestSingularIsNamed(t *testing.T) {
	for _, tt := range []struct {
		reason             string
		intercepts, slopes []float64
		random             mixed.Random
		want               []string
	}{
		{"neither", []float64{1, 5, 2, 8, 3, 9}, []float64{1, 3, -2, 0, 4, -1}, over("taster", num("age")), nil},
		{"tasters alike", []float64{3, 3, 3, 3, 3}, []float64{1, 1, 1, 1, 1}, over("taster"), []string{"intercept over taster: variance 0"}},
		{"slopes alike", []float64{1, 5, 2, 8, 3, 9}, []float64{1, 1, 1, 1, 1, 1}, over("taster", num("age")), []string{"slope of age over taster: variance 0"}},
		{"slopes alike, independent", []float64{1, 5, 2, 8, 3, 9}, []float64{1, 1, 1, 1, 1, 1},
			mixed.Random{Group: []string{"taster"}, Slopes: terms(num("age")), Independent: true}, []string{"slope of age over taster: variance 0"}},
		{"high tasters fall fast", []float64{1, 5, 2, 8, 3, 9}, []float64{-1, -5, -2, -8, -3, -9}, over("taster", num("age")), []string{"intercept and age over taster: correlation -1"}},
		{"high tasters rise", []float64{1, 5, 2, 8, 3, 9}, []float64{2, 10, 4, 16, 6, 18}, over("taster", num("age")), []string{"intercept and age over taster: correlation 1"}},
	} {
		t.Run(tt.reason, func(t *testing.T) {
			data := lines(t, tt.intercepts, tt.slopes)
			f := fit(t, mixed.Spec{Response: "y", Fixed: terms(num("age")), Random: []mixed.Random{tt.random}}, data)
			require.True(t, f.Converged(), f.Why())
			require.Equal(t, tt.want, f.Singular(), "%+v", f.Components())
			for _, s := range tt.want {
				require.Contains(t, f.Warnings(), "singular: "+s)
			}
			named, err := f.Predict(data, mixed.Named)
			require.NoError(t, err)
			for i, p := range named {
				require.InDelta(t, f.Fitted()[i], p.Value, 1e-9)
				require.Greater(t, p.SE, 0.0, "row %d", i+1)
			}
		})
	}
}
