package analysis_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/mathtest"
)

// The prime windows of the demonstration evenings by lme4, pbkrtest and splines in R (testdata/answer/window/window.R): the same
// spline, the same t band, inverted by root search. Ages there are not rounded to the nanosecond and the limits are found
// without a grid, hence 0.002 min; scores agree to 1e-3.
func TestPrimeWindowAgainstR(t *testing.T) {
	f, err := os.Open("../testdata/answer/window/window.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 25)
	const source = "R 4.2.2, lme4 1.1-31, pbkrtest 0.5.2: testdata/answer/window/window.R"
	for _, r := range rows[1:] {
		study, err := analysis.Open("demo:" + r[0])
		require.NoError(t, err)
		for _, style := range study.Styles() {
			w, err := study.Brief().PrimeWindow(style)
			require.NoError(t, err)
			if w.Style != r[1] {
				continue
			}
			want, err := strconv.ParseFloat(r[3], 64)
			require.NoError(t, err)
			got := map[string]float64{"to": w.Main.To.Float(), "to_lower": w.Main.ToLower.Float(), "to_upper": w.Main.ToUpper.Float(),
				"to_limit_up": variantTo(w, "limit_up"), "to_limit_down": variantTo(w, "limit_down"),
				"fresh": w.Fresh.Mean, "fresh_lower": w.Fresh.Lower, "fresh_upper": w.Fresh.Upper}[r[2]]
			mathtest.Close(t, r[1]+" "+r[2], got, want, 0.002, source)
			if r[2] == "to_lower" {
				mathtest.Close(t, r[1]+" at least until", w.Main.AtLeastUntil.Float(), want, 0.002, source)
			}
		}
	}
}

func variantTo(w *answer.PrimeWindow, name string) float64 {
	for _, v := range w.Variants {
		if v.Variant == name {
			return v.Window.To.Float()
		}
	}
	return -1
}
