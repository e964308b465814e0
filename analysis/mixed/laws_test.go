package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

// panel is invented data: tasters, evenings, styles, ages, unbalanced.
type panel struct {
	score, age               []float64
	taster, evening, style   []string
	tasterOrder, eveningName func(int) string
}

func invented(rng *rand.Rand) *panel {
	p := &panel{}
	tasters, evenings := 4+rng.IntN(5), 2+rng.IntN(3)
	offset, slope, night := make([]float64, tasters), make([]float64, tasters), make([]float64, evenings)
	for i := range offset {
		offset[i], slope[i] = rng.NormFloat64(), 0.1*rng.NormFloat64()
	}
	for i := range night {
		night[i] = 0.5 * rng.NormFloat64()
	}
	for i := range tasters {
		for range 6 + rng.IntN(8) {
			age, e, s := float64(rng.IntN(6))*2, rng.IntN(evenings), rng.IntN(3)
			p.score = append(p.score, 7+offset[i]+night[e]+float64(s)-(0.2+slope[i])*age+0.6*rng.NormFloat64())
			p.age, p.taster = append(p.age, age), append(p.taster, fmt.Sprintf("t%d", i))
			p.evening, p.style = append(p.evening, fmt.Sprintf("e%d", e)), append(p.style, []string{"highball", "sour", "stirred"}[s])
		}
	}
	return p
}

func (p *panel) table(t testing.TB) *mixed.Table {
	return table(t, mixed.Numbers("score", p.score), mixed.Numbers("age", p.age), mixed.Labels("taster", p.taster),
		mixed.Labels("evening", p.evening), mixed.Labels("style", p.style))
}

func (p *panel) clone() *panel {
	return &panel{score: slices.Clone(p.score), age: slices.Clone(p.age), taster: slices.Clone(p.taster), evening: slices.Clone(p.evening), style: slices.Clone(p.style)}
}

func panelSpec(ml bool) mixed.Spec {
	return mixed.Spec{Response: "score", ML: ml, Fixed: terms(fac("style"), num("age"), by(fac("style"), num("age"))),
		Random: []mixed.Random{over("taster", num("age")), over("evening")}}
}

func near(t *testing.T, want, got []float64, rel float64, what string) {
	t.Helper()
	require.Len(t, got, len(want), what)
	for i := range want {
		require.InDelta(t, want[i], got[i], rel*math.Max(1, math.Abs(want[i])), "%s, element %d", what, i)
	}
}

func each(t *testing.T, law func(t *testing.T, rng *rand.Rand, p *panel, ml bool)) {
	t.Helper()
	rng := rand.New(rand.NewPCG(20320101, 1))
	for i := range 24 {
		p := invented(rng)
		t.Run(fmt.Sprint(i), func(t *testing.T) { law(t, rng, p, i%2 == 0) })
	}
}

func TestShiftOfTheResponseShiftsTheIntercept(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		f := fit(t, panelSpec(ml), p.table(t))
		q := p.clone()
		for i := range q.score {
			q.score[i] += 1000
		}
		g := fit(t, panelSpec(ml), q.table(t))
		want := f.Beta()
		want[0] += 1000
		near(t, want, g.Beta(), 1e-6, "coefficients")
		near(t, []float64{f.Deviance(), f.Sigma()}, []float64{g.Deviance(), g.Sigma()}, 1e-7, "deviance and sigma")
		near(t, f.Residuals(), g.Residuals(), 1e-4, "residuals")
	})
}

func TestScaleOfTheResponse(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		f := fit(t, panelSpec(ml), p.table(t))
		for _, scale := range []float64{1e-6, -3, 1e8} {
			q := p.clone()
			for i := range q.score {
				q.score[i] *= scale
			}
			g := fit(t, panelSpec(ml), q.table(t))
			want := f.Beta()
			got := g.Beta()
			for j := range got {
				got[j] /= scale
			}
			near(t, want, got, 1e-5, "coefficients")
			require.InEpsilon(t, f.Sigma(), g.Sigma()/math.Abs(scale), 1e-5)
			df := float64(f.Rows())
			if !ml {
				df -= float64(len(want))
			}
			require.InDelta(t, f.Deviance()+2*df*math.Log(math.Abs(scale)), g.Deviance(), 1e-5)
		}
	})
}

// A covariate in another unit, 10^8 times as large, is the same model.
func TestScaleOfACovariate(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		f := fit(t, panelSpec(ml), p.table(t))
		q := p.clone()
		for i := range q.age {
			q.age[i] *= 1e8
		}
		g := fit(t, panelSpec(ml), q.table(t))
		near(t, f.Fitted(), g.Fitted(), 1e-4, "fitted")
		near(t, f.FittedMarginal(), g.FittedMarginal(), 1e-4, "marginal")
		want := f.Deviance()
		if !ml {
			want += 2 * 3 * math.Log(1e8) // log|X'H^-1X| of three columns
		}
		require.InDelta(t, want, g.Deviance(), 1e-6)
		require.Equal(t, f.Singular(), g.Singular())
	})
}

func TestOrderOfRowsAndNamesOfLevels(t *testing.T) {
	each(t, func(t *testing.T, rng *rand.Rand, p *panel, ml bool) {
		f := fit(t, panelSpec(ml), p.table(t))
		order := rng.Perm(len(p.score))
		q := &panel{}
		for _, i := range order {
			q.score, q.age = append(q.score, p.score[i]), append(q.age, p.age[i])
			q.taster, q.evening, q.style = append(q.taster, "z"+fmt.Sprint(9-p.taster[i][1])), append(q.evening, p.evening[i]+"'"), append(q.style, p.style[i])
		}
		g := fit(t, panelSpec(ml), q.table(t))
		require.InDelta(t, f.Deviance(), g.Deviance(), 1e-7)
		near(t, f.Beta(), g.Beta(), 1e-4, "coefficients")
		fitted := make([]float64, len(order))
		for k, i := range order {
			fitted[i] = g.Fitted()[k]
		}
		near(t, f.Fitted(), fitted, 1e-3, "fitted")
	})
}

