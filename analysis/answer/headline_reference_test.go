package answer

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

// The rows of the headline against R, which has the likelihood written afresh (testdata/answer/replies.R). R finds its limits to
// about 1e-6 and holds the spread of limits above 1e-4, hence the tolerance.
func TestHeadlineAgainstR(t *testing.T) {
	f, err := os.Open("../../testdata/answer/replies.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	cases := map[string]*Lifetime{}
	checked := map[string]int{}
	for _, r := range rows[1:] {
		name, statistic := r[0], r[4]
		if cases[name] == nil {
			var ages []float64
			for _, s := range strings.Fields(r[2]) {
				ages = append(ages, number(t, s))
			}
			in := evening(strings.Fields(r[3])...)
			if r[1] == "side_by_side" {
				in = beside(ages, strings.Fields(r[3])...)
			}
			cases[name] = mustLife(t, in)
		}
		want := number(t, r[6])
		for _, x := range cases[name].Rows {
			if v, ok := asInR(x, name, statistic, r[5]); ok {
				checked[name]++
				mathtest.Close(t, name+" "+statistic+" "+r[5], v, want, 2e-4*max(1, math.Abs(want)), "testdata/answer/replies.R, R 4.2.2")
			}
		}
	}
	require.Len(t, checked, 6)
	for name, n := range checked {
		require.GreaterOrEqual(t, n, 7, name)
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// asInR finds the number of a row that stands for a statistic of the reference.
func asInR(x Row, name, statistic, age string) (float64, bool) {
	method, variant := "replies", x.Variant
	switch name {
	case "stopped at the first no":
		method = "lognormal"
		variant, _ = strings.CutPrefix(variant, "first_no+")
	case "wavering without slips":
		variant, _ = strings.CutPrefix(variant, "slips_0+")
	case "wavering with 5 % slips":
		variant, _ = strings.CutPrefix(variant, "slips_5+")
	}
	if variant == x.Variant && name != "clean" && name != "wavering" && name != "beside" {
		return 0, false
	}
	base, end, _ := strings.Cut(statistic, "_")
	if statistic == "of_replies" {
		base, end = "share", ""
		variant, _ = strings.CutSuffix(variant, "+of_replies")
		if variant == x.Variant {
			return 0, false
		}
	}
	base = map[string]string{"sigma": "spread_limits", "tau": "spread_replies"}[base] + map[bool]string{true: "", false: base}[base == "sigma" || base == "tau"]
	if x.Method != method || x.Statistic != base || variant != "sip_through" && variant != "side_by_side" || age != x.AgeMin.String() {
		return 0, false
	}
	v := map[string]Num{"": x.Value, "lower": x.Lower, "upper": x.Upper}[end]
	if statistic == "sigma" { // of the model, not widened
		return v.Float() / math.Sqrt(float64(x.Tasters)/float64(x.Tasters-1)), true
	}
	return v.Float(), true
}
