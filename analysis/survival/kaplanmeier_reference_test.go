package survival_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

type kmValues struct {
	Curves map[string]struct {
		Time, Surv, CumHaz, Lower, Upper []number
		NRisk                            []number `json:"n_risk"`
		NEvent                           []number `json:"n_event"`
		NCensor                          []number `json:"n_censor"`
		SE                               []number `json:"se_surv"`
		SECumHaz                         []number `json:"se_cumhaz"`
	}
	Probs         []float64 `json:"quantile_probs"`
	Quantile      byGroup
	QuantileLower byGroup `json:"quantile_lower"`
	QuantileUpper byGroup `json:"quantile_upper"`
	Table         table
}

// scaleOf reads the limits an entry was computed with: the library's own default is the log scale.
func scaleOf(call string) survival.LimitScale {
	for _, s := range []survival.LimitScale{survival.LogLogLimits, survival.PlainLimits, survival.LogitLimits} {
		if strings.Contains(call, "'"+s.String()+"'") {
			return s
		}
	}
	return survival.LogLimits
}

func TestKaplanMeierFitReference(t *testing.T) {
	scales := map[survival.LimitScale]bool{}
	eachTimed(t, "kaplan_meier.json", 9, func(t *testing.T, e timedEntry) {
		var v kmValues
		require.NoError(t, json.Unmarshal(e.Values, &v))
		require.NotEmpty(t, v.Curves)
		for name := range v.Curves {
			rows := []survival.Timed{{Time: 4, Event: true}}
			if e.ID != "km_edge_one_subject" {
				rows = timed(t, e.Data[0], name)
			}
			f, err := survival.KaplanMeier{Scale: scaleOf(e.Call)}.Fit(rows)
			require.NoError(t, err)
			scales[f.Scale] = true
			sameSteps(t, e, v, name, f)
			sameQuantiles(t, e, v, name, f)
			sameTable(t, e, v, name, f)
		}
	})
	require.Len(t, scales, 4, "each scale is tried")
}

func sameSteps(t *testing.T, e timedEntry, v kmValues, name string, f *survival.KaplanMeierFit) {
	t.Helper()
	c := v.Curves[name]
	steps := f.Steps()
	require.Len(t, steps, len(c.Time))
	for k, s := range steps {
		e.near(t, "time", s.Time, float64(c.Time[k]))
		e.near(t, "at risk", s.AtRisk, float64(c.NRisk[k]))
		e.near(t, "events", s.Events, float64(c.NEvent[k]))
		e.near(t, "censored", s.Censored, float64(c.NCensor[k]))
		e.near(t, "S", s.Value, float64(c.Surv[k]))
		e.near(t, "hazard", s.CumHazard, float64(c.CumHaz[k]))
		e.near(t, "error of the hazard", s.CumHazardSE, float64(c.SECumHaz[k]))
		if se := float64(c.SE[k]); math.IsNaN(se) {
			require.Zero(t, s.Value, "no error is given where S is 0 only")
			require.True(t, math.IsNaN(s.SE))
		} else {
			e.near(t, "Greenwood's error", s.SE, se)
		}
		lower, upper := float64(c.Lower[k]), float64(c.Upper[k])
		require.Equal(t, math.IsNaN(lower), !s.Limited, "limits where the reference has them: %+v", s)
		if s.Limited {
			e.near(t, "lower", s.Lower, lower)
			e.near(t, "upper", s.Upper, upper)
		} else {
			require.Equal(t, [2]float64{0, 1}, [2]float64{s.Lower, s.Upper}, "open ends")
		}
	}
}

// sameQuantiles reads NA as beyond the rows, or as an open end.
func sameQuantiles(t *testing.T, e timedEntry, v kmValues, name string, f *survival.KaplanMeierFit) {
	t.Helper()
	for _, p := range v.Probs {
		q, err := f.Quantile(p)
		require.NoError(t, err)
		col := strconv.Itoa(int(100 * p))
		for _, end := range []struct {
			what      string
			want      byGroup
			got, open float64
		}{
			{"quantile", v.Quantile, q.Value, inf}, {"quantile, lower", v.QuantileLower, q.Lower, 0}, {"quantile, upper", v.QuantileUpper, q.Upper, inf},
		} {
			want := end.want.at(t, name, col)
			if math.IsNaN(want) {
				want = end.open
			}
			e.near(t, end.what+" "+col, end.got, want)
		}
	}
}

// sameTable holds counts and mean against the summary. Its mean goes to the last row of all groups, along a flat line where
// a group's own rows have ended before; there we give none, and the line is drawn here.
func sameTable(t *testing.T, e timedEntry, v kmValues, name string, f *survival.KaplanMeierFit) {
	t.Helper()
	e.near(t, "records", float64(f.Rows), v.Table.at(t, name, "records"))
	e.near(t, "records", f.N, v.Table.at(t, name, "n.start"))
	e.near(t, "events", f.Events, v.Table.at(t, name, "events"))
	horizon := 0.0
	for _, c := range v.Curves {
		horizon = max(horizon, float64(c.Time[len(c.Time)-1]))
	}
	steps := f.Steps()
	end := steps[len(steps)-1]
	want := v.Table.at(t, name, "rmean")
	m, err := f.MeanTo(horizon)
	if end.Value > 0 && end.Time < horizon {
		require.Error(t, err)
		m, err = f.MeanTo(end.Time)
		require.NoError(t, err)
		e.near(t, "mean along a flat line", m.Value+end.Value*(horizon-end.Time), want)
		return
	}
	require.NoError(t, err)
	e.near(t, "mean", m.Value, want)
	e.near(t, "error of the mean", m.SE, v.Table.at(t, name, "se(rmean)"))
}

// The 6-MP arm as textbooks print it (Freireich et al. 1963), from memory: three decimals.
func TestPrintedCurve(t *testing.T) {
	f := kaplanMeier(t, timed(t, "gehan", "treat=6-MP"), nil)
	for at, want := range map[float64]float64{6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448} {
		s, known := f.At(at)
		require.True(t, known)
		mathtest.Close(t, "S", s.Value, want, 5e-4, "textbook treatments of Freireich et al. (1963), from memory")
	}
}