func TestContrastsChangeNothingBut(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		data := p.table(t)
		f := fit(t, panelSpec(ml), data)
		for _, style := range []mixed.Factor{
			{Name: "style", Base: "stirred"}, {Name: "style", Contrast: mixed.Sum}, {Name: "style", Contrast: mixed.Helmert}, {Name: "style", Contrast: mixed.Indicator},
		} {
			s := panelSpec(ml)
			s.Fixed = terms(style, num("age"), by(style, num("age")))
			if style.Contrast == mixed.Indicator {
				s.Fixed, s.NoIntercept = terms(style, by(style, num("age"))), true
			}
			g := fit(t, s, data)
			require.Len(t, g.Beta(), 6)
			if ml {
				require.InDelta(t, f.Deviance(), g.Deviance(), 1e-7, "%v", style)
			}
			near(t, f.Fitted(), g.Fitted(), 1e-3, "fitted")
			near(t, f.FittedMarginal(), g.FittedMarginal(), 1e-3, "marginal")
			at := table(t, mixed.Labels("style", []string{"sour", "stirred"}), mixed.Numbers("age", []float64{3, 25}))
			a, err := f.Predict(at, mixed.Average)
			require.NoError(t, err)
			b, err := g.Predict(at, mixed.Average)
			require.NoError(t, err)
			for i := range a {
				near(t, []float64{a[i].Value, a[i].SE}, []float64{b[i].Value, b[i].SE}, 1e-3, "prediction")
			}
		}
	})
}

// Orthogonal and raw polynomials span the same curves, as does a spline without knots a line.
func TestSameCurveOfAnotherBasis(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, _ bool) {
		data := p.table(t)
		for _, pair := range [][2]mixed.Term{
			{mixed.Polynomial{Name: "age", Degree: 3}, mixed.Polynomial{Name: "age", Degree: 3, Raw: true}},
			{mixed.Spline{Name: "age"}, num("age")},
			{mixed.Spline{Name: "age", Knots: []float64{4}}, mixed.Spline{Name: "age", Knots: []float64{4}, Boundary: [2]float64{0, 10}}},
		} {
			a := fit(t, mixed.Spec{Response: "score", Fixed: terms(pair[0]), Random: []mixed.Random{over("taster")}, ML: true}, data)
			b := fit(t, mixed.Spec{Response: "score", Fixed: terms(pair[1]), Random: []mixed.Random{over("taster")}, ML: true}, data)
			if ages := slices.Compact(slices.Sorted(slices.Values(p.age))); ages[0] != 0 || ages[len(ages)-1] != 10 {
				continue
			}
			require.InDelta(t, a.Deviance(), b.Deviance(), 1e-7)
			near(t, a.Fitted(), b.Fitted(), 1e-4, "fitted")
		}
	})
}

// Rows given twice: the least-squares fit keeps its coefficients and fitted values, and no variance turns negative or NaN.
func TestDuplicatedRows(t *testing.T) {
	each(t, func(t *testing.T, _ *rand.Rand, p *panel, ml bool) {
		q := p.clone()
		q.score, q.age = append(q.score, p.score...), append(q.age, p.age...)
		q.taster, q.evening, q.style = append(q.taster, p.taster...), append(q.evening, p.evening...), append(q.style, p.style...)
		plain := mixed.Spec{Response: "score", ML: ml, Fixed: panelSpec(ml).Fixed}
		near(t, fit(t, plain, p.table(t)).Beta(), fit(t, plain, q.table(t)).Beta(), 1e-8, "least squares")
		f := fit(t, panelSpec(ml), q.table(t))
		require.True(t, f.Converged(), f.Why())
		n := len(p.score)
		near(t, f.Fitted()[:n], f.Fitted()[n:], 1e-12, "the same rows fit the same")
		for _, c := range f.Components() {
			require.False(t, math.IsNaN(c.Covariance))
		}
		// The same rows under tasters of another name: twice the tasters, the same coefficients by ML.
		for i := range p.taster {
			q.taster[n+i] = "second " + q.taster[n+i]
		}
		twice := mixed.Spec{Response: "score", ML: true, Fixed: panelSpec(ml).Fixed, Random: []mixed.Random{over("taster", num("age"))}}
		a, b := fit(t, twice, p.table(t)), fit(t, twice, q.table(t))
		require.InDelta(t, 2*a.Deviance(), b.Deviance(), 1e-6)
		near(t, a.Beta(), b.Beta(), 1e-4, "coefficients")
	})
}

// Without random terms the fit is ordinary least squares.
func TestLeastSquares(t *testing.T) {
	x, y := []float64{0, 1, 2, 3}, []float64{1, 3, 2, 5}
	f := fit(t, mixed.Spec{Response: "y", Fixed: terms(num("x"))}, table(t, mixed.Numbers("x", x), mixed.Numbers("y", y)))
	// by hand: slope Sxy/Sxx = 5.5/5, intercept 2.75 - 1.1*1.5, residuals -0.1, 0.8, -1.3, 0.6: 2.7 on 2 df
	near(t, []float64{1.1, 1.1}, f.Beta(), 1e-12, "coefficients")
	require.InDelta(t, math.Sqrt(2.7/2), f.Sigma(), 1e-12)
	require.InDelta(t, 2.7/2/5, f.Covariance().At(1, 1), 1e-12)
	require.Empty(t, f.Theta())
	require.Empty(t, f.Components())
}
