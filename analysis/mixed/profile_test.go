package mixed

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

func TestProfileReference(t *testing.T) {
	names := map[string][]string{
		"dyestuff":        {"SD of intercept over Batch", "residual SD", "intercept"},
		"sleepstudy_corr": {"SD of intercept over Subject", "correlation of intercept and Days over Subject", "SD of Days over Subject", "residual SD", "intercept", "Days"},
		"penicillin":      {"SD of intercept over plate", "SD of intercept over sample", "residual SD", "intercept"},
		"ergostool":       {"SD of intercept over Subject", "residual SD", "intercept", "Type[T2]", "Type[T3]", "Type[T4]"},
		"pastes":          {"SD of intercept over sample", "SD of intercept over batch", "residual SD", "intercept"},
	}
	for name, order := range names {
		t.Run(name, func(t *testing.T) {
			var want struct{ CI printed }
			id := name
			if id == "sleepstudy_corr" {
				id = "sleepstudy"
			}
			source := reference(t, "lmm_profile", "profile_"+id, &want)
			got, err := model(t, name).Profile(0.95)
			require.NoError(t, err)
			require.Len(t, got.Limits, len(order))
			require.Len(t, got.Notes, 1, "by ML: %v", got.Notes)
			for i, row := range want.CI.X {
				at := slices.IndexFunc(got.Limits, func(l Limits) bool { return l.Name == order[i] })
				require.GreaterOrEqual(t, at, 0, order[i])
				l := got.Limits[at]
				require.Empty(t, l.Why)
				mathtest.CloseRel(t, l.Name+" lower", l.Lower, row[0], 1e-4, 1e-3, source)
				mathtest.CloseRel(t, l.Name+" upper", l.Upper, row[1], 1e-4, 1e-3, source)
				require.Equal(t, row[0] == 0, l.OpenLower, "open at 0")
				require.False(t, l.OpenUpper)
				require.True(t, l.Lower <= l.Estimate && l.Estimate <= l.Upper)
			}
		})
	}
}

// Without random effects the profiles have closed forms.
func TestProfileOfALinearModel(t *testing.T) {
	fit := again(t, model(t, "ergostool"), func(s *Spec) { s.ML, s.Random = true, nil })
	got, err := fit.Profile(0.9)
	require.NoError(t, err)
	n := float64(fit.Rows())
	for j, name := range fit.Coefficients() {
		l := got.Limits[1+j]
		require.Equal(t, name, l.Name)
		// n log(1 + t^2/n) = cut, t in standard errors by maximum likelihood
		half := math.Sqrt(n*math.Expm1(got.Cut/n)) * math.Sqrt(fit.Covariance().At(j, j))
		source := "worked by hand: profile of a linear model"
		mathtest.CloseRel(t, name, l.Lower, fit.Beta()[j]-half, 1e-7, 1e-7, source)
		mathtest.CloseRel(t, name, l.Upper, fit.Beta()[j]+half, 1e-7, 1e-7, source)
	}
	s := got.Limits[0]
	for _, v := range []float64{s.Lower, s.Upper} { // n (log(s^2/v) + v/s^2 - 1) = cut
		r := fit.Sigma() * fit.Sigma() / (v * v)
		mathtest.Close(t, "residual SD", n*(r-1-math.Log(r)), got.Cut, 1e-6, "worked by hand: profile of a variance")
	}
}

// A variance that is 0 at the top leaves 0 where the residual's is held far lower: the profile is looked up on a grid of the
// one theta.
func TestProfileLeavesTheBoundary(t *testing.T) {
	fit := again(t, model(t, "dyestuff2"), byML)
	require.Equal(t, []float64{0}, fit.Theta())
	top, err := fit.top()
	require.NoError(t, err)
	profile := top.residual().begin()
	n, space := float64(fit.Rows()), fit.problem.Space()
	for _, share := range []float64{0.2, 0.4, 0.8, 1, 2} {
		sigma, least, best := share*fit.Sigma(), math.Inf(1), 0.0
		for theta := 0.0; theta < 3; theta += 1e-4 {
			d := space.Deviance([]float64{theta}, false)
			v := math.Pow(space.Sigma(false)/sigma, 2)
			if d += n * (v - 1 - math.Log(v)); d < least {
				least, best = d, theta
			}
		}
		require.Equal(t, share < 0.5, best > 0.1, "theta is %g at %g", best, sigma)
		got, ok := profile(sigma)
		require.True(t, ok)
		mathtest.Close(t, "deviance", got, least, 1e-4, "a grid of theta")
	}
}
