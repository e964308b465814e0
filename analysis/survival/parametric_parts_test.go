package survival_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// surv is S(t) from the textbook formula, apart from the package; s is the log scale (Gamma: log k).
func surv(f survival.Family, t, eta, s float64) float64 {
	z := (math.Log(t) - eta) / math.Exp(s)
	switch f {
	case survival.Weibull:
		return math.Exp(-math.Exp(z))
	case survival.LogNormal:
		return distuv.UnitNormal.Survival(z)
	case survival.LogLogistic:
		return 1 / (1 + math.Exp(z))
	case survival.Gamma:
		return distuv.Gamma{Alpha: math.Exp(s), Beta: math.Exp(-eta)}.Survival(t)
	}
	panic("no formula")
}

func density(f survival.Family, t, eta, s float64) float64 {
	sc := math.Exp(s)
	z := (math.Log(t) - eta) / sc
	switch f {
	case survival.Weibull:
		return math.Exp(z-math.Exp(z)) / (sc * t)
	case survival.LogNormal:
		return distuv.UnitNormal.Prob(z) / (sc * t)
	case survival.LogLogistic:
		return math.Exp(z) / (1 + math.Exp(z)) / (1 + math.Exp(z)) / (sc * t)
	case survival.Gamma:
		return distuv.Gamma{Alpha: math.Exp(s), Beta: math.Exp(-eta)}.Prob(t)
	}
	panic("no formula")
}

// medianLogLik is the log-likelihood at a median and a log scale (log k).
func medianLogLik(f survival.Family, rows []survival.Interval, median, s float64) float64 {
	eta := math.Log(median)
	switch f {
	case survival.Weibull:
		eta -= math.Exp(s) * math.Log(math.Ln2)
	case survival.Gamma:
		eta -= math.Log(distuv.Gamma{Alpha: math.Exp(s), Beta: 1}.Quantile(0.5))
	}
	sum := 0.0
	for _, o := range rows {
		switch {
		case o.L == o.R:
			sum += math.Log(density(f, o.L, eta, s))
			continue
		case o.L == 0 && math.IsInf(o.R, 1):
			continue
		}
		p := 1.0
		if o.L > 0 {
			p = surv(f, o.L, eta, s)
		}
		if !math.IsInf(o.R, 1) {
			p -= surv(f, o.R, eta, s)
		}
		sum += math.Log(p)
	}
	return sum
}

// Restricted means of laws with given parameters against closed forms.
func TestRestrictedMeanClosedForms(t *testing.T) {
	type closed struct {
		ID, Source string
		Values     struct {
			Cases []struct {
				Dist                                          string
				Rate, Shape, Scale, Meanlog, Sdlog, Tau, Rmst float64
			}
		}
		Tolerance struct{ Rel, Abs float64 }
	}
	var raw []json.RawMessage
	readJSON(t, "rmst.json", &raw)
	seen := 0
	for _, b := range raw {
		var id struct{ ID string }
		require.NoError(t, json.Unmarshal(b, &id))
		if id.ID != "rmst_closed_forms" {
			continue
		}
		var e closed
		require.NoError(t, json.Unmarshal(b, &e))
		for _, c := range e.Values.Cases {
			eta, a, family := 0.0, 0.0, survival.Exponential
			switch c.Dist {
			case "exponential":
				eta = -math.Log(c.Rate)
			case "weibull":
				eta, a, family = math.Log(c.Scale), -math.Log(c.Shape), survival.Weibull
			case "loglogistic":
				eta, a, family = math.Log(c.Scale), -math.Log(c.Shape), survival.LogLogistic
			case "lognormal":
				eta, a, family = c.Meanlog, math.Log(c.Sdlog), survival.LogNormal
			case "gamma":
				eta, a, family = -math.Log(c.Rate), math.Log(c.Shape), survival.Gamma
			}
			got := survival.MeanOf(family, eta, a, 0, c.Tau)
			mathtest.CloseRel(t, c.Dist, got, c.Rmst, e.Tolerance.Abs, e.Tolerance.Rel, e.ID+": "+e.Source)
			seen++
		}
	}
	require.Equal(t, 10, seen)
	// scales far from 1, against closed forms
	for _, sigma := range []float64{1e-3, 0.05, 4, 30} {
		got := survival.MeanOf(survival.LogNormal, 1, math.Log(sigma), 0, 5)
		z := (math.Log(5) - 1) / sigma
		want := math.Exp(1+sigma*sigma/2)*distuv.UnitNormal.CDF(z-sigma) + 5*distuv.UnitNormal.Survival(z)
		if sigma > 10 {
			want = 5*distuv.UnitNormal.Survival(z) + 5*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)*millsSeries(sigma-z)
		}
		mathtest.CloseRel(t, "log-normal", got, want, 0, 1e-9, "closed form exp(m + s^2/2) Phi((log tau - m)/s - s) + tau S(tau)")
	}
}

// millsSeries is Mills' ratio for large arguments, by its asymptotic series.
func millsSeries(x float64) float64 {
	sum, term := 0.0, 1/x
	for k := 1.0; k < 20; k += 2 {
		sum += term
		term *= -k / (x * x)
	}
	return sum
}

