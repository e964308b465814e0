package lmm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// oracle evaluates a model by the dense n*n covariance H, without any of the kernel's algebra.
type oracle struct {
	x     *mat.Dense // n*p
	z     *mat.Dense // n*r, caller's order
	y     *mat.VecDense
	terms []Term
}

func newOracle(x [][]float64, y []float64, terms []Term) *oracle {
	n, r := len(y), 0
	for _, t := range terms {
		r += t.Levels * len(t.Columns)
	}
	o := &oracle{mat.NewDense(n, len(x), nil), mat.NewDense(n, r, nil), mat.NewVecDense(n, y), terms}
	for k, c := range x {
		o.x.SetCol(k, c)
	}
	at := 0
	for _, t := range terms {
		for c, col := range t.Columns {
			for i, l := range t.Level {
				v := 1.0
				if col != nil {
					v = col[i]
				}
				o.z.Set(i, at+l*len(t.Columns)+c, v)
			}
		}
		at += t.Levels * len(t.Columns)
	}
	return o
}

// lambda is the r*r matrix Lambda.
func (o *oracle) lambda(theta []float64) *mat.Dense {
	_, r := o.z.Dims()
	l := mat.NewDense(r, r, nil)
	at, k := 0, 0
	for _, t := range o.terms {
		q := len(t.Columns)
		for c := range q {
			for row := c; row < q; row++ {
				if t.Independent && row != c {
					continue
				}
				for j := range t.Levels {
					l.Set(at+j*q+row, at+j*q+c, theta[k])
				}
				k++
			}
		}
		at += t.Levels * q
	}
	return l
}

// fit is everything at theta.
type dense struct {
	deviance, r2       float64
	beta               *mat.VecDense
	inv, unscaled, zhx *mat.Dense // H^-1, (X'H^-1X)^-1, Z'H^-1X
	zhz, modeCov       *mat.Dense // Z'H^-1Z, Lambda M^-1 Lambda'
	zhr, modes         *mat.VecDense
}

func (o *oracle) at(theta []float64, reml bool) dense {
	n, p := o.x.Dims()
	l := o.lambda(theta)
	var zl, h mat.Dense
	zl.Mul(o.z, l)
	h.Mul(&zl, zl.T())
	for i := range n {
		h.Set(i, i, h.At(i, i)+1)
	}
	var d dense
	d.inv, d.unscaled = &mat.Dense{}, &mat.Dense{}
	if err := d.inv.Inverse(&h); err != nil {
		panic(err)
	}
	var hx, xhx, zh mat.Dense
	hx.Mul(d.inv, o.x)
	xhx.Mul(o.x.T(), &hx)
	if err := d.unscaled.Inverse(&xhx); err != nil {
		panic(err)
	}
	var xhy, resid, hr mat.VecDense
	xhy.MulVec(hx.T(), o.y)
	d.beta = &mat.VecDense{}
	d.beta.MulVec(d.unscaled, &xhy)
	resid.MulVec(o.x, d.beta)
	resid.SubVec(o.y, &resid)
	hr.MulVec(d.inv, &resid)
	d.r2 = mat.Dot(&resid, &hr)
	logH, _ := mat.LogDet(&h)
	nu := float64(n)
	d.deviance = logH
	if reml {
		logX, _ := mat.LogDet(&xhx)
		nu, d.deviance = float64(n-p), logH+logX
	}
	d.deviance += nu * (1 + math.Log(2*math.Pi*d.r2/nu))
	zh.Mul(o.z.T(), d.inv)
	d.zhx, d.zhz, d.zhr, d.modes, d.modeCov = &mat.Dense{}, &mat.Dense{}, &mat.VecDense{}, &mat.VecDense{}, &mat.Dense{}
	d.zhx.Mul(&zh, o.x)
	d.zhz.Mul(&zh, o.z)
	d.zhr.MulVec(&zh, &resid)
	var t, tzhzt mat.Dense
	t.Mul(l, l.T())
	d.modes.MulVec(&t, d.zhr)
	tzhzt.Mul(&t, d.zhz) // Lambda M^-1 Lambda' = T - T Z'H^-1Z T
	d.modeCov.Mul(&tzhzt, &t)
	d.modeCov.Sub(&t, d.modeCov)
	return d
}

