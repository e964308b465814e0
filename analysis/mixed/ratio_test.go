package mixed

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
)

// again fits a spec with other terms.
func again(t testing.TB, f *Fit, change func(s *Spec)) *Fit {
	t.Helper()
	s := f.spec.clone()
	change(&s)
	out, err := s.Fit(f.table)
	require.NoError(t, err)
	return out
}

func byML(s *Spec) { s.ML = true }

func TestRatioReference(t *testing.T) {
	sleep := model(t, "sleepstudy_corr")
	intercept := func(s *Spec) { s.Random = []Random{over(nil, "Subject")} }
	apart := func(s *Spec) {
		s.ML = true
		s.Random = []Random{over(nil, "Subject"), {Group: []string{"Subject"}, Slopes: []Term{num("Days")}, NoIntercept: true}}
	}
	full := again(t, sleep, byML)
	sample := again(t, model(t, "pastes"), func(s *Spec) { s.ML, s.Random = true, s.Random[:1] })
	linear := again(t, model(t, "cake"), func(s *Spec) {
		s.ML, s.Fixed = true, []Term{fac("recipe"), num("temp"), times(fac("recipe"), num("temp"))}
	})
	crossed := again(t, model(t, "crossed"), byML)
	for _, tt := range []struct {
		id   string
		fits []*Fit
	}{
		{"lrt_sleepstudy_random", []*Fit{again(t, full, intercept), again(t, full, apart), full}},
		{"lrt_sleepstudy_fixed", []*Fit{again(t, full, func(s *Spec) { s.Fixed = nil }), full}},
		{"lrt_pastes", []*Fit{sample, again(t, model(t, "pastes"), byML)}},
		{"lrt_cake_recipe", []*Fit{again(t, linear, func(s *Spec) { s.Fixed = []Term{num("temp")} }), linear}},
		{"lrt_crossed_style", []*Fit{again(t, crossed, func(s *Spec) { s.Fixed = []Term{num("time")} }), crossed}},
		{"lrt_reml_random", []*Fit{again(t, sleep, intercept), sleep}},
	} {
		t.Run(tt.id, func(t *testing.T) {
			var want struct {
				Npar, Df, Chisq, P []any
				Loglik             []float64
			}
			source := reference(t, "lmm_lrt", tt.id, &want)
			for i, f := range tt.fits {
				require.Equal(t, want.Npar[i].(float64), float64(f.Parameters()))
				mathtest.CloseRel(t, "log-likelihood", f.LogLik(), want.Loglik[i], 1e-7, 1e-7, source)
				if i == 0 {
					continue
				}
				got, err := LikelihoodRatio(tt.fits[i-1], f)
				require.NoError(t, err)
				require.Empty(t, got.Notes)
				require.Equal(t, want.Df[i].(float64), float64(got.DF))
				mathtest.CloseRel(t, "statistic", got.Statistic, want.Chisq[i].(float64), 1e-6, 1e-5, source)
				mathtest.CloseRel(t, "p", got.P, want.P[i].(float64), 1e-7, 1e-5, source)
			}
		})
	}
}

// A variance more is on its boundary in the smaller model; the mixture is worked out from its definition.
func TestRatioOnTheBoundary(t *testing.T) {
	full := again(t, model(t, "sleepstudy_corr"), byML)
	intercept := again(t, full, func(s *Spec) { s.Random = []Random{over(nil, "Subject")} })
	none := again(t, full, func(s *Spec) { s.Random = nil })
	r, err := LikelihoodRatio(none, intercept)
	require.NoError(t, err)
	require.True(t, r.Boundary)
	require.Equal(t, "1/2 chi-square on 0 + 1/2 chi-square on 1", r.Mixture)
	require.Equal(t, r.P/2, r.MixtureP)
	r, err = LikelihoodRatio(intercept, full)
	require.NoError(t, err)
	require.True(t, r.Boundary)
	require.Equal(t, 2, r.DF)
	require.Equal(t, "1/2 chi-square on 1 + 1/2 chi-square on 2", r.Mixture)
	x := r.Statistic
	mathtest.CloseRel(t, "mixture", r.MixtureP, math.Erfc(math.Sqrt(x/2))/2+math.Exp(-x/2)/2, 0, 1e-10, "worked by hand: closed forms of chi-square on 1 and 2")
	r, err = LikelihoodRatio(none, full)
	require.NoError(t, err)
	require.False(t, r.Boundary)
	require.Equal(t, r.P, r.MixtureP)
	require.Len(t, r.Notes, 1, "two variances")

	second := model(t, "dyestuff2") // a variance estimated as 0: the statistic is 0
	r, err = LikelihoodRatio(again(t, second, func(s *Spec) { s.Random = nil }), second)
	require.NoError(t, err)
	require.InDelta(t, 0, r.Statistic, 1e-9)
	require.Equal(t, 1.0, r.MixtureP)
}

func TestRatioRefuses(t *testing.T) {
	full := again(t, model(t, "sleepstudy_corr"), byML)
	other := again(t, full, func(s *Spec) { s.Fixed = []Term{fac("Subject")}; s.Random = []Random{over(nil, "Days")} })
	reml := again(t, full, func(s *Spec) { s.ML = false })
	flat := again(t, reml, func(s *Spec) { s.Fixed = nil })
	for name, pair := range map[string][2]*Fit{
		"nil": {nil, full}, "reversed": {full, again(t, full, func(s *Spec) { s.Fixed = nil })}, "not nested": {other, full}, "kinds": {reml, full},
		"fixed by REML": {flat, reml}, "itself": {full, full}, "other rows": {again(t, model(t, "sleepstudy_missing"), byML), full},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := LikelihoodRatio(pair[0], pair[1])
			var cell *dataerr.Cell
			require.True(t, errors.As(err, &cell), "%v", err)
			require.NotEmpty(t, cell.Want)
		})
	}
}
