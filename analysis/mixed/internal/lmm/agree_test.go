package lmm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// TestEvaluationsAgree holds everything the kernel gives at a random theta against the dense oracle.
func TestEvaluationsAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, kind := range kinds {
		for trial := range 12 {
			x, y, terms := invented(rng, kind)
			p := New(x, y, terms)
			o, s := newOracle(x, y, terms), p.Space()
			theta := randomTheta(rng, p)
			for _, reml := range []bool{true, false} {
				name := fmt.Sprintf("%s %d %v", kind, trial, reml)
				want := o.at(theta, reml)
				require.InEpsilon(t, want.deviance, s.Deviance(theta, reml), 1e-9, name)
				require.InEpsilon(t, want.r2, s.r2, 1e-8, name)
				near(t, name+" beta", want.beta.RawVector().Data, s.Beta())
				near(t, name+" unscaled", want.unscaled.RawMatrix().Data, s.Unscaled())
				near(t, name+" zhr", want.zhr.RawVector().Data, s.ZtHr())
				near(t, name+" zhx", want.zhx.RawMatrix().Data, s.ZtHX())
				zhz := mat.DenseCopyOf(s.ZtHZ())
				near(t, name+" zhz", want.zhz.RawMatrix().Data, zhz.RawMatrix().Data)
				for i, tm := range terms {
					q := len(tm.Columns)
					near(t, name+" modes", want.modes.RawVector().Data[p.Offset(i):p.Offset(i)+tm.Levels*q], s.Modes(i))
					var cov []float64
					for l := range tm.Levels {
						for a := range q {
							for c := range q {
								cov = append(cov, want.modeCov.At(p.Offset(i)+l*q+a, p.Offset(i)+l*q+c))
							}
						}
					}
					near(t, name+" mode covariance", cov, s.ModeCovariance(i))
				}
			}
		}
	}
}

// near compares vectors to 1e-8 of their largest entry.
func near(t *testing.T, what string, want, got []float64) {
	t.Helper()
	require.Len(t, got, len(want), what)
	top := 1e-3
	for _, v := range want {
		top = math.Max(top, math.Abs(v))
	}
	for i := range want {
		require.InDelta(t, want[i], got[i], 1e-8*top, "%s [%d]", what, i)
	}
}

// TestGradient holds the gradient against central differences of the oracle, zeros on the diagonal included.
func TestGradient(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, kind := range kinds {
		for trial := range 6 {
			x, y, terms := invented(rng, kind)
			p := New(x, y, terms)
			o, s := newOracle(x, y, terms), p.Space()
			theta, g := randomTheta(rng, p), make([]float64, p.Thetas())
			for _, reml := range []bool{true, false} {
				require.InEpsilon(t, o.at(theta, reml).deviance, s.Gradient(theta, reml, g), 1e-9)
				for k := range theta {
					const h = 1e-4 // the fourth-order formula
					f := func(by float64) float64 {
						moved := append([]float64(nil), theta...)
						moved[k] += by
						return o.at(moved, reml).deviance
					}
					want := (8*(f(h)-f(-h)) - (f(2*h) - f(-2*h))) / (12 * h)
					require.InDelta(t, want, g[k], 2e-6*(1+math.Abs(want)), "%s %d theta[%d] of %v", kind, trial, k, theta)
				}
			}
		}
	}
}

// TestInformation holds the average information against its definition by dense matrices.
func TestInformation(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, kind := range kinds {
		x, y, terms := invented(rng, kind)
		p := New(x, y, terms)
		o, s := newOracle(x, y, terms), p.Space()
		theta := randomTheta(rng, p)
		f := s.Deviance(theta, true)
		require.False(t, math.IsInf(f, 0))
		s.inform(true)
		d := o.at(theta, true)
		var xu, xuxh, hp, pd mat.Dense // P = H^-1 - H^-1 X U X' H^-1
		xu.Mul(o.x, d.unscaled)
		xuxh.Mul(&xu, o.x.T())
		hp.Mul(d.inv, &xuxh)
		pd.Mul(&hp, d.inv)
		pd.Sub(d.inv, &pd)
		var py mat.VecDense
		py.MulVec(&pd, o.y)
		w := make([]*mat.VecDense, len(theta)) // dH/dtheta P y
		l := o.lambda(theta)
		for k := range theta {
			unit := make([]float64, len(theta))
			unit[k] = 1
			dl := o.lambda(unit)
			var dt, half, zt, dh mat.Dense
			half.Mul(dl, l.T())
			dt.Add(&half, half.T())
			zt.Mul(o.z, &dt)
			dh.Mul(&zt, o.z.T())
			w[k] = &mat.VecDense{}
			w[k].MulVec(&dh, &py)
		}
		scales := make([]float64, len(theta))
		s.eachTheta(func(k int, scale float64) { scales[k] = scale })
		nu := float64(p.n - p.p)
		for a := range theta {
			for b := range theta {
				var pw mat.VecDense
				pw.MulVec(&pd, w[b])
				want := (mat.Dot(w[a], &pw) - mat.Dot(w[a], &py)*mat.Dot(w[b], &py)/d.r2) * nu / d.r2
				got := s.info.at.at(a, b) * scales[a] * scales[b]
				require.InDelta(t, want, got, 1e-7*(1+math.Abs(want)), "%s %d %d", kind, a, b)
			}
		}
	}
}

// TestArrangement says which factor becomes the root.
func TestArrangement(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	x, y, terms := invented(rng, "panel")
	p := New(x, y, terms)
	require.Equal(t, []bool{true, false, true}, []bool{p.terms[0].nested, p.terms[1].nested, p.terms[2].nested})
	require.Equal(t, 4, p.rest)
	x, y, terms = invented(rng, "nested slopes")
	p = New(x, y, terms)
	require.Zero(t, p.rest)
}
