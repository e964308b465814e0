package law

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mathext"
)

var families = []Family{Exponential, Weibull, LogNormal, LogLogistic, Gamma, GeneralizedGamma}

// rows are one of every kind, near and far from the middle, narrow and wide.
var rows = []Obs{
	NewObs(3, 3), NewObs(0, 2), NewObs(5, math.Inf(1)), NewObs(2, 7), NewObs(0.01, 0.02), NewObs(60, 61),
	NewObs(40, math.Inf(1)), NewObs(0, 0.05), NewObs(3, 3.0001), NewObs(3, 3+1e-7), NewObs(0.02, math.Inf(1)), NewObs(0, 80),
}

type setting struct {
	f    Family
	a, q float64
}

func settings() (out []setting) {
	for _, f := range families {
		for _, a := range []float64{-1.2, 0, 0.6} {
			qs := []float64{0}
			if f == GeneralizedGamma {
				qs = []float64{-2.5, -0.7, -0.2, -1e-4, 0, 1e-5, 0.3, 0.36, 1, 1.8, 4}
			}
			for _, q := range qs {
				out = append(out, setting{f, a, q})
			}
			if !f.HasScale() {
				break
			}
		}
	}
	return out
}

func value(st setting, o Obs, eta float64) float64 {
	var d Deriv
	s := New(st.f, st.a, st.q)
	s.Row(&o, eta, &d)
	return d.L
}

// Gradient and Hessian against central differences, of the value and of the gradient, for every family, censoring and
// regime.
func TestDerivatives(t *testing.T) {
	const h = 1e-4
	for _, st := range settings() {
		for _, o := range rows {
			for _, eta := range []float64{0.4, 1.3, 2.5} {
				at := func(e, a, q float64) (d Deriv) {
					s := New(st.f, st.a+a, st.q+q)
					s.Row(&o, eta+e, &d)
					return d
				}
				d := at(0, 0, 0)
				if d.L < -600 || math.IsInf(d.L, 0) {
					continue // the end of what a float can tell
				}
				name := fmt.Sprint(st, o, eta)
				check := func(what string, got float64, f func(x float64) float64) {
					want := (8*(f(h)-f(-h)) - (f(2*h) - f(-2*h))) / (12 * h)
					scale := 1 + math.Abs(d.L) + math.Abs(d.E) + math.Abs(d.A) + math.Abs(d.Q) + math.Abs(d.E*d.E) + math.Abs(d.AA)
					if w := o.Hi - o.Lo; w > 0 && w < 0.1 { // differences of densities keep 1e-16 / w
						scale += 3e-3 / w
					}
					require.InDelta(t, want, got, 2e-8*scale, "%s of %s", what, name)
				}
				check("E", d.E, func(x float64) float64 { return at(x, 0, 0).L })
				check("EE", d.EE, func(x float64) float64 { return at(x, 0, 0).E })
				if st.f.HasScale() {
					check("A", d.A, func(x float64) float64 { return at(0, x, 0).L })
					check("EA", d.EA, func(x float64) float64 { return at(0, x, 0).E })
					check("AA", d.AA, func(x float64) float64 { return at(0, x, 0).A })
				}
				if st.f.HasShape() {
					check("Q", d.Q, func(x float64) float64 { return at(0, 0, x).L })
					check("EQ", d.EQ, func(x float64) float64 { return at(0, 0, x).E })
					check("AQ", d.AQ, func(x float64) float64 { return at(0, 0, x).A })
					check("QQ", d.QQ, func(x float64) float64 { return at(0, 0, x).Q })
				}
			}
		}
	}
}

// A row's probability is the sum of those of its parts, and all parts make 1.
func TestProbabilitiesAddUp(t *testing.T) {
	cuts := []float64{0, 0.01, 0.5, 1, 3, 3.1, 8, 30, 200, math.Inf(1)}
	for _, st := range settings() {
		sum := 0.0
		for i := 1; i < len(cuts); i++ {
			sum += math.Exp(value(st, NewObs(cuts[i-1], cuts[i]), 1.1))
			below := math.Exp(value(st, NewObs(0, cuts[i]), 1.1))
			require.InDelta(t, below, sum, 1e-13, "%v to %v", st, cuts[i])
			if !math.IsInf(cuts[i], 1) {
				require.InDelta(t, 1, below+math.Exp(value(st, NewObs(cuts[i], math.Inf(1)), 1.1)), 1e-13)
			}
		}
		require.InDelta(t, 1, sum, 1e-13, "%v", st)
	}
}

