package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// long is a model with its n*n matrices written out, the second route to every formula of this package.
type long struct {
	x    *mat.Dense
	y    *mat.VecDense
	reml bool
	term []longTerm
}

type longTerm struct {
	block
	z *mat.Dense
}

// invented makes a panel of two crossed factors, slopes over the first, holes in the design.
func invented(rng *rand.Rand, reml, independent bool) *long {
	const people, days, times = 5, 4, 3
	var rows [][3]int
	for p := range people {
		for d := range days {
			for k := range times {
				if rng.Float64() < 0.8 {
					rows = append(rows, [3]int{p, d, k})
				}
			}
		}
	}
	n := len(rows)
	w := &long{x: mat.NewDense(n, 3, nil), y: mat.NewVecDense(n, nil), reml: reml}
	one := longTerm{block{group: "person", columns: []string{"intercept", "time"}, levels: people, independent: independent}, mat.NewDense(n, 2*people, nil)}
	two := longTerm{block{group: "day", columns: []string{"intercept"}, levels: days, at: 2 * people}, mat.NewDense(n, days, nil)}
	squares := 0.0
	for i, r := range rows {
		time := float64(r[2]) + rng.Float64()
		squares += time * time / float64(n)
		w.x.SetRow(i, []float64{1, time, float64(r[0] % 2)})
		w.y.SetVec(i, rng.NormFloat64()+float64(r[0])/2+float64(r[1]*r[1])/6+0.3*time*float64(r[0]%3))
		one.z.Set(i, 2*r[0], 1)
		one.z.Set(i, 2*r[0]+1, time)
		two.z.Set(i, r[1], 1)
	}
	one.scale, two.scale = []float64{1, squares}, []float64{1}
	one.lambda, two.lambda = []float64{0.6, 0, 0.2, 0.3}, []float64{0.5}
	if independent {
		one.lambda[2] = 0
	}
	w.term = []longTerm{one, two}
	return w
}

// v is V over exp(r) = s^2 at the lambdas given.
func (w *long) v(r float64, lambda [][]float64) *mat.SymDense {
	n, _ := w.x.Dims()
	var sum mat.Dense
	sum.CloneFrom(identity(n))
	for t, term := range w.term {
		sum.Add(&sum, w.moved(t, crossproduct(lambda[t], term.q())))
	}
	return symmetric(&sum, math.Exp(r))
}

// moved is Z (I kron d) Z'.
func (w *long) moved(t int, d []float64) *mat.Dense {
	term := &w.term[t]
	var out mat.Dense
	out.Mul(term.z, turned(term.z.T(), term.q(), d))
	return &out
}

func identity(n int) *mat.Dense {
	out := mat.NewDense(n, n, nil)
	for i := range n {
		out.Set(i, i, 1)
	}
	return out
}

func symmetric(m mat.Matrix, by float64) *mat.SymDense {
	n, _ := m.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			out.SetSym(i, j, by*(m.At(i, j)+m.At(j, i))/2)
		}
	}
	return out
}

// criterion is the (RE)ML criterion less its constants, the covariance of the fixed effects, and the residual sum of squares.
func (w *long) criterion(v *mat.SymDense) (value float64, c *mat.Dense, beta mat.VecDense, rss float64) {
	var vi, xvx, vx mat.Dense
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		panic("V")
	}
	must(vi.Inverse(v))
	vx.Mul(&vi, w.x)
	xvx.Mul(w.x.T(), &vx)
	c = new(mat.Dense)
	must(c.Inverse(&xvx))
	var xy, left mat.VecDense
	xy.MulVec(vx.T(), w.y)
	beta.MulVec(c, &xy)
	left.MulVec(w.x, &beta)
	left.SubVec(w.y, &left)
	rss = mat.Inner(&left, &vi, &left)
	value = chol.LogDet() + rss
	if w.reml {
		ld, _ := mat.LogDet(&xvx)
		value += ld
	}
	return value, c, beta, rss
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}

func (w *long) lambdas() [][]float64 {
	out := make([][]float64, len(w.term))
	for t := range w.term {
		out[t] = w.term[t].lambda
	}
	return out
}

// optimum is what the kernel would hand over, from n*n matrices, at the lambdas of the terms.
func (w *long) optimum() *optimum {
	n, p := w.x.Dims()
	h := w.v(0, w.lambdas())
	_, u, beta, rss := w.criterion(h)
	o := &optimum{n: n, p: p, reml: w.reml, beta: beta.RawVector().Data, unscaled: u.RawMatrix().Data}
	o.sigma = math.Sqrt(rss / o.weight())
	k := 0
	for _, term := range w.term {
		o.blocks = append(o.blocks, term.block)
		k += term.size()
	}
	z := mat.NewDense(n, k, nil)
	for _, term := range w.term {
		z.Slice(0, n, term.at, term.at+term.size()).(*mat.Dense).Copy(term.z)
	}
	var hi, hx, hz, zz, zx mat.Dense
	must(hi.Inverse(h))
	hx.Mul(&hi, w.x)
	hz.Mul(&hi, z)
	zz.Mul(z.T(), &hz)
	zx.Mul(z.T(), &hx)
	var left, zr mat.VecDense
	left.MulVec(w.x, &beta)
	left.SubVec(w.y, &left)
	zr.MulVec(hz.T(), &left)
	o.zx, o.zz, o.zr = &zx, symmetric(&zz, 1), zr.RawVector().Data
	return o
}

