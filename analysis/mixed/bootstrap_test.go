package mixed

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
)

func firstBeta(r *Refit) float64  { return r.Beta[0] }
func secondBeta(r *Refit) float64 { return r.Beta[1] }
func residual(r *Refit) float64   { return r.Sigma }

// Refits to responses drawn from the model have the mean and the covariance that the model says, within four standard
// errors of the simulation; sleepstudy is balanced, so that both are exact.
func TestBootstrapHasTheMomentsOfTheModel(t *testing.T) {
	const draws = 4000
	fit := model(t, "sleepstudy_corr")
	b, err := fit.Bootstrap(11, draws, firstBeta, secondBeta, residual)
	require.NoError(t, err)
	require.Zero(t, b.Failed)
	require.Positive(t, b.Singular, "the correlation reaches 1 in some draws")
	for k := range 2 {
		se := math.Sqrt(fit.Covariance().At(k, k))
		got, err := b.Percentiles(k, 0.95)
		require.NoError(t, err)
		require.Equal(t, fit.Beta()[k], got.Estimate)
		require.InDelta(t, fit.Beta()[k], got.Mean, 4*se/math.Sqrt(draws))
		require.InDelta(t, se, got.SE, 4*se/math.Sqrt(2*draws))
		require.InDelta(t, fit.Beta()[k]-1.96*se, got.Lower, 0.15*se) // four standard errors of a quantile: sqrt(0.025 0.975 / draws) over a density of 0.058
		require.InDelta(t, fit.Beta()[k]+1.96*se, got.Upper, 0.15*se)
	}
	got, err := b.Percentiles(2, 0.95) // sigma^2 is that about 18 lines through 180 points, chi-square on 144, while no variance is 0
	require.NoError(t, err)
	require.InDelta(t, fit.Sigma(), got.Mean, 0.01*fit.Sigma())
	require.InDelta(t, fit.Sigma()/math.Sqrt(2*144), got.SE, 0.1*got.SE)
}

// Two rows of one level covary as sigma^2 z'Tz says, rows of different levels not at all.
func TestDrawsHaveTheCovarianceOfTheModel(t *testing.T) {
	fit := model(t, "orthodont") // intercept and slope with correlation -0.67
	g := fit.groups[0]
	first := slices.Index(g.code, 0)
	pairs := [][2]int{}
	for i, level := range g.code {
		if i > first && level == 0 || level == 1 && len(pairs) < 5 {
			pairs = append(pairs, [2]int{first, i})
		}
	}
	const draws = 20000
	sums := make([]float64, len(pairs))
	d := fit.drawer()
	rng := rand.New(rand.NewPCG(1, 7))
	for range draws {
		d.draw(rng)
		for k, at := range pairs {
			sums[k] += (d.y[at[0]] - d.mean[at[0]]) * (d.y[at[1]] - d.mean[at[1]]) / draws
		}
	}
	tt := fit.relative(g)
	for k, at := range pairs {
		want, variance := 0.0, fit.sigma*fit.sigma
		zi, zj := []float64{1, g.z[1][at[0]]}, []float64{1, g.z[1][at[1]]}
		for a := range 2 {
			for b := range 2 {
				variance += fit.sigma * fit.sigma * zi[a] * tt[a*2+b] * zi[b]
				if g.code[at[0]] == g.code[at[1]] {
					want += fit.sigma * fit.sigma * zi[a] * tt[a*2+b] * zj[b]
				}
			}
		}
		require.InDelta(t, want, sums[k], 5*variance*math.Sqrt(2.0/draws), "rows %v", at)
	}
}

func TestBootstrapIsTheSameOnAnyNumberOfCores(t *testing.T) {
	fit := model(t, "crossed")
	small := again(t, fit, func(s *Spec) { s.Random = s.Random[:1] })
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, err := fit.Bootstrap(5, 60, firstBeta)
	require.NoError(t, err)
	ratio, err := BootstrapRatio(small, fit, 5, 60)
	require.NoError(t, err)
	for _, cores := range []int{2, 3} {
		runtime.GOMAXPROCS(cores)
		two, err := fit.Bootstrap(5, 60, firstBeta)
		require.NoError(t, err)
		require.Equal(t, one, two)
		again, err := BootstrapRatio(small, fit, 5, 60)
		require.NoError(t, err)
		require.Equal(t, ratio, again)
	}
	other, err := fit.Bootstrap(6, 60, firstBeta)
	require.NoError(t, err)
	require.NotEqual(t, one.Values(0), other.Values(0))
}

