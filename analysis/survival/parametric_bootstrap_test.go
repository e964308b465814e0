package survival_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

// On many rows the bootstrap's standard errors are those of the information, and percentile limits those of the profile.
func TestLifetimeBootstrap(t *testing.T) {
	rows, x, _ := lifetimes(rand.New(rand.NewPCG(44, 1)), 300)
	for _, f := range []survival.Family{survival.Exponential, survival.Weibull, survival.LogNormal} {
		fit := mustFit(t, survival.Parametric{Family: f}, rows, x, nil)
		b, err := fit.Bootstrap(1, 600)
		require.NoError(t, err)
		require.Zero(t, b.Failed+b.NoEvent+b.AllOver)
		at := []float64{1, 0.3}
		q, err := b.Quantile(at, 0, 0.5)
		require.NoError(t, err)
		r, err := fit.Quantile(at, 0, 0.5, survival.RobustLog)
		require.NoError(t, err)
		require.Equal(t, r.Value, q.Value)
		require.InDelta(t, 1, q.SELog/r.SELog, 0.12, f) // Monte Carlo 3 %
		require.InDelta(t, 1, q.Lower/r.Lower, 0.03, f)
		require.InDelta(t, 1, q.Upper/r.Upper, 0.03, f)
		draws, err := b.Quantiles(at, 0, 0.5)
		require.NoError(t, err)
		require.Len(t, draws, 600)
		again, err := fit.Bootstrap(1, 600)
		require.NoError(t, err)
		other, err := again.Quantiles(at, 0, 0.5)
		require.NoError(t, err)
		require.Equal(t, draws, other)
	}
}

// Each resample's fit is the fit of the rows drawn: a resample made by hand, with weights, agrees.
func TestBootstrapFitsResamples(t *testing.T) {
	rows, x, _ := lifetimes(rand.New(rand.NewPCG(44, 2)), 40)
	cluster := make([]int, len(rows))
	count := make([]float64, len(rows))
	for i := range cluster {
		cluster[i], count[i] = i/2, float64(1+i%2)
	}
	for _, f := range allFamilies[:5] {
		fit := mustFit(t, survival.Parametric{Family: f, Cluster: cluster}, rows, x, count)
		b, err := fit.Bootstrap(3, 25)
		require.NoError(t, err)
		require.Zero(t, b.Failed+b.NoEvent+b.AllOver)
		draws, err := b.Quantiles([]float64{0, 0}, 0, 0.25)
		require.NoError(t, err)
		for i, got := range draws {
			weights := survival.ClusterWeights(cluster, 3, uint64(i))
			for k := range weights {
				weights[k] *= count[k]
			}
			again := mustFit(t, survival.Parametric{Family: f}, rows, x, weights)
			q, err := again.Quantile([]float64{0, 0}, 0, 0.25, survival.DeltaLog)
			require.NoError(t, err)
			require.InDelta(t, 1, got/q.Value, 1e-5, "%v, draw %d", f, i)
		}
	}
}

// Three rows, one of which ended: resamples without it have no event, some have no spread. All are counted, and limits that
// no draw can give are open.
func TestBootstrapCountsWhatCannotBeFitted(t *testing.T) {
	rows := []survival.Interval{{L: 2, R: 3}, {L: 4, R: inf}, {L: 5, R: 6}}
	fit := mustFit(t, survival.Parametric{Family: survival.Weibull}, rows, nil, nil)
	b, err := fit.Bootstrap(1, 500)
	require.NoError(t, err)
	require.InDelta(t, 500./27, b.NoEvent, 15)
	require.Greater(t, b.Failed, 100)
	require.Zero(t, b.AllOver)
	q, err := b.Quantile(nil, 0, 0.5)
	require.NoError(t, err)
	require.Equal(t, 0.0, q.Lower)
	require.Equal(t, inf, q.Upper)
	draws, err := b.Quantiles(nil, 0, 0.5)
	require.NoError(t, err)
	require.Len(t, draws, 500-b.Failed)
	infinite := 0
	for _, v := range draws {
		require.False(t, math.IsNaN(v))
		if math.IsInf(v, 1) {
			infinite++
		}
	}
	require.Equal(t, b.NoEvent, infinite)
}