// nudged gives criterion and covariance with r and some elements of Lambda moved from the optimum.
func (w *long) nudged(o *optimum, dirs []direction, by []float64) (float64, *mat.Dense) {
	lambda := make([][]float64, len(w.term))
	for t := range w.term {
		lambda[t] = append([]float64{}, w.term[t].lambda...)
	}
	for i, d := range dirs {
		lambda[d.term][d.row*o.blocks[d.term].q()+d.col] += by[i+1]
	}
	value, c, _, _ := w.criterion(w.v(2*math.Log(o.sigma)+by[0], lambda))
	return value, c
}

// The observed information and the slopes of the covariance are the derivatives of what is written out in full.
func TestInformationIsTheSecondDerivative(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, reml := range []bool{true, false} {
		for _, independent := range []bool{true, false} {
			w := invented(rng, reml, independent)
			o := w.optimum()
			dirs, _ := o.face()
			require.Len(t, dirs, len(o.entries()))
			info, d := o.information(dirs), o.degrees(Satterthwaite, dirs)
			m := len(dirs) + 1
			const step = 1e-3
			at := func(i, j int, a, b float64) float64 {
				by := make([]float64, m)
				by[i] += a
				by[j] += b
				value, _ := w.nudged(o, dirs, by)
				return value
			}
			for i := range m {
				for j := range m {
					want := (at(i, j, step, step) - at(i, j, step, -step) - at(i, j, -step, step) + at(i, j, -step, -step)) / (4 * step * step)
					require.InDelta(t, want, info[i*m+j], 2e-4*(1+math.Abs(want)), "reml %v, independent %v, %d %d", reml, independent, i, j)
				}
				by := make([]float64, m)
				by[i] = 1e-5
				_, up := w.nudged(o, dirs, by)
				by[i] = -1e-5
				_, down := w.nudged(o, dirs, by)
				for k, got := range d.slopes[i] {
					want := (up.RawMatrix().Data[k] - down.RawMatrix().Data[k]) / 2e-5
					require.InDelta(t, want, got, 1e-7, "slope %d", i)
				}
			}
		}
	}
}

// fullKenwardRoger is Kenward and Roger's text with n*n matrices, s^2 and the entries as parameters.
func (w *long) fullKenwardRoger(o *optimum) (adjusted *mat.Dense, w2 *mat.Dense, pi []*mat.Dense) {
	n, _ := w.x.Dims()
	s2 := o.sigma * o.sigma
	ways := []*mat.Dense{identity(n)}
	for _, dir := range o.entries() {
		ways = append(ways, w.moved(dir.term, dir.d))
	}
	v := w.v(math.Log(s2), w.lambdas())
	_, c, _, _ := w.criterion(v)
	var vi mat.Dense
	must(vi.Inverse(v))
	m := len(ways)
	vw := make([]mat.Dense, m)
	for i := range ways {
		vw[i].Mul(&vi, ways[i])
		p := multiplied(w.x.T(), &vw[i], &vi, w.x)
		p.Scale(-1, p)
		pi = append(pi, p)
	}
	info, q := mat.NewDense(m, m, nil), map[[2]int]*mat.Dense{}
	for i := range m {
		for j := range m {
			q[[2]int{i, j}] = multiplied(w.x.T(), &vw[i], &vw[j], &vi, w.x)
			info.Set(i, j, mat.Trace(multiplied(&vw[i], &vw[j]))-2*mat.Trace(multiplied(c, q[[2]int{i, j}]))+mat.Trace(multiplied(c, pi[i], c, pi[j])))
		}
	}
	w2 = new(mat.Dense)
	must(w2.Inverse(info))
	w2.Scale(2, w2)
	adjusted = mat.DenseCopyOf(c)
	for i := range m {
		for j := range m {
			inside := mat.DenseCopyOf(q[[2]int{i, j}])
			inside.Sub(inside, multiplied(pi[i], c, pi[j]))
			inside.Scale(2*w2.At(i, j), inside)
			adjusted.Add(adjusted, multiplied(c, inside, c))
		}
	}
	return adjusted, w2, pi
}

func multiplied(ms ...mat.Matrix) *mat.Dense {
	out := mat.DenseCopyOf(ms[0])
	for _, m := range ms[1:] {
		var next mat.Dense
		next.Mul(out, m)
		out = &next
	}
	return out
}

// The sums over levels give the same adjusted covariance and degrees of freedom as n*n matrices do.
func TestKenwardRogerWrittenOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, independent := range []bool{true, false} {
		w := invented(rng, true, independent)
		o := w.optimum()
		adjusted, w2, pi := w.fullKenwardRoger(o)
		d := o.kenwardRoger(false)
		require.Empty(t, d.Notes())
		require.True(t, mat.EqualApprox(adjusted, d.Covariance(), 1e-10), fmt.Sprint(mat.Formatted(adjusted), mat.Formatted(d.Covariance())))
		c := mat.NewDense(o.p, o.p, d.plain)
		for _, l := range [][]float64{{1, 0, 0}, {0, 1, 0}, {1, 2, -1}} {
			row := mat.NewDense(1, 3, l)
			v := multiplied(row, c, row.T()).At(0, 0)
			sum := 0.0
			for i := range pi {
				for j := range pi {
					sum += w2.At(i, j) * multiplied(row, c, pi[i], c, row.T()).At(0, 0) * multiplied(row, c, pi[j], c, row.T()).At(0, 0)
				}
			}
			got, err := d.Infer(l, 0.95)
			require.NoError(t, err)
			require.InEpsilon(t, 2*v*v/sum, got.DF, 1e-8)
		}
	}
}
