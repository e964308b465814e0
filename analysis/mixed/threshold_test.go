package mixed_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// lineOf gives the combinations for intercept and slope of a style in the model with interaction.
func lineOf(style string) (a, b []float64) {
	// intercept, style[B], style[C], time, style[B]:time, style[C]:time
	a, b = []float64{1, 0, 0, 0, 0, 0}, []float64{0, 0, 0, 1, 0, 0}
	switch style {
	case "B":
		a[1], b[4] = 1, 1
	case "C":
		a[2], b[5] = 1, 1
	}
	return a, b
}

func TestThresholdReference(t *testing.T) {
	type fieller struct{ Ratio, G, Lower, Upper number }
	var entries []struct {
		entry
		Values struct {
			Limit, Intercept, Slope number
			Vcov                    matrixOf
			AgeAtLimit              number  `json:"age_at_limit"`
			SE                      number  `json:"se_delta"`
			Z                       fieller `json:"fieller_z"`
			T                       fieller `json:"fieller_t"`
			DF                      number  `json:"t_df"`
		}
	}
	readJSON(t, "mixed_threshold.json", &entries)
	require.Len(t, entries, 4)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			m := models["lmm_sleepstudy_corr"]
			a, b := []float64{1, 0}, []float64{0, 1}
			if e.Data[0] == "sim_crossed" {
				m = models["lmm_crossed"]
				a, b = lineOf(strings.Split(e.ID, "_")[2])
			}
			f := fit(t, m.spec, readTable(t, e.Data[0], strings.Fields(m.labels)...))
			v := e.Values
			for _, tt := range []struct {
				df   float64
				want fieller
			}{{math.Inf(1), v.Z}, {float64(v.DF), v.T}} {
				c, err := f.Inverse(float64(v.Limit), a, b, tt.df, 0.95)
				require.NoError(t, err)
				near := func(what string, got float64, want number) {
					mathtest.CloseRel(t, what, got, float64(want), 1e-5, 1e-4, e.source())
				}
				near("intercept", c.Intercept, v.Intercept)
				near("slope", c.Slope, v.Slope)
				near("its variance", c.InterceptSE*c.InterceptSE, v.Vcov.X[0][0])
				near("variance of the slope", c.SlopeSE*c.SlopeSE, v.Vcov.X[1][1])
				near("age", c.At, v.AgeAtLimit)
				near("standard error", c.SE, v.SE)
				near("ratio", c.At, tt.want.Ratio)
				near("g", c.G, tt.want.G)
				near("lower", c.Lower, tt.want.Lower)
				near("upper", c.Upper, tt.want.Upper)
				require.Equal(t, mixed.Interval, c.Shape)
				mathtest.Close(t, "middle of the delta limits", (c.DeltaLower+c.DeltaUpper)/2, c.At, 1e-9*math.Abs(c.At), "symmetric by construction")
			}
		})
	}
}

// A place belongs to the Fieller set exactly when the line there is not told from the limit.
func TestFiellerByDefinition(t *testing.T) {
	m := models["lmm_crossed"]
	f := fit(t, m.spec, readTable(t, "sim_crossed", strings.Fields(m.labels)...))
	a, b := lineOf("A")
	shapes := map[mixed.SetShape]int{}
	for _, level := range []float64{0.05, 0.5, 0.9, 0.95, 0.99, 0.999, 0.99999, 0.9999999} {
		for _, limit := range []float64{-20, 2, 6, 7.4, 7.45, 9, 40} {
			c, err := f.Inverse(limit, a, b, 7.5, level)
			require.NoError(t, err)
			shapes[c.Shape]++
			cut := (c.DeltaUpper - c.At) / c.SE
			for x := -300.0; x < 300; x += 1.37 {
				va, vb, cov := c.InterceptSE*c.InterceptSE, c.SlopeSE*c.SlopeSE, covariance(f, a, b)
				z := math.Abs(c.Intercept+x*c.Slope-limit) / math.Sqrt(va+2*x*cov+x*x*vb)
				if math.Abs(z-cut) < 1e-6 {
					continue
				}
				inside := map[mixed.SetShape]bool{mixed.Interval: c.Lower <= x && x <= c.Upper, mixed.Complement: x <= c.Lower || x >= c.Upper, mixed.Everything: true}[c.Shape]
				require.Equal(t, z <= cut, inside, "x %v, level %v, limit %v: %+v", x, level, limit, c)
			}
		}
	}
	require.Greater(t, shapes[mixed.Interval], 5)
	require.Greater(t, shapes[mixed.Complement], 2)
	require.Greater(t, shapes[mixed.Everything], 2)
}

func covariance(f *mixed.Fit, a, b []float64) float64 {
	c, s := f.Covariance(), 0.0
	for i, v := range a {
		for j, w := range b {
			s += v * w * c.At(i, j)
		}
	}
	return s
}

func TestInverseRefuses(t *testing.T) {
	f := fit(t, models["lmm_sleepstudy_corr"].spec, readTable(t, "sleepstudy", "Subject"))
	a, b, nan, inf := []float64{1, 0}, []float64{0, 1}, math.NaN(), math.Inf(1)
	for _, tt := range []struct {
		reason           string
		limit, df, level float64
		a, b             []float64
	}{
		{"limit", nan, 9, 0.95, a, b}, {"limit", inf, 9, 0.95, a, b}, {"df", 300, 0, 0.95, a, b}, {"df", 300, nan, 0.95, a, b}, {"level", 300, 9, 1, a, b},
		{"level", 300, 9, nan, a, b}, {"a: \"1 multipliers\"", 300, 9, 0.95, a[:1], b}, {"the multiplier of Days", 300, 9, 0.95, a, []float64{0, nan}},
		{"without slope", 300, 9, 0.95, a, []float64{0, 0}},
	} {
		_, err := f.Inverse(tt.limit, tt.a, tt.b, tt.df, tt.level)
		require.ErrorContains(t, err, tt.reason)
	}
}