// invented is a random design: kind names its structure.
func invented(rng *rand.Rand, kind string) (x [][]float64, y []float64, terms []Term) {
	n := 18 + rng.IntN(30)
	factor := func(levels int) []int {
		l := make([]int, n)
		for i := range l {
			l[i] = rng.IntN(levels)
		}
		return l
	}
	normal := func(f float64) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = f * rng.NormFloat64()
		}
		return v
	}
	x = [][]float64{ones(n), normal(1), normal(20)}[:1+rng.IntN(3)]
	y = normal(1)
	outer := factor(3 + rng.IntN(3))
	inner := make([]int, n) // two or three levels within each of outer
	for i := range inner {
		inner[i] = outer[i]*3 + rng.IntN(3)
	}
	one := [][]float64{nil}
	slope := [][]float64{nil, normal(3)}
	switch kind {
	case "single":
		terms = []Term{{6, outer, one, false}}
	case "slopes":
		terms = []Term{{6, outer, slope, false}}
	case "three columns":
		terms = []Term{{6, outer, [][]float64{normal(1), nil, normal(5)}, false}}
	case "independent":
		terms = []Term{{6, outer, slope, true}}
	case "nested":
		terms = []Term{{18, inner, one, false}, {6, outer, slope, false}}
	case "nested slopes":
		terms = []Term{{6, outer, slope, false}, {18, inner, [][]float64{nil, normal(1)}, false}}
	case "crossed":
		terms = []Term{{6, outer, one, false}, {5, factor(4), one, false}}
	case "crossed slopes":
		terms = []Term{{5, factor(4), slope, false}, {6, outer, slope, false}}
	case "panel":
		terms = []Term{{6, outer, slope, false}, {4, factor(4), one, false}, {18, inner, one, false}}
	case "three crossed":
		terms = []Term{{9, factor(8), one, false}, {7, factor(6), slope, true}, {4, factor(4), one, false}}
	case "sparse": // each level of the root meets few of the others
		other := make([]int, n)
		for i := range other {
			other[i] = (2*outer[i] + rng.IntN(2)) % 9
		}
		terms = []Term{{12, factor(12), one, false}, {9, other, [][]float64{nil, normal(2)}, false}, {18, inner, one, false}}
	case "one level":
		terms = []Term{{1, make([]int, n), one, false}, {6, outer, one, false}}
	case "twice":
		terms = []Term{{6, outer, one, false}, {6, outer, one, false}, {3, factor(3), one, false}}
	default:
		panic(kind)
	}
	for _, t := range terms { // effects, so that variances are seldom 0
		b := make([]float64, t.Levels*len(t.Columns))
		for i := range b {
			b[i] = 0.7 * rng.NormFloat64()
		}
		for c, col := range t.Columns {
			for i, l := range t.Level {
				v := b[l*len(t.Columns)+c]
				if col != nil {
					v *= col[i] / 3
				}
				y[i] += v
			}
		}
	}
	return x, y, terms
}

var kinds = []string{"single", "slopes", "three columns", "independent", "nested", "nested slopes", "crossed", "crossed slopes", "panel",
	"three crossed", "sparse", "one level", "twice"}

// randomTheta has zeros on the diagonal and whole zero columns now and then.
func randomTheta(rng *rand.Rand, p *Problem) []float64 {
	theta := make([]float64, p.Thetas())
	for k, diagonal := range p.Diagonal() {
		theta[k] = rng.NormFloat64()
		if diagonal {
			theta[k] = math.Abs(theta[k])
		}
		if rng.IntN(4) == 0 {
			theta[k] = 0
		}
	}
	return theta
}

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
