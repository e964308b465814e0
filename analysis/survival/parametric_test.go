package survival_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// seen turns a time into a row of a random kind.
func seen(rng *rand.Rand, t float64) survival.Interval {
	switch rng.IntN(5) {
	case 0:
		return survival.Interval{L: t, R: t}
	case 1:
		if at := 20 * rng.Float64(); at < t {
			return survival.Interval{L: at, R: inf}
		}
	case 2:
		if at := 20 * rng.Float64(); at > t {
			return survival.Interval{L: 0, R: at}
		}
	}
	l := 2 * math.Floor(t/2)
	return survival.Interval{L: l, R: l + 2}
}

// lifetimes invents n rows with two covariates and two strata; log T = 1.8 + 0.3 x1 - 0.2 x2 + scale W, W extreme value.
func lifetimes(rng *rand.Rand, n int) (rows []survival.Interval, x [][]float64, strata []int) {
	for i := range n {
		c := []float64{float64(i % 2), rng.NormFloat64()}
		g := rng.IntN(2)
		t := math.Exp(1.8 + 0.3*c[0] - 0.2*c[1] + (0.35+0.2*float64(g))*math.Log(rng.ExpFloat64()))
		rows, x, strata = append(rows, seen(rng, t)), append(x, c), append(strata, 10-g)
	}
	return rows, x, strata
}

func mustFit(t testing.TB, spec survival.Parametric, rows []survival.Interval, x [][]float64, weights []float64) *survival.ParametricFit {
	t.Helper()
	f, err := spec.Fit(rows, x, weights)
	require.NoError(t, err)
	require.True(t, f.Converged, "%+v", f)
	return f
}

func closeAll(t *testing.T, want, got []float64, tol float64, what ...any) {
	t.Helper()
	require.Len(t, got, len(want), what...)
	for i := range want {
		require.InDelta(t, want[i], got[i], tol*(1+math.Abs(want[i])), what...)
	}
}

func TestLifetimeLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(42, 1))
	rows, x, strata := lifetimes(rng, 80)
	for _, f := range allFamilies {
		spec := survival.Parametric{Family: f, Strata: strata}
		if f == survival.GeneralizedGamma {
			spec.Strata = nil
		}
		untouched, xs := slices.Clone(rows), slices.Clone(x[0])
		base := mustFit(t, spec, rows, x, nil)
		require.Equal(t, untouched, rows)
		require.Equal(t, xs, x[0])
		median := func(f *survival.ParametricFit, at []float64, how survival.LimitKind) survival.ParametricEstimate {
			q, err := f.Quantile(at, f.Labels[0], 0.5, how)
			require.NoError(t, err)
			return q
		}
		at := []float64{1, 0.5}
		want, prof := median(base, at, survival.DeltaLog), median(base, at, survival.ProfileLimits)

		// order of rows
		order := rng.Perm(len(rows))
		rows2, x2, strata2 := make([]survival.Interval, len(rows)), make([][]float64, len(rows)), make([]int, len(rows))
		for i, k := range order {
			rows2[i], x2[i], strata2[i] = rows[k], x[k], strata[k]
		}
		spec2 := spec
		if spec.Strata != nil {
			spec2.Strata = strata2
		}
		got := mustFit(t, spec2, rows2, x2, nil)
		closeAll(t, base.Theta(), got.Theta(), 1e-6, f, "order of rows")
		closeAll(t, []float64{prof.Lower, prof.Upper}, []float64{median(got, at, survival.ProfileLimits).Lower, median(got, at, survival.ProfileLimits).Upper}, 1e-5, f)

		// unit of time: seconds; unit and origin of a covariate
		for i, o := range rows {
			rows2[i] = survival.Interval{L: 60 * o.L, R: 60 * o.R}
			x2[i] = []float64{x[i][0], 2030 + x[i][1]/10}
		}
		got = mustFit(t, spec, rows2, x2, nil)
		q := median(got, []float64{1, 2030.05}, survival.DeltaLog)
		closeAll(t, []float64{60 * want.Value, 60 * want.Lower, 60 * want.Upper}, []float64{q.Value, q.Lower, q.Upper}, 1e-6, f, "units")
		require.InDelta(t, 10*base.Coef[2], got.Coef[2], 1e-5, f)

		// weight 2 is the row twice, weight 0 the row absent
		weights := make([]float64, len(rows))
		var rows3 []survival.Interval
		var x3 [][]float64
		spec3 := spec
		spec3.Strata = nil
		for i := range rows {
			weights[i] = float64(i % 3)
			for range i % 3 {
				rows3, x3 = append(rows3, rows[i]), append(x3, x[i])
				if spec.Strata != nil {
					spec3.Strata = append(spec3.Strata, strata[i])
				}
			}
		}
		a, b := mustFit(t, spec, rows, x, weights), mustFit(t, spec3, rows3, x3, nil)
		closeAll(t, b.Theta(), a.Theta(), 1e-6, f, "weights")
		closeAll(t, b.SE(), a.SE(), 1e-5, f)
		require.InDelta(t, b.LogLik, a.LogLik, 1e-8, f)
		require.Equal(t, b.N, a.N)
	}
}

