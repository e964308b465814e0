package survival_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// compareFit holds a fit against an entry: log-likelihood, estimates, covariance.
func compareFit(t *testing.T, e lifetimeEntry, f *survival.ParametricFit, cov *mat.SymDense, loose func(name string) (rel, abs float64)) {
	t.Helper()
	src := e.source()
	want := float64(e.Values.LogLik)
	require.True(t, f.Converged, src)
	require.False(t, f.Singular, src)
	require.Empty(t, f.Warnings())
	require.GreaterOrEqual(t, f.LogLik, want-1e-7*math.Abs(want), "short of %s", src)
	require.LessOrEqual(t, f.LogLik, want+1e-7*math.Abs(want), "above %s", src)
	mathtest.CloseRel(t, "AIC", f.AIC, float64(e.Values.AIC), e.Tolerance.Abs, e.Tolerance.Rel, src)
	require.Equal(t, e.Values.N, f.Rows)
	theta := f.Theta()
	names := e.Values.Vcov.Rows
	require.Len(t, theta, len(names))
	for j, name := range names {
		rel, abs := loose(name)
		value, ok := e.Values.Coef[name]
		if !ok {
			value, ok = e.Values.ShapeParameters[name]
		}
		if !ok {
			var one number
			var several map[string]number
			if json.Unmarshal(e.Values.Scale, &one) == nil {
				value = number(math.Log(float64(one)))
			} else {
				require.NoError(t, json.Unmarshal(e.Values.Scale, &several))
				value = number(math.Log(float64(several[strings.TrimSuffix(strings.TrimPrefix(name, "Log(scale["), "])")])))
			}
		}
		mathtest.CloseRel(t, name, theta[j], float64(value), abs, rel, src)
		for k, other := range names[:j+1] {
			relK, absK := loose(other)
			scale := math.Sqrt(float64(e.Values.Vcov.X[j][j] * e.Values.Vcov.X[k][k]))
			mathtest.Close(t, "covariance of "+name+" and "+other, cov.At(j, k), float64(e.Values.Vcov.X[j][k]), max(abs, absK)+2*max(rel, relK)*scale, src)
		}
	}
	for j, se := range f.SE() {
		if cov != nil && e.Values.SE != nil && !strings.Contains(e.ID, "cluster") {
			rel, abs := loose(names[j])
			mathtest.CloseRel(t, "standard error of "+names[j], se, float64(e.Values.SE[j]), abs, 2*rel, src)
		}
	}
}

func compareQuantiles(t *testing.T, e lifetimeEntry, f *survival.ParametricFit, rel, profileRel float64) {
	t.Helper()
	for _, q := range e.Values.Quantiles {
		x := floats(q.X)[1:]
		for how, want := range map[survival.LimitKind][]number{survival.DeltaLog: q.Log2, survival.DeltaNatural: q.Natural, survival.ProfileLimits: q.Profile} {
			if want == nil {
				continue
			}
			got, err := f.Quantile(x, 0, q.P, how)
			require.NoError(t, err, e.source())
			require.Equal(t, 0.95, got.Level)
			tol := rel
			if how == survival.ProfileLimits {
				tol = profileRel
			}
			mathtest.CloseRel(t, "quantile", got.Value, math.Exp(float64(q.Log)), 0, rel, e.source())
			mathtest.CloseRel(t, "standard error of the log quantile", got.SELog, float64(q.SELog), 0, 2*rel, e.source())
			mathtest.CloseRel(t, "lower limit", got.Lower, float64(want[0]), 1e-7, tol, e.source())
			mathtest.CloseRel(t, "upper limit", got.Upper, float64(want[1]), 1e-7, tol, e.source())
		}
		s, err := f.At(math.Exp(float64(q.Log)), x, 0)
		require.NoError(t, err)
		mathtest.Close(t, "S at the quantile", s, 1-q.P, 10*rel, e.source())
	}
}

