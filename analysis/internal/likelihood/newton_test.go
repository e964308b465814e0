package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// gammaLikelihood is that of x_i ~ gamma(shape exp(b), rate exp(a)) less constants: n = 5, mean and mean log given. Its
// Hessian is not definite far from the maximum.
func gammaLikelihood(theta, grad, hess []float64) float64 {
	const n, mean, meanLog, h = 5.0, 3.0, 0.8, 1e-5
	a, k := theta[0], math.Exp(theta[1])
	lg, _ := math.Lgamma(k)
	up, _ := math.Lgamma(k + h)
	down, _ := math.Lgamma(k - h)
	digamma, trigamma := (up-down)/(2*h), 1/k+1/(2*k*k)+1/(6*k*k*k)
	grad[0] = n * (k - math.Exp(a)*mean)
	grad[1] = n * k * (a + meanLog - digamma)
	hess[0], hess[2], hess[3] = -n*math.Exp(a)*mean, n*k, grad[1]-n*k*k*trigamma
	return n * (k*a - lg + (k-1)*meanLog - math.Exp(a)*mean)
}

func TestNewtonFindsAMaximum(t *testing.T) {
	for _, start := range [][]float64{{0, 0}, {-5, 3}, {4, -1}, {2, 4}} {
		var n Newton
		n.Tol = 1e-12
		theta := append([]float64(nil), start...)
		r := n.Maximize(gammaLikelihood, theta)
		require.True(t, r.Converged, "from %v: %+v", start, r)
		require.InDelta(t, math.Exp(theta[1])/math.Exp(theta[0]), 3, 1e-5, "the fitted mean is the mean of the data")
		require.InDelta(t, 0, n.Grad[0], 1e-4)
		require.InDelta(t, 0, n.Grad[1], 1e-4)
		require.LessOrEqual(t, r.Decrement, 1e-12)
	}
}

// One Newton step solves a concave quadratic; Finish takes it without another evaluation.
func TestNewtonOnAQuadratic(t *testing.T) {
	calls := 0
	f := func(x, grad, hess []float64) float64 {
		calls++
		u, v := x[0]-1, x[1]+2e6
		copy(grad, []float64{-2*u - v/1e6, -u/1e6 - 2*v/1e12})
		hess[0], hess[2], hess[3] = -2, -1e-6, -2e-12
		return -u*u - u*v/1e6 - v*v/1e12
	}
	x := []float64{5, 7}
	n := Newton{Tol: 1e9, Finish: true}
	require.True(t, n.Maximize(f, x).Converged)
	require.Equal(t, 1, calls)
	require.InDelta(t, 1, x[0], 1e-9)
	require.InDelta(t, -2e6, x[1], 1e-3)

	x = []float64{5, 7}
	n = Newton{MaxMove: []float64{0.5, math.Inf(1)}, MaxIter: 3}
	r := n.Maximize(f, x)
	require.False(t, r.Converged)
	require.Equal(t, 3, r.Iterations)
	require.InDelta(t, 4, x[0], 1e-9, "two steps of a half")
	n.Stop = func(x []float64) bool { return x[0] < 3 }
	n.MaxIter = 0
	r = n.Maximize(f, x)
	require.True(t, r.Stopped)
	require.False(t, r.Converged)
}

// Outside its domain there is nothing to climb, and a ridge that never ends is not called a maximum.
func TestNewtonSaysWhenItDoesNotEnd(t *testing.T) {
	var n Newton
	r := n.Maximize(func(_, _, _ []float64) float64 { return math.Inf(-1) }, []float64{1})
	require.False(t, r.Converged)
	require.Zero(t, r.Iterations)
	n = Newton{MaxIter: 30}
	r = n.Maximize(func(x, g, h []float64) float64 { g[0], h[0] = 1, 0; return x[0] }, []float64{0})
	require.False(t, r.Converged)
	edge := func(x, g, h []float64) float64 { // log x + x, on x < 1 only: rises to the edge
		if x[0] >= 1 {
			return math.Inf(-1)
		}
		g[0], h[0] = 1/x[0]+1, -1/(x[0]*x[0])
		return math.Log(x[0]) + x[0]
	}
	x := []float64{0.3}
	r = n.Maximize(edge, x)
	require.False(t, r.Converged)
	require.InDelta(t, 1, x[0], 1e-3)
}

func TestNewtonDoesNotAllocate(t *testing.T) {
	n := Newton{Tol: 1e-10}
	x := []float64{0, 0}
	n.Maximize(gammaLikelihood, x)
	require.Zero(t, testing.AllocsPerRun(10, func() {
		x[0], x[1] = 0, 0
		n.Maximize(gammaLikelihood, x)
	}))
}

func TestCholesky(t *testing.T) {
	a := []float64{4, 0, 0, 2, 5, 0, -2, 3, 14} // lower triangle by rows
	l := append([]float64(nil), a...)
	require.InDelta(t, 9./14, Cholesky(l, 3), 1e-12, "the last pivot, 9, of 14")
	want := []float64{2, 1, 2, -1, 2, 3} // worked by hand
	require.Equal(t, want, []float64{l[0], l[3], l[4], l[6], l[7], l[8]})
	b := []float64{4*1 + 2*2 - 2*3, 2*1 + 5*2 + 3*3, -2*1 + 3*2 + 14*3}
	CholeskySolve(l, 3, b)
	require.InDeltaSlice(t, []float64{1, 2, 3}, b, 1e-12)
	require.LessOrEqual(t, Cholesky([]float64{1, 0, 2, 1}, 2), 0.0)
	require.LessOrEqual(t, Cholesky([]float64{1, 0, 1, 1}, 2), 0.0)
}

// An end of a normal mean's limits costs few evaluations.
func TestEndsAreCheap(t *testing.T) {
	for _, step := range []float64{0.01, 0.3, 5} {
		calls := 0
		f := func(mu float64) float64 { calls++; return -20 * math.Log1p(mu*mu) }
		lo, hi := Ends(f, 0, 0, 3.84, step, -100, 100)
		want := math.Sqrt(math.Expm1(3.84 / 40))
		require.InDelta(t, -want, lo, 1e-7)
		require.InDelta(t, want, hi, 1e-7)
		require.LessOrEqual(t, calls, 22, "step %v", step)
	}
	lo, hi := Ends(func(mu float64) float64 { return 0 }, 0, 0, 0, 1, -10, 10) // flat, cut 0
	require.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1))
}