func TestBootstrapOpenAndMissing(t *testing.T) {
	fit := model(t, "dyestuff")
	draw := 0.0
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // the statistic counts
	b, err := fit.Bootstrap(1, 199,
		func(*Refit) float64 { return math.Inf(1) },
		func(*Refit) float64 { draw++; return draw },
		func(*Refit) float64 {
			if draw > 195 { // the fit's own call made 1, the draws make 2 to 200
				return math.NaN()
			}
			return draw
		})
	require.NoError(t, err)
	open, err := b.Percentiles(0, 0.95)
	require.NoError(t, err)
	require.True(t, math.IsInf(open.Lower, 1) && math.IsInf(open.Upper, 1) && open.Missing == 0)
	full, err := b.Percentiles(1, 0.95) // the fifth of 199 from either end
	require.NoError(t, err)
	require.Equal(t, 6.0, full.Lower)
	require.Equal(t, 196.0, full.Upper)
	gaps, err := b.Percentiles(2, 0.95) // five are missing: both limits are open
	require.NoError(t, err)
	require.Equal(t, 5, gaps.Missing)
	require.True(t, math.IsInf(gaps.Lower, -1) && math.IsInf(gaps.Upper, 1))
	require.Len(t, b.Values(2), 194)
}

// A variance that is 0 in truth: the drawn law is half a point at 0 and half chi-square on 1 in large panels, so that the
// drawn p lies near that of the mixture; at a statistic of 0 it is 1.
func TestBootstrapRatioOnTheBoundary(t *testing.T) {
	fit := again(t, model(t, "sleepstudy_corr"), func(s *Spec) { s.Random = []Random{over(nil, "Subject")} })
	small := again(t, fit, func(s *Spec) { s.Random = nil })
	r, err := BootstrapRatio(small, fit, 2, 600)
	require.NoError(t, err)
	require.Zero(t, r.Failed)
	require.Equal(t, 1.0/601, r.P, "far beyond anything the smaller model draws")
	zeros, large := 0, 0
	for _, v := range r.Values {
		if v < 1e-6 {
			zeros++
		}
		if v > 1.642374 { // 80 % point of chi-square on 1: 10 % of the mixture
			large++
		}
	}
	require.InDelta(t, 0.55, float64(zeros)/600, 0.1) // a little more than half in 18 subjects
	require.InDelta(t, 0.10, float64(large)/600, 0.05)

	second := model(t, "dyestuff2")
	r, err = BootstrapRatio(again(t, second, func(s *Spec) { s.Random = nil }), second, 2, 100)
	require.NoError(t, err)
	require.Equal(t, 1.0, r.P)
}

// Under a true null hypothesis about a fixed term, the drawn law of a small panel is wider than chi-square.
func TestBootstrapRatioOfAFixedTerm(t *testing.T) {
	fit := again(t, model(t, "ergostool"), byML)
	r, err := BootstrapRatio(again(t, fit, func(s *Spec) { s.Fixed = nil }), fit, 3, 1000)
	require.NoError(t, err)
	require.Zero(t, r.Failed)
	require.Equal(t, 3, r.Large.DF)
	mean := 0.0
	for _, v := range r.Values {
		mean += v / float64(len(r.Values))
	}
	require.Greater(t, mean, 3+4*math.Sqrt(6.0/1000), "mean of chi-square on 3, and four standard errors of it")
	require.Less(t, mean, 4.0)
}

func TestBootstrapRefuses(t *testing.T) {
	fit := model(t, "dyestuff")
	for name, call := range map[string]func() error{
		"no draws":     func() error { _, err := fit.Bootstrap(1, 0, residual); return err },
		"no statistic": func() error { _, err := fit.Bootstrap(1, 10); return err },
		"nil":          func() error { _, err := fit.Bootstrap(1, 10, nil); return err },
		"ratio":        func() error { _, err := BootstrapRatio(fit, fit, 1, 10); return err },
	} {
		var cell *dataerr.Cell
		require.True(t, errors.As(call(), &cell), name)
	}
	b, err := fit.Bootstrap(1, 10, residual)
	require.NoError(t, err)
	_, err = b.Percentiles(1, 0.9)
	require.Error(t, err)
	_, err = b.Percentiles(0, 1)
	require.Error(t, err)
}
