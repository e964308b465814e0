package mixed

import (
	"math"
	"slices"

	"lastsip/analysis/mixed/internal/lmm"
)

// walk minimises the deviance over all parameters but the one that is profiled, each time from where it last stood. With
// d(theta) the deviance that has s^2 profiled out to v = R/n, the deviance at any s^2 is
//
//	d(theta) + n (log(s^2/v) + v/s^2 - 1),
//
// and its derivative by theta is d' + R' (1/s^2 - 1/v), R' = -2 E Lambda with E = sum_a e_a e_a' over the levels of the term.
// The deviance is even in the columns of Lambda, so that the search needs no bounds: a variance at 0 is an ordinary minimum.
type walk struct {
	space *lmm.Space
	terms []walkTerm
	n     float64
	size  []float64 // root mean square of the column of each theta: the search steps in theta*size
	onto  []bool    // which thetas are diagonal
	theta []float64
	sigma float64
	slope []float64 // by theta
	free  []float64 // where the search stands
	turn  quasi

	home, last           []float64 // theta at the top, and where the first of two searches ended
	homeSigma, lastSigma float64
}

type walkTerm struct {
	q, at, size, first int
	independent        bool
}

func newWalk(problem *lmm.Problem, terms []lmm.Term, rows int, theta, size []float64, sigma float64) *walk {
	w := &walk{space: problem.Space(), n: float64(rows), onto: problem.Diagonal(), size: size, theta: theta, sigma: sigma, slope: make([]float64, len(theta)), home: slices.Clone(theta), homeSigma: sigma}
	first := 0
	for k, t := range terms {
		q := len(t.Columns)
		w.terms = append(w.terms, walkTerm{q, problem.Offset(k), t.Levels * q, first, t.Independent})
		for c := range q {
			if first++; !t.Independent {
				first += q - 1 - c
			}
		}
	}
	return w
}

// joint is the deviance at theta and sigma, with derivatives by theta in slope and by log sigma.
func (w *walk) joint() (value, byLog float64) {
	value = w.space.Gradient(w.theta, false, w.slope)
	if math.IsInf(value, 0) {
		return math.Inf(1), 0
	}
	v, s2 := w.space.Sigma(false), w.sigma*w.sigma
	v *= v
	e, pull := w.space.ZtHr(), 1/s2-1/v
	for i := range w.terms {
		t := &w.terms[i]
		square := make([]float64, t.q*t.q)
		own := e[t.at : t.at+t.size]
		products(own, own, t.q, square)
		t.each(func(r, c, at int) {
			t.each(func(k, l, other int) {
				if l == c {
					w.slope[at] -= 2 * pull * square[r*t.q+k] * w.theta[other]
				}
			})
		})
	}
	return value + w.n*(math.Log(s2/v)+v/s2-1), 2 * w.n * (1 - v/s2)
}

// each visits the elements of Lambda that are thetas.
func (t *walkTerm) each(visit func(row, col, at int)) {
	at := t.first
	for c := range t.q {
		for r := c; r < t.q && (r == c || !t.independent); r++ {
			visit(r, c, at)
			at++
		}
	}
}

// loose puts the thetas that may move, less some, into free after head, and lifts those on the diagonal off 0, where their
// derivative is 0 whether they want to stay or not.
func (w *walk) loose(head []float64, less ...int) {
	w.free = append(w.free[:0], head...)
	for i, v := range w.theta {
		if slices.Contains(less, i) {
			continue
		}
		v *= w.size[i]
		if w.onto[i] && math.Abs(v) < lifted {
			v = lifted
		}
		w.free = append(w.free, v)
	}
}

// lifted is a standard deviation over sigma that a search can leave 0 from.
const lifted = 0.05

// put brings x after head back into theta; take brings slopes the other way.
func (w *walk) put(x []float64, less ...int) {
	for i := range w.theta {
		if !slices.Contains(less, i) {
			w.theta[i], x = x[0]/w.size[i], x[1:]
		}
	}
}

func (w *walk) take(g []float64, less ...int) {
	for i, v := range w.slope {
		if !slices.Contains(less, i) {
			g[0], g = v/w.size[i], g[1:]
		}
	}
}

// lower searches twice, from where the walk stands and from the top, and keeps the lower end: a profile can have two minima,
// such as one with a variance at 0.
func (w *walk) lower(search func() (float64, bool)) (float64, bool) {
	first, firstOK := search()
	w.last, w.lastSigma = append(w.last[:0], w.theta...), w.sigma
	copy(w.theta, w.home)
	w.sigma = w.homeSigma
	second, secondOK := search()
	if second < first {
		return second, secondOK
	}
	copy(w.theta, w.last)
	w.sigma = w.lastSigma
	return first, firstOK
}

// atResidual is the profile at sigma.
func (w *walk) atResidual(sigma float64) (float64, bool) {
	if sigma == 0 {
		return math.Inf(1), true
	}
	return w.lower(func() (float64, bool) {
		w.sigma = sigma
		w.loose(nil)
		return w.turn.minimise(func(x, g []float64) float64 {
			w.put(x)
			value, _ := w.joint()
			w.take(g)
			return value
		}, w.free)
	})
}

// atDeviation is the profile at a standard deviation of the column that stands first in its term, whose theta is at.
func (w *walk) atDeviation(at int, sd float64) (float64, bool) {
	return w.lower(func() (float64, bool) {
		w.loose([]float64{math.Log(w.sigma)}, at)
		return w.turn.minimise(func(x, g []float64) float64 {
			w.sigma = math.Exp(x[0])
			w.theta[at] = sd / w.sigma
			w.put(x[1:], at)
			value, byLog := w.joint()
			g[0] = byLog - w.slope[at]*w.theta[at]
			w.take(g[1:], at)
			return value
		}, w.free)
	})
}

// atCorrelation is the profile at the correlation of the first two columns of a term of q whose thetas begin at first.
// Lambda starts [a, .; r rho, r sqrt(1-rho^2)]; the search is over log a and log r.
func (w *walk) atCorrelation(first, q int, rho float64) (float64, bool) {
	a, c, d := first, first+1, first+q
	root := math.Sqrt(max(0, 1-rho*rho))
	size := func(v, unit float64) float64 { return math.Log(max(lifted, math.Abs(v)*unit)) }
	return w.lower(func() (float64, bool) {
		w.loose([]float64{size(w.theta[a], w.size[a]), size(math.Hypot(w.theta[c], w.theta[d]), w.size[d])}, a, c, d)
		return w.turn.minimise(func(x, g []float64) float64 {
			r := math.Exp(x[1]) / w.size[d]
			w.theta[a], w.theta[c], w.theta[d] = math.Exp(x[0])/w.size[a], r*rho, r*root
			w.put(x[2:], a, c, d)
			value := w.space.Gradient(w.theta, false, w.slope)
			if math.IsInf(value, 0) {
				return math.Inf(1)
			}
			g[0] = w.slope[a] * w.theta[a]
			g[1] = w.slope[c]*w.theta[c] + w.slope[d]*w.theta[d]
			w.take(g[2:], a, c, d)
			return value
		}, w.free)
	})
}