// For exact rows the distance is Kolmogorov's; where each row is wide open there is none.
func TestDistanceByHand(t *testing.T) {
	rows := []survival.Interval{{L: 2, R: 2}, {L: 3, R: 3}, {L: 5, R: 5}, {L: 9, R: 9}}
	fit := mustFit(t, survival.Parametric{Family: survival.Weibull}, rows, nil, nil)
	d, err := fit.Distance(nil, 20, 1)
	require.NoError(t, err)
	want := 0.0
	for i, o := range rows {
		s, err := fit.At(o.L, nil, 0)
		require.NoError(t, err)
		want = max(want, math.Abs(1-s-float64(i)/4), math.Abs(1-s-float64(i+1)/4))
	}
	require.InDelta(t, want, d.Value, 1e-12)
	require.Equal(t, 20, d.Draws)

	rows = []survival.Interval{{L: 2, R: 4}, {L: 2, R: 4}, {L: 4, R: 8}, {L: 8, R: inf}}
	fit = mustFit(t, survival.Parametric{Family: survival.Weibull}, rows, nil, nil)
	d, err = fit.Distance(nil, 20, 1)
	require.NoError(t, err)
	want = 0
	for at, share := range map[float64]float64{2: 0, 4: 0.5, 8: 0.75} { // the NPMLE is determined at the looks
		s, err := fit.At(at, nil, 0)
		require.NoError(t, err)
		want = max(want, math.Abs(1-s-share))
	}
	require.InDelta(t, want, d.Value, 1e-9)
}

// Under the truth the p-value of the distance is about evenly spread, for looks at a grid, for status rows and for
// right-censored rows; where the family is wrong it is small.
func TestDistancePValues(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	const panels, n = 200, 40
	for _, kind := range []string{"grid", "status", "censored"} {
		rng := rand.New(rand.NewPCG(45, uint64(len(kind))))
		mean, low := 0.0, 0
		for range panels {
			var rows []survival.Interval
			var looks [][]float64
			for range n {
				at := 8 * math.Sqrt(rng.ExpFloat64())
				switch kind {
				case "grid":
					l := 2 * math.Floor(at/2)
					o := survival.Interval{L: l, R: l + 2}
					if l >= 14 {
						o = survival.Interval{L: 14, R: inf}
					}
					rows = append(rows, o)
				case "status":
					look := 2 * (1 + float64(rng.IntN(8)))
					rows = append(rows, survival.Status{Time: look, Over: at <= look}.Interval())
					looks = append(looks, []float64{look})
				case "censored":
					if c := 25 * rng.Float64(); c < at {
						rows = append(rows, survival.Interval{L: c, R: inf})
					} else {
						rows = append(rows, survival.Interval{L: at, R: at})
					}
				}
			}
			fit := mustFit(t, survival.Parametric{Family: survival.Weibull}, rows, nil, nil)
			d, err := fit.Distance(looks, 99, rng.Uint64())
			require.NoError(t, err)
			mean += d.P / panels
			if d.P <= 0.1 {
				low++
			}
		}
		require.InDelta(t, 0.5, mean, 4*math.Sqrt(1./12/panels), kind) // four standard errors
		require.InDelta(t, 0.1*panels, low, 4*math.Sqrt(panels*0.09)+1, kind)
	}
	rng := rand.New(rand.NewPCG(46, 1))
	var rows []survival.Interval
	for range 80 { // two kinds of drinks far apart
		l := math.Floor(2 + 2*rng.Float64() + 12*float64(rng.IntN(2)))
		rows = append(rows, survival.Interval{L: l, R: l + 1})
	}
	fit := mustFit(t, survival.Parametric{Family: survival.LogNormal}, rows, nil, nil)
	d, err := fit.Distance(nil, 99, 1)
	require.NoError(t, err)
	require.LessOrEqual(t, d.P, 0.02)
}
