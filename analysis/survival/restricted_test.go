package survival_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

type meanValues struct {
	Tau        float64
	Groups     []string
	RMean, SE  []float64
	Difference *struct {
		Estimate, SE, Z, P float64
		CI95               [2]float64
	}
	Lower, Upper, Uniform float64
	Mass                  []number
}

func TestRestrictedMeanReference(t *testing.T) {
	seen := map[string]int{}
	eachTimed(t, "rmst.json", 9, func(t *testing.T, e timedEntry) {
		var v meanValues
		require.NoError(t, json.Unmarshal(e.Values, &v))
		switch {
		case v.Groups != nil:
			seen["curve"]++
			sameMeans(t, e, v)
		case v.Mass != nil:
			seen["range"]++
			style := strings.TrimPrefix(e.ID, "rmst_turnbull_")
			obs := func() []survival.Interval {
				if style == "bcos_rad_46" {
					return intervals(t, "bcos.csv", "treatment", "Rad")
				}
				return intervals(t, "sim_panel_ic.csv", "style", style)
			}()
			m, err := fit(t, obs, nil).MeanTo(v.Tau)
			require.NoError(t, err)
			e.near(t, "lower", m.Lower, v.Lower)
			e.near(t, "upper", m.Upper, v.Upper)
			mathtest.CloseRel(t, "even", m.Even, v.Uniform, 0, 1e-5, e.source())
			require.Equal(t, v.Tau, m.Horizon)
		}
	})
	require.Equal(t, map[string]int{"curve": 5, "range": 3}, seen, "the rest are closed forms of families")
}

func sameMeans(t *testing.T, e timedEntry, v meanValues) {
	t.Helper()
	var fits []*survival.KaplanMeierFit
	for g, name := range v.Groups {
		f := kaplanMeier(t, timed(t, e.Data[0], name), nil)
		m, err := f.MeanTo(v.Tau)
		require.NoError(t, err)
		e.near(t, "mean", m.Value, v.RMean[g])
		e.near(t, "standard error", m.SE, v.SE[g])
		require.Equal(t, v.SE[g] > 0, m.Limited)
		fits = append(fits, f)
	}
	if v.Difference == nil {
		return
	}
	d, err := survival.MeanDifferenceTo(fits[0], fits[1], v.Tau)
	require.NoError(t, err)
	e.near(t, "difference", d.Value, v.Difference.Estimate)
	e.near(t, "its standard error", d.SE, v.Difference.SE)
	e.near(t, "z", d.Z, v.Difference.Z)
	e.near(t, "p", d.P, v.Difference.P)
	e.near(t, "lower", d.Lower, v.Difference.CI95[0])
	e.near(t, "upper", d.Upper, v.Difference.CI95[1])
}

// Without censoring the restricted mean is the plain mean of min(T, horizon), and its standard error that of a mean with
// divisor n.
func TestRestrictedMeanOfWholeRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310305, 1))
	for range rounds {
		rows := make([]survival.Timed, 2+rng.IntN(30))
		horizon, sum, squares := 1+10*rng.Float64(), 0.0, 0.0
		for i := range rows {
			rows[i] = survival.Timed{Time: math.Floor(12 * rng.Float64()), Event: true}
			x := min(rows[i].Time, horizon)
			sum, squares = sum+x, squares+x*x
		}
		n := float64(len(rows))
		m, err := kaplanMeier(t, rows, nil).MeanTo(horizon)
		require.NoError(t, err)
		require.InDelta(t, sum/n, m.Value, 1e-9)
		require.InDelta(t, math.Sqrt(max(0, squares/n-sum*sum/n/n)/n), m.SE, 1e-6)
		require.LessOrEqual(t, m.Lower, m.Value)
		require.LessOrEqual(t, m.Value, m.Upper)
		require.LessOrEqual(t, m.Upper, horizon)
	}
}

// The range of the NPMLE closes where every set is a point: it is then the area under the product-limit curve.
func TestMeanRangeOfPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310305, 2))
	for range rounds {
		rows, _, _ := inventedTimes(rng, 2+rng.IntN(30), 1, true)
		obs := make([]survival.Interval, len(rows))
		last := 0.0
		for i, r := range rows {
			obs[i], last = r.Interval(), max(last, r.Time)
		}
		horizon := last * (0.2 + 0.8*rng.Float64())
		m, err := kaplanMeier(t, rows, nil).MeanTo(horizon)
		require.NoError(t, err)
		r, err := fit(t, obs, nil).MeanTo(horizon)
		require.NoError(t, err)
		for what, got := range map[string]float64{"lower": r.Lower, "upper": r.Upper, "even": r.Even} {
			require.InDelta(t, m.Value, got, 1e-7, what)
		}
		require.False(t, r.Open, "an open set begins at the last row, past the horizon")
	}
}

// Worked by hand: (2, 6] with mass 1/2 and (4, +Inf] with 1/2, to 5: lower (2+4)/2, upper (5+5)/2; even: (2, 6] has 3/4
// below 5, at 3.5 in the mean, and 1/4 cut to 5, so 3.875; the open set counts 4.
func TestMeanRangeByHand(t *testing.T) {
	c := fit(t, []survival.Interval{{L: 2, R: 6}, {L: 6, R: inf}}, nil)
	m, err := c.MeanTo(5)
	require.NoError(t, err)
	require.Equal(t, survival.MeanRange{Horizon: 5, Lower: 3.5, Upper: 5, Even: (3.875 + 5) / 2}, m)
	m, err = c.MeanTo(8)
	require.NoError(t, err)
	require.Equal(t, survival.MeanRange{Horizon: 8, Lower: 4, Upper: 7, Even: 5, Open: true}, m, "mean of (2, 6] is 4, the open set counts 6")
}

func TestRestrictedMeanFaults(t *testing.T) {
	f := kaplanMeier(t, []survival.Timed{{Time: 3, Event: true}, {Time: 5}}, nil)
	dead := kaplanMeier(t, []survival.Timed{{Time: 3, Event: true}}, nil)
	c := fit(t, []survival.Interval{{L: 2, R: 6}}, nil)
	for _, bad := range []float64{0, -1, math.NaN(), inf} {
		_, err := f.MeanTo(bad)
		require.Len(t, dataerr.All(err), 1, "%v", bad)
		_, err = c.MeanTo(bad)
		require.Len(t, dataerr.All(err), 1, "%v", bad)
		_, err = survival.MeanDifferenceTo(f, dead, bad)
		require.Len(t, dataerr.All(err), 2, "%v: of both", bad)
	}
	_, err := f.MeanTo(5.5)
	require.ErrorIs(t, err, dataerr.ErrRange, "past the last row, censored")
	require.ErrorContains(t, err, "at most")
	m, err := dead.MeanTo(9)
	require.NoError(t, err, "nobody is left: the curve is known")
	require.Equal(t, 3.0, m.Value)
	m, err = f.MeanTo(2)
	require.NoError(t, err)
	require.Equal(t, survival.RestrictedMean{Horizon: 2, Value: 2, Upper: 2}, m, "no event by the horizon: no limits")
	_, err = survival.MeanDifferenceTo(f, dead, 2)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	_, err = survival.MeanDifferenceTo(dead, dead, 9)
	require.ErrorIs(t, err, dataerr.ErrTooFew, "one row each: no error to judge by")
}