// The gamma laws against the incomplete gamma function, and the nested laws of the generalised gamma.
func TestGammaAgainstIncompleteGamma(t *testing.T) {
	for _, k := range []float64{0.05, 0.3, 1, 2.7, 9, 60, 900} {
		for _, u := range []float64{1e-3, 0.1, 0.8, 1, 1.4, 3, 12} {
			x := k * u
			got := math.Exp(value(setting{Gamma, math.Log(k), 0}, NewObs(0, x), 0))
			want := mathext.GammaIncReg(k, x)
			require.InDelta(t, want, got, 1e-12+1e-11*want, "P(%v, %v)", k, x)
			got = math.Exp(value(setting{Gamma, math.Log(k), 0}, NewObs(x, math.Inf(1)), 0))
			want = mathext.GammaIncRegComp(k, x)
			require.InDelta(t, want, got, 1e-12+1e-11*want, "Q(%v, %v)", k, x)
		}
	}
	for _, o := range rows {
		require.InDelta(t, value(setting{Weibull, -0.3, 0}, o, 1), value(setting{GeneralizedGamma, -0.3, 1}, o, 1), 1e-10*(1+math.Abs(value(setting{Weibull, -0.3, 0}, o, 1))), "%v", o)
		require.InDelta(t, value(setting{LogNormal, -0.3, 0}, o, 1), value(setting{GeneralizedGamma, -0.3, 0}, o, 1), 1e-10, "%v", o)
		require.InDelta(t, value(setting{Exponential, 0, 0}, o, 1), value(setting{Gamma, 0, 0}, o, 1), 1e-10, "%v", o)
	}
}

// Quantiles invert the law, and their derivatives are those of central differences.
func TestQuantiles(t *testing.T) {
	const h = 1e-4
	for _, st := range settings() {
		for _, p := range []float64{1e-6, 0.1, 0.25, 0.5, 0.9, 0.9999} {
			at := func(a, q float64) Offset {
				s := New(st.f, st.a+a, st.q+q)
				return s.Quantile(p)
			}
			off := at(0, 0)
			s := New(st.f, st.a, st.q)
			var d Deriv
			s.Row(&Obs{Lo: math.Inf(-1), Hi: 1.7 + off.V, Kind: Left}, 1.7, &d)
			require.InDelta(t, 1, math.Exp(d.L)/p, 1e-10, "%v at %v", st, p)
			check := func(what string, got float64, f func(x float64) float64) {
				want := (8*(f(h)-f(-h)) - (f(2*h) - f(-2*h))) / (12 * h)
				require.InDelta(t, want, got, 1e-7*(1+math.Abs(off.V)+math.Abs(got)), "%s of %v at %v", what, st, p)
			}
			if st.f.HasScale() {
				check("A", off.A, func(x float64) float64 { return at(x, 0).V })
				check("AA", off.AA, func(x float64) float64 { return at(x, 0).A })
			}
			if st.f.HasShape() {
				check("Q", off.Q, func(x float64) float64 { return at(0, x).V })
				check("AQ", off.AQ, func(x float64) float64 { return at(0, x).A })
				check("QQ", off.QQ, func(x float64) float64 { return at(0, x).Q })
			}
		}
	}
}

func BenchmarkRow(b *testing.B) {
	for _, f := range families {
		for i, o := range rows[:4] {
			b.Run(fmt.Sprint(f, "/", i), func(b *testing.B) {
				s := New(f, -0.5, 0.4)
				var d Deriv
				b.ReportAllocs()
				for b.Loop() {
					s.Row(&o, 1.3, &d)
				}
			})
		}
	}
}
