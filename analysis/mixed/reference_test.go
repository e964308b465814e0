package mixed_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

type matrixOf struct {
	Rows, Cols []string
	X          [][]number
}

// entry is a fit of the reference library.
type entry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             struct {
		Reml                        bool
		Criterion, LogLik, Aic, Bic number
		N, Npar                     int
		Ngroups                     map[string]int
		Theta                       map[string]number
		Sigma                       number
		Varcorr                     struct {
			Group, Var1, Var2 []string
			Vcov, Sdcor       []number
		}
		Fixef    map[string]number
		Vcov     matrixOf
		Singular bool
		Ranef    map[string]matrixOf
	}
	Tolerance struct{ Rel, Abs float64 }
}

func (e entry) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

// model is a spec with the columns of its data that are labels.
type model struct {
	labels string
	spec   mixed.Spec
}

// models are the fits of lmm.json, without the end of the name that says REML or ML.
var models = map[string]model{
	"lmm_sleepstudy_corr":      {"Subject", mixed.Spec{Response: "Reaction", Fixed: terms(num("Days")), Random: []mixed.Random{over("Subject", num("Days"))}}},
	"lmm_sleepstudy_intercept": {"Subject", mixed.Spec{Response: "Reaction", Fixed: terms(num("Days")), Random: []mixed.Random{over("Subject")}}},
	"lmm_sleepstudy_uncorr": {"Subject", mixed.Spec{Response: "Reaction", Fixed: terms(num("Days")),
		Random: []mixed.Random{over("Subject"), {Group: []string{"Subject"}, Slopes: terms(num("Days")), NoIntercept: true}}}},
	"lmm_sleepstudy_missing": {"Subject", mixed.Spec{Response: "Reaction", Fixed: terms(num("Days")), Random: []mixed.Random{over("Subject", num("Days"))}}},
	"lmm_penicillin":         {"plate sample", mixed.Spec{Response: "diameter", Random: []mixed.Random{over("plate"), over("sample")}}},
	"lmm_pastes":             {"sample batch cask", mixed.Spec{Response: "strength", Random: []mixed.Random{over("sample"), over("batch")}}},
	"lmm_dyestuff":           {"Batch", mixed.Spec{Response: "Yield", Random: []mixed.Random{over("Batch")}}},
	"lmm_dyestuff2_singular": {"Batch", mixed.Spec{Response: "Yield", Random: []mixed.Random{over("Batch")}}},
	"lmm_cake": {"replicate recipe temperature", mixed.Spec{Response: "angle", Fixed: terms(fac("recipe"), num("temp"), by(fac("recipe"), num("temp"))),
		Random: []mixed.Random{{Group: []string{"recipe", "replicate"}}}}},
	"lmm_machines": {"Worker Machine", mixed.Spec{Response: "score", Fixed: terms(fac("Machine")),
		Random: []mixed.Random{over("Worker"), {Group: []string{"Worker", "Machine"}}}}},
	"lmm_machines_slopes": {"Worker Machine", mixed.Spec{Response: "score", Fixed: terms(fac("Machine")),
		Random: []mixed.Random{{Group: []string{"Worker"}, Slopes: terms(mixed.Factor{Name: "Machine", Contrast: mixed.Indicator}), NoIntercept: true}}}},
	"lmm_orthodont": {"Subject Sex", mixed.Spec{Response: "distance", Fixed: terms(num("age"), fac("Sex"), by(num("age"), fac("Sex"))),
		Random: []mixed.Random{over("Subject", num("age"))}}},
	"lmm_ergostool": {"Subject Type", mixed.Spec{Response: "effort", Fixed: terms(fac("Type")), Random: []mixed.Random{over("Subject")}}},
	"lmm_crossed": {"taster drink style", mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("time"), by(fac("style"), num("time"))),
		Random: []mixed.Random{over("taster", num("time")), over("drink")}}},
	"lmm_crossed_intercepts": {"taster drink style", mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("time")),
		Random: []mixed.Random{over("taster"), over("drink")}}},
	"lmm_crossed_three": {"taster drink style", mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("time")),
		Random: []mixed.Random{over("taster"), over("drink"), {Group: []string{"taster", "drink"}}}}},
}

// lme4Name writes a column of ours as the reference library does: "MachineB:temp", "(Intercept)".
func lme4Name(column string) string {
	if column == "intercept" {
		return "(Intercept)"
	}
	return strings.NewReplacer("[", "", "]", "").Replace(column)
}

func TestReference(t *testing.T) {
	var entries []entry
	readJSON(t, "lmm.json", &entries)
	require.Len(t, entries, 33)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			if e.ID == "lmm_edge_one_taster" {
				data := readRows(t, e.Data[0], func(row map[string]string) bool { return row["taster"] == "1" }, "taster")
				_, err := mixed.Spec{Response: "score", Fixed: terms(num("time")), Random: []mixed.Random{over("taster")}}.Fit(data)
				require.ErrorIs(t, err, dataerr.ErrTooFew, e.source())
				require.ErrorContains(t, err, "at least two")
				return
			}
			cut := strings.LastIndex(e.ID, "_")
			m, ok := models[e.ID[:cut]]
			require.True(t, ok, e.ID)
			m.spec.ML = !e.Values.Reml
			require.Equal(t, m.spec.ML, e.ID[cut:] == "_ml")
			sameFit(t, e, fit(t, m.spec, readTable(t, e.Data[0], strings.Fields(m.labels)...)), lme4Name)
		})
	}
}