func TestLifetimeReference(t *testing.T) {
	var entries []lifetimeEntry
	readJSON(t, "aft.json", &entries)
	require.Len(t, entries, 25)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			spec, rows, x := lifetimeData(t, e)
			f, err := spec.Fit(rows, x, nil)
			if e.ID == "aft_edge_all_censored" {
				require.ErrorIs(t, err, survival.ErrNoEvent, e.source())
				return
			}
			require.NoError(t, err)
			tolerance := func(string) (rel, abs float64) { return e.Tolerance.Rel, e.Tolerance.Abs }
			compareFit(t, e, f, f.Cov(), tolerance)
			compareQuantiles(t, e, f, e.Tolerance.Rel, 1e-5)
			if spec.Strata == nil {
				null, err := survival.Parametric{Family: spec.Family}.Fit(rows, nil, nil)
				require.NoError(t, err)
				mathtest.CloseRel(t, "log-likelihood without covariates", null.LogLik, float64(e.Values.Null), 1e-7, 1e-7, e.source())
			}
		})
	}
}

func TestLifetimeRobustReference(t *testing.T) {
	var entries []lifetimeEntry
	readJSON(t, "aft_robust.json", &entries)
	require.Len(t, entries, 8)
	corrected := correctedSandwich(t)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			spec, rows, x := lifetimeData(t, e)
			f, err := spec.Fit(rows, x, nil)
			require.NoError(t, err)
			cov, err := f.RobustCov()
			require.NoError(t, err)
			seen := map[int]bool{}
			for _, c := range spec.Cluster {
				seen[c] = true
			}
			g := float64(len(seen))
			cov.ScaleSym((g-1)/g, cov) // the reference has no small-sample factor
			if corrected[spec.Family] != nil && e.Data[0] == "sim_panel_ic" {
				for j := range e.Values.Vcov.X {
					for k := range j + 1 {
						e.Values.Vcov.X[j][k] = number(corrected[spec.Family][[2]int{j, k}])
					}
				}
				e.Source += "; covariance by aft_robust_interval.R"
			}
			compareFit(t, e, f, cov, func(string) (rel, abs float64) { return e.Tolerance.Rel, e.Tolerance.Abs })
		})
	}
}

// correctedSandwich reads the covariances that stand for those of survreg on interval-censored rows: its score in the log
// scale has the wrong sign there, see the script.
func correctedSandwich(t *testing.T) map[survival.Family]map[[2]int]float64 {
	t.Helper()
	out := map[survival.Family]map[[2]int]float64{}
	for _, row := range readCSV(t, "aft_robust_interval.csv") {
		for f := survival.Exponential; f <= survival.GeneralizedGamma; f++ {
			if row["family"] == f.String() {
				if out[f] == nil {
					out[f] = map[[2]int]float64{}
				}
				out[f][[2]int{int(parse(t, row["row"])) - 1, int(parse(t, row["column"])) - 1}] = parse(t, row["value"])
			}
		}
	}
	require.Len(t, out, 3)
	return out
}

func TestGammaReference(t *testing.T) {
	var entries []lifetimeEntry
	readJSON(t, "aft_gamma.json", &entries)
	require.Len(t, entries, 8)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			spec, rows, x := lifetimeData(t, e)
			f, err := spec.Fit(rows, x, nil)
			require.NoError(t, err)
			compareFit(t, e, f, f.Cov(), func(name string) (rel, abs float64) {
				if name == "log_sigma" || name == "Q" {
					return 1e-3, 1e-6
				}
				return 1e-4, 1e-6
			})
			compareQuantiles(t, e, f, 1e-4, 1e-4)
			for name, want := range e.Values.Nested {
				family := map[string]survival.Family{"weibull": survival.Weibull, "lognormal": survival.LogNormal, "exponential": survival.Exponential, "gamma": survival.Gamma}[name]
				special, err := survival.Parametric{Family: family}.Fit(rows, x, nil)
				require.NoError(t, err)
				mathtest.CloseRel(t, name, special.LogLik, float64(want), 1e-7, 1e-7, e.source())
			}
		})
	}
}
