package mixed

import (
	"math"
	"slices"

	"lastsip/analysis/mixed/internal/lmm"
)

// tasks lists what is to be profiled.
func (t *top) tasks() []*task {
	var out []*task
	for k, g := range t.f.groups {
		own := covarianceOf(t.best.Theta[g.first:], len(g.names), g.independent)
		for j, name := range g.names {
			out = append(out, t.deviation(k, j, own, "SD of "+name+" over "+g.name))
			for i := range j {
				if !g.independent {
					out = append(out, t.correlation(k, i, j, own, "correlation of "+g.names[i]+" and "+name+" over "+g.name))
				}
			}
		}
	}
	out = append(out, t.residual())
	for j, name := range t.f.Coefficients() {
		out = append(out, t.coefficient(j, name))
	}
	return out
}

// covarianceOf is T of a term from its part of theta.
func covarianceOf(theta []float64, q int, independent bool) []float64 {
	l, at := make([]float64, q*q), 0
	for c := range q {
		for r := c; r < q; r++ {
			if r == c || !independent {
				l[r*q+c] = theta[at]
				at++
			}
		}
	}
	return crossproduct(l, q)
}

// turnedRound makes a task's problem: the columns of term k in another order, so that what is profiled stands first. It
// gives theta of the fit there, and the size of the column that each theta multiplies.
func (t *top) turnedRound(k int, first ...int) (problem *lmm.Problem, theta, size []float64) {
	terms := slices.Clone(t.terms)
	order := slices.Clone(first)
	if k >= 0 {
		for j := range t.size[k] {
			if !slices.Contains(first, j) {
				order = append(order, j)
			}
		}
		columns := make([][]float64, len(order))
		for i, j := range order {
			columns[i] = terms[k].Columns[j]
		}
		terms[k].Columns = columns
	}
	for m, g := range t.f.groups {
		q := len(g.names)
		own, sizes := covarianceOf(t.best.Theta[g.first:], q, g.independent), t.size[m]
		if m == k {
			own, sizes = reordered(own, q, order), picked(sizes, order)
		}
		l := lowerRoot(own, q)
		for c := range q {
			for r := c; r < q && (r == c || !g.independent); r++ {
				theta, size = append(theta, l[r*q+c]), append(size, sizes[r])
			}
		}
	}
	if slices.IsSorted(order) {
		return t.f.problem, theta, size
	}
	return lmm.New(t.f.x, t.f.y, terms), theta, size
}

func reordered(m []float64, q int, order []int) []float64 {
	out := make([]float64, q*q)
	for a, i := range order {
		for b, j := range order {
			out[a*q+b] = m[i*q+j]
		}
	}
	return out
}

func picked(v []float64, order []int) []float64 {
	out := make([]float64, len(order))
	for a, i := range order {
		out[a] = v[i]
	}
	return out
}

// lowerRoot is a lower triangular l with l l' = t, t of any rank.
func lowerRoot(t []float64, q int) []float64 {
	l := make([]float64, q*q)
	for j := range q {
		left := t[j*q+j] - inner(l[j*q:][:j], l[j*q:][:j])
		if left <= 1e-14*t[j*q+j] {
			continue
		}
		l[j*q+j] = math.Sqrt(left)
		for i := j + 1; i < q; i++ {
			l[i*q+j] = (t[i*q+j] - inner(l[i*q:][:j], l[j*q:][:j])) / l[j*q+j]
		}
	}
	return l
}

// logarithm makes a task of a positive parameter.
func (t *top) logarithm(name string, estimate, start, step float64) *task {
	return &task{name: name, estimate: estimate, to: math.Log, from: math.Exp, least: 0, most: math.Inf(1), start: math.Log(start), step: step, base: t.deviance}
}

// deviation profiles the standard deviation of column j of term k.
func (t *top) deviation(k, j int, own []float64, name string) *task {
	q := len(t.size[k])
	unit := t.sigma / t.size[k][j]
	out := t.logarithm(name, t.sigma*math.Sqrt(own[j*q+j]), 0.01*unit, 1.5/math.Sqrt(2*float64(t.terms[k].Levels)))
	out.begin = func() func(float64) (float64, bool) {
		independent := t.terms[k].Independent
		var place []int
		if !independent {
			place = []int{j}
		}
		problem, theta, size := t.turnedRound(k, place...)
		at := t.f.groups[k].first
		if independent {
			at += j
		}
		w := newWalk(problem, t.terms, t.f.Rows(), theta, size, t.sigma)
		return func(psi float64) (float64, bool) { return w.atDeviation(at, psi) }
	}
	return out
}

// residual profiles sigma.
func (t *top) residual() *task {
	out := t.logarithm("residual SD", t.sigma, t.sigma, 1/math.Sqrt(2*float64(t.f.Rows()-len(t.beta))))
	out.begin = func() func(float64) (float64, bool) {
		_, theta, size := t.turnedRound(-1)
		w := newWalk(t.f.problem, t.terms, t.f.Rows(), theta, size, t.sigma)
		return w.atResidual
	}
	return out
}

// correlation profiles that of columns i and j of term k.
func (t *top) correlation(k, i, j int, own []float64, name string) *task {
	q := len(t.size[k])
	out := &task{name: name, estimate: own[i*q+j] / math.Sqrt(own[i*q+i]) / math.Sqrt(own[j*q+j]), to: math.Atanh, from: math.Tanh,
		least: -1, most: 1, step: 1 / math.Sqrt(float64(max(t.terms[k].Levels-1, 2))), base: t.deviance}
	if math.IsNaN(out.estimate) {
		out.whyUndefined = "one of the variances is 0, where there is no correlation"
		return out
	}
	out.estimate = max(-1, min(1, out.estimate))
	out.start = math.Copysign(4, out.estimate)
	out.begin = func() func(float64) (float64, bool) {
		problem, theta, size := t.turnedRound(k, i, j)
		w := newWalk(problem, t.terms, t.f.Rows(), theta, size, t.sigma)
		return func(rho float64) (float64, bool) { return w.atCorrelation(t.f.groups[k].first, q, rho) }
	}
	return out
}

// coefficient profiles a fixed effect: its column moves over to the response.
func (t *top) coefficient(j int, name string) *task {
	same := func(v float64) float64 { return v }
	out := &task{name: name, estimate: t.beta[j], to: same, from: same, least: math.Inf(-1), most: math.Inf(1), step: t.err[j], base: t.deviance}
	out.begin = func() func(float64) (float64, bool) {
		space := lmm.New(slices.Delete(slices.Clone(t.f.x), j, j+1), t.f.y, t.terms).Space()
		y, start := make([]float64, len(t.f.y)), slices.Clone(t.best.Theta)
		return func(b float64) (float64, bool) {
			for i, v := range t.f.y {
				y[i] = v - b*t.f.x[j][i]
			}
			space.SetResponse(y)
			o, ok := settled(space, false, start)
			copy(start, o.Theta)
			return o.Deviance, ok
		}
	}
	return out
}