// The standard error of a restricted mean against the spread over bootstrap fits, and its limits within 0 and the horizon.
func TestMeanToOfAFit(t *testing.T) {
	rows, _, _ := lifetimes(rand.New(rand.NewPCG(43, 1)), 150)
	for _, f := range allFamilies {
		fit := mustFit(t, survival.Parametric{Family: f}, rows, nil, nil)
		m, err := fit.MeanTo(10, nil, 0)
		require.NoError(t, err)
		sum, step := 0.0, 1e-3
		for at := step / 2; at < 10; at += step {
			s, err := fit.At(at, nil, 0)
			require.NoError(t, err)
			sum += s * step
		}
		require.InDelta(t, sum, m.Value, 1e-6, f)
		require.Less(t, m.Lower, m.Value)
		require.Greater(t, m.Upper, m.Value)
		require.InDelta(t, 0.2, m.SE, 0.1, f)
		share, err := fit.ShareAt(6, nil, 0)
		require.NoError(t, err)
		require.True(t, share.Limited)
		require.Less(t, share.Lower, share.Value)
		require.Greater(t, share.Upper, share.Value)
		for at, want := range map[float64]float64{-1: 1, 0: 1, inf: 0} {
			s, err := fit.At(at, nil, 0)
			require.NoError(t, err)
			require.Equal(t, want, s)
		}
	}
}

func TestLikelihoodRatio(t *testing.T) {
	rows, x, strata := lifetimes(rand.New(rand.NewPCG(43, 2)), 120)
	fit := func(f survival.Family, x [][]float64, strata []int) *survival.ParametricFit {
		return mustFit(t, survival.Parametric{Family: f, Strata: strata}, rows, x, nil)
	}
	one := make([][]float64, len(x))
	for i := range x {
		one[i] = []float64{x[i][0] - 3*x[i][1]}
	}
	weibull := fit(survival.Weibull, x, nil)
	for _, tt := range []struct {
		full, special *survival.ParametricFit
		df            int
	}{
		{weibull, fit(survival.Exponential, x, nil), 1}, {fit(survival.Gamma, x, nil), fit(survival.Exponential, x, nil), 1},
		{fit(survival.GeneralizedGamma, x, nil), weibull, 1}, {fit(survival.GeneralizedGamma, x, nil), fit(survival.LogNormal, x, nil), 1},
		{fit(survival.GeneralizedGamma, x, nil), fit(survival.Gamma, x, nil), 1}, {fit(survival.GeneralizedGamma, x, nil), fit(survival.Exponential, nil, nil), 4},
		{weibull, fit(survival.Weibull, one, nil), 1}, {weibull, fit(survival.Weibull, nil, nil), 2}, {fit(survival.Weibull, x, strata), weibull, 1},
		{fit(survival.Weibull, x, strata), fit(survival.Exponential, x, nil), 2},
	} {
		r, err := survival.LikelihoodRatio(tt.full, tt.special)
		require.NoError(t, err)
		require.Equal(t, tt.df, r.DF)
		require.InDelta(t, 2*(tt.full.LogLik-tt.special.LogLik), r.Statistic, 1e-9)
		require.InDelta(t, distuv.ChiSquared{K: float64(tt.df)}.Survival(r.Statistic), r.P, 1e-12)
	}
	square := make([][]float64, len(x))
	for i := range x {
		square[i] = []float64{x[i][1] * x[i][1]}
	}
	other := mustFit(t, survival.Parametric{Family: survival.Weibull}, rows[:100], x[:100], nil)
	for _, pair := range [][2]*survival.ParametricFit{{fit(survival.Exponential, x, nil), weibull}, {weibull, fit(survival.LogNormal, x, nil)},
		{weibull, other}, {fit(survival.Weibull, one, nil), fit(survival.Exponential, x, nil)}, {weibull, weibull}, {weibull, fit(survival.Weibull, nil, strata)},
		{weibull, fit(survival.Weibull, square, nil)}, {fit(survival.GeneralizedGamma, nil, nil), weibull}} {
		_, err := survival.LikelihoodRatio(pair[0], pair[1])
		require.Error(t, err)
	}
}

// Residuals by hand, and their laws under the truth.
func TestLifetimeResiduals(t *testing.T) {
	rows := []survival.Interval{{L: 3, R: 3}, {L: 5, R: inf}, {L: 2, R: 6}, {L: 0, R: 4}, {L: 0, R: inf}, {L: 7, R: 7}, {L: 12, R: 12}}
	fit := mustFit(t, survival.Parametric{}, rows, nil, nil)
	h := math.Exp(-fit.Coef[0])
	w := 4 * h
	closeAll(t, []float64{3 * h, 5*h + 1, 2*h + 1 - w/math.Expm1(w), 1 - w/math.Expm1(w), 1, 7 * h, 12 * h}, fit.Residuals(), 1e-12)

	rng := rand.New(rand.NewPCG(43, 3))
	many, x, _ := lifetimes(rng, 4000)
	for _, f := range []survival.Family{survival.Weibull, survival.GeneralizedGamma} {
		fit = mustFit(t, survival.Parametric{Family: f}, many, x, nil)
		mean := 0.0
		for _, r := range fit.Residuals() {
			mean += r / 4000
		}
		require.InDelta(t, 1, mean, 0.03, f)
		var sum, square float64
		for _, r := range fit.QuantileResiduals(9) {
			sum += r / 4000
			square += r * r / 4000
		}
		require.InDelta(t, 0, sum, 0.05, f)
		require.InDelta(t, 1, square, 0.1, f)
		require.Equal(t, fit.QuantileResiduals(9), fit.QuantileResiduals(9))
		require.NotEqual(t, fit.QuantileResiduals(9), fit.QuantileResiduals(10))
	}
}