// No random start and no simplex search is better than the fit, and the gradient of the profile is that of its definition:
// the profile's value at its end, maximised by brute force, has fallen by the cut.
func TestProfileMeetsItsCut(t *testing.T) {
	rng := rand.New(rand.NewPCG(42, 2))
	rows, _, _ := lifetimes(rng, 14)
	for _, f := range []survival.Family{survival.Weibull, survival.LogNormal, survival.LogLogistic, survival.Gamma} {
		fit := mustFit(t, survival.Parametric{Family: f}, rows, nil, nil)
		cut := likelihood.SmallPanelCut(14, 13, 0.95)
		q, err := fit.ProfileQuantile(nil, 0, 0.5, cut)
		require.NoError(t, err)
		require.Zero(t, q.Level)
		for _, end := range []float64{q.Lower, q.Upper} {
			best := math.Inf(-1)
			for s := -4.0; s < 3; s += 1e-3 { // log scale or log shape; the location follows from the median
				best = max(best, medianLogLik(f, rows, end, s))
			}
			require.InDelta(t, cut, 2*(fit.LogLik-best), 1e-4, "%v at %v", f, end)
		}
		wide, err := fit.ProfileQuantile(nil, 0, 0.5, inf)
		require.NoError(t, err)
		require.Equal(t, []float64{0, inf}, []float64{wide.Lower, wide.Upper})
		none, err := fit.ProfileQuantile(nil, 0, 0.5, 0)
		require.NoError(t, err)
		require.InDelta(t, none.Value, none.Lower, 1e-3)
	}
	exact := []survival.Interval{{L: 2, R: 2}, {L: 3, R: 3}, {L: 5, R: 5}, {L: 6, R: 6}, {L: 9, R: 9}}
	fit := mustFit(t, survival.Parametric{Family: survival.LogNormal}, exact, nil, nil)
	q, err := fit.ProfileQuantile(nil, 0, 0.5, likelihood.SmallPanelCut(5, 4, 0.95))
	require.NoError(t, err)
	mean, ss := 0.0, 0.0
	for _, o := range exact {
		mean += math.Log(o.L) / 5
	}
	for _, o := range exact {
		ss += (math.Log(o.L) - mean) * (math.Log(o.L) - mean)
	}
	half := 2.776445105197793 * math.Sqrt(ss/4/5)
	mathtest.CloseRel(t, "lower", q.Lower, math.Exp(mean-half), 0, 1e-6, "Student's interval of the log times, t(0.975, 4) = 2.776445105 (R 4.2.2 qt)")
	mathtest.CloseRel(t, "upper", q.Upper, math.Exp(mean+half), 0, 1e-6, "Student's interval of the log times, t(0.975, 4) = 2.776445105 (R 4.2.2 qt)")
}

