package mixed_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// The relative covariance factors, in the order of the reference library by name.
func TestReferenceTheta(t *testing.T) {
	var entries []entry
	readJSON(t, "lmm.json", &entries)
	seen := 0
	for _, e := range entries {
		cut := strings.LastIndex(e.ID, "_")
		m, ok := models[e.ID[:cut]]
		if !ok {
			continue
		}
		m.spec.ML = !e.Values.Reml
		f := fit(t, m.spec, readTable(t, e.Data[0], strings.Fields(m.labels)...))
		theta := f.Theta()
		require.Len(t, theta, len(e.Values.Theta), e.source())
		at := 0
		for _, r := range m.spec.Random {
			group, columns := strings.Join(r.Group, ":"), columnsOf(t, f, r)
			for j, col := range columns {
				for _, row := range columns[j:] {
					key := group + "." + lme4Name(row)
					if row != col {
						key += "." + lme4Name(col)
					}
					want, ok := e.Values.Theta[key]
					require.True(t, ok, "%s in %v", key, e.Values.Theta)
					mathtest.CloseRel(t, "theta "+key, theta[at], float64(want), 1e-4, 1e-4, e.source())
					at++
					seen++
				}
			}
		}
	}
	require.Greater(t, seen, 60)
}

// columnsOf names the columns of a random term.
func columnsOf(t *testing.T, f *mixed.Fit, r mixed.Random) []string {
	t.Helper()
	var out []string
	for _, c := range f.Components() {
		if c.Group != strings.Join(r.Group, ":") || c.Column2 != "" {
			continue
		}
		if own := c.Column == "intercept" && !r.NoIntercept || c.Column != "intercept" && len(r.Slopes) > 0; own {
			out = append(out, c.Column)
		}
	}
	return out
}