// sameFit holds a fit against an entry within the tolerances that the entry's note states.
func sameFit(t *testing.T, e entry, f *mixed.Fit, name func(string) string) {
	t.Helper()
	v, source := e.Values, e.source()
	require.True(t, f.Converged(), f.Why())
	require.LessOrEqual(t, f.Deviance(), float64(v.Criterion)+1e-8*math.Abs(float64(v.Criterion)), source)
	mathtest.CloseRel(t, "criterion", f.Deviance(), float64(v.Criterion), 0, 1e-8, source)
	mathtest.CloseRel(t, "log-likelihood", f.LogLik(), float64(v.LogLik), 0, 1e-8, source)
	mathtest.CloseRel(t, "AIC", f.AIC(), float64(v.Aic), 0, 1e-8, source)
	mathtest.CloseRel(t, "BIC", f.BIC(), float64(v.Bic), 0, 1e-8, source)
	require.Equal(t, v.Npar, f.Parameters(), source)
	require.Equal(t, v.N, f.Rows(), source)
	mathtest.CloseRel(t, "sigma", f.Sigma(), float64(v.Sigma), 0, 1e-5, source)
	require.Equal(t, v.Singular, len(f.Singular()) > 0, "%v; %s", f.Singular(), source)
	for group, n := range v.Ngroups {
		require.Len(t, f.Levels(group), n, source)
	}
	sameCoefficients(t, e, f, name)
	sameComponents(t, e, f, name)
	sameEffects(t, e, f, name)
}

func sameCoefficients(t *testing.T, e entry, f *mixed.Fit, name func(string) string) {
	t.Helper()
	at := map[string]int{}
	for j, column := range f.Coefficients() {
		at[name(column)] = j
	}
	require.Len(t, e.Values.Fixef, len(at), e.source())
	for column, want := range e.Values.Fixef {
		require.Contains(t, at, column, e.source())
		mathtest.CloseRel(t, "coefficient "+column, f.Beta()[at[column]], float64(want), 1e-8, 1e-5, e.source())
	}
	c := f.Covariance()
	for i, row := range e.Values.Vcov.Rows {
		for j, col := range e.Values.Vcov.Cols {
			scale := math.Sqrt(c.At(at[row], at[row]) * c.At(at[col], at[col]))
			mathtest.CloseRel(t, "covariance of "+row+", "+col, c.At(at[row], at[col]), float64(e.Values.Vcov.X[i][j]), 2e-5*scale, 0, e.source())
		}
	}
}

func sameComponents(t *testing.T, e entry, f *mixed.Fit, name func(string) string) {
	t.Helper()
	components, seen := map[[3]string]mixed.Component{}, 0
	for _, c := range f.Components() {
		key := [3]string{c.Group, name(c.Column), ""}
		if c.Column2 != "" {
			key[2] = name(c.Column2)
		}
		components[key] = c
	}
	v := e.Values.Varcorr
	for i, group := range v.Group {
		if group == "Residual" {
			mathtest.CloseRel(t, "residual variance", f.Sigma()*f.Sigma(), float64(v.Vcov[i]), 0, 1e-4, e.source())
			continue
		}
		group, _, _ = strings.Cut(group, ".") // "Subject.1" is a second term of Subject
		key := [3]string{group, v.Var1[i], v.Var2[i]}
		if key[2] == "NA" {
			key[2] = ""
		}
		c, ok := components[key]
		require.True(t, ok, "%v; %s", key, e.source())
		seen++
		want, sdcor := float64(v.Vcov[i]), float64(v.Sdcor[i])
		if want == 0 {
			require.Less(t, math.Sqrt(math.Abs(c.Covariance)), 1e-3*f.Sigma(), "%v; %s", key, e.source())
			continue
		}
		mathtest.CloseRel(t, "component "+strings.Join(key[:], " "), c.Covariance, want, 1e-5, 1e-4, e.source())
		if key[2] == "" {
			mathtest.CloseRel(t, "standard deviation", c.SD, sdcor, 1e-5, 1e-4, e.source())
			require.Equal(t, 1.0, c.Correlation)
		} else {
			mathtest.CloseRel(t, "correlation", c.Correlation, sdcor, 1e-5, 1e-4, e.source())
		}
	}
	require.Len(t, components, seen, e.source())
}

func sameEffects(t *testing.T, e entry, f *mixed.Fit, name func(string) string) {
	t.Helper()
	for group, want := range e.Values.Ranef {
		effects, err := f.Effects(group)
		require.NoError(t, err)
		got := map[[2]string]float64{}
		for _, b := range effects {
			got[[2]string{b.Level, name(b.Column)}] = b.Value
			require.GreaterOrEqual(t, b.SE, 0.0)
		}
		require.Len(t, got, len(want.Rows)*len(want.Cols), e.source())
		for i, level := range want.Rows {
			for j, column := range want.Cols {
				b, ok := got[[2]string{level, column}]
				require.True(t, ok, "%s %s; %s", level, column, e.source())
				mathtest.CloseRel(t, "effect of "+level+" on "+column, b, float64(want.X[i][j]), 1e-5, 1e-4, e.source())
			}
		}
	}
}