// One interval that is open above: with few ended rows the upper limit of a far quantile is open.
func TestProfileMayBeOpen(t *testing.T) {
	rows := []survival.Interval{{L: 2, R: 4}, {L: 6, R: inf}, {L: 8, R: inf}, {L: 8, R: inf}, {L: 10, R: inf}}
	fit := mustFit(t, survival.Parametric{Family: survival.LogNormal}, rows, nil, nil)
	q, err := fit.ProfileQuantile(nil, 0, 0.5, likelihood.SmallPanelCut(5, 4, 0.95))
	require.NoError(t, err)
	require.Equal(t, inf, q.Upper)
	require.Greater(t, q.Lower, 2.0)
}

func TestOneAnswerOnAnyNumberOfCores(t *testing.T) {
	rows, x, _ := lifetimes(rand.New(rand.NewPCG(42, 3)), 6000)
	type answer struct {
		theta, se []float64
		draws     []float64
		d         survival.ParametricDistance
	}
	get := func(cores int) (a answer) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		f := mustFit(t, survival.Parametric{Family: survival.Weibull}, rows, x, nil)
		a.theta, a.se = f.Theta(), f.SE()
		small := mustFit(t, survival.Parametric{Family: survival.Gamma}, rows[:60], nil, nil)
		b, err := small.Bootstrap(5, 40)
		require.NoError(t, err)
		a.draws, err = b.Quantiles(nil, 0, 0.5)
		require.NoError(t, err)
		a.d, err = small.Distance(nil, 20, 6)
		require.NoError(t, err)
		return a
	}
	require.Equal(t, get(1), get(2))
}

// A fit cut short, or one whose coefficient may lie anywhere, says so, and gives no limits that would mean nothing.
func TestUnfinishedFits(t *testing.T) {
	rows, x, _ := lifetimes(rand.New(rand.NewPCG(42, 4)), 60)
	fit, err := survival.Parametric{Family: survival.Weibull, MaxIter: 1}.Fit(rows, x, nil)
	require.NoError(t, err)
	require.False(t, fit.Converged)
	require.Len(t, fit.Warnings(), 1)
	var no *survival.UnfinishedError
	for _, how := range []survival.LimitKind{survival.DeltaLog, survival.DeltaNatural, survival.ProfileLimits, survival.RobustLog} {
		_, err = fit.Quantile([]float64{0, 0}, 0, 0.5, how)
		require.ErrorAs(t, err, &no)
	}
	_, err = fit.MeanTo(5, []float64{0, 0}, 0)
	require.ErrorAs(t, err, &no)
	require.Contains(t, err.Error(), "MaxIter")

	// the second group's one row, (1, 60], has probability 1 at any coefficient between
	rows = []survival.Interval{{L: 9, R: inf}, {L: 6, R: 11}, {L: 9.9, R: 9.9}, {L: 0, R: 10.5}, {L: 1, R: 60}, {L: 9, R: 9.7}, {L: 10, R: 10.1}}
	fit, err = survival.Parametric{Family: survival.LogNormal}.Fit(rows, column(0, 0, 0, 0, 1, 0, 0), nil)
	require.NoError(t, err)
	require.True(t, fit.Singular)
	require.False(t, fit.Converged)
	require.Len(t, fit.Warnings(), 1)
	_, err = fit.Quantile([]float64{1}, 0, 0.5, survival.DeltaLog)
	require.ErrorAs(t, err, &no)
	require.True(t, no.Singular)
	require.Contains(t, err.Error(), "singular")
	q, err := fit.Quantile([]float64{0}, 0, 0.5, survival.ProfileLimits) // the first group is not touched by it
	require.NoError(t, err)
	require.InDelta(t, 9.9, q.Value, 0.3)
	require.Less(t, q.Upper, 11.0)
	require.True(t, math.IsNaN(fit.SE()[1]))
}
