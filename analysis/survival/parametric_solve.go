package survival

import (
	"errors"
	"math"

	"lastsip/analysis/internal/likelihood"
)

// solver fits the family of a design to one sample. It holds the work space, for one sample after another.
type solver struct {
	*objective
	newton   likelihood.Newton
	theta    []float64 // where the search ended
	max      likelihood.Maximum
	singular bool // the information cannot be inverted in a way that means anything

	coef, gram, info, work, coefScale []float64
}

// farthestShape bounds |Q|: there k = Q^-2 is 1/900, and the law is a power law with a sharp end.
const farthestShape = 30

// farShape is the |Q| past which a search that does not end is on its way to the end of the shape.
const farShape = 4

// widest and finest bound a scale in the search.
func (d *design) widest() float64 {
	if d.family == Gamma { // its scale k^-1/2 is also its shape
		return 100 * max(d.spread, 1)
	}
	return 1e4 * max(d.spread, 1)
}

func (d *design) finest() float64 { return 1e-8 * d.spread }

// solver; cores 0 means GOMAXPROCS.
func (d *design) solver(s sample, cores int) *solver {
	m := d.m
	r := &solver{objective: newObjective(d, s, cores), theta: make([]float64, m), coef: make([]float64, d.p), gram: make([]float64, d.p*d.p),
		info: make([]float64, m*m), work: make([]float64, m*m), coefScale: make([]float64, m)}
	r.newton.MaxMove = make([]float64, m)
	for j := range m {
		r.newton.MaxMove[j] = math.Inf(1)
		if j >= d.p {
			r.newton.MaxMove[j] = 2
		}
	}
	if d.family.law().HasShape() {
		r.newton.MaxMove[m-1] = 1
	}
	r.newton.Stop = r.lost
	return r
}

// lost says that the search has left every scale and shape that could be a maximum.
func (r *solver) lost(theta []float64) bool {
	if !r.family.law().HasScale() {
		return false
	}
	for g := range r.labels {
		a := theta[r.p+g]
		if r.family == Gamma {
			a = -a / 2
		}
		if a < math.Log(r.finest()) || a > math.Log(r.widest()) {
			return true
		}
	}
	return r.family.law().HasShape() && math.Abs(theta[r.m-1]) > farthestShape
}

// fit searches from the data. r.theta and r.max say where it ended. Rows that one lifetime agrees with, or that a covariate
// separates, leave the gamma families without a maximum as they do the Weibull, whose likelihood is easier to search.
func (r *solver) fit() error {
	if r.family < Gamma {
		r.fromLine()
		return nil
	}
	weibull := r.related(Weibull)
	weibull.fromLine()
	var no *NoMaximumError
	if err := weibull.diagnose(true); errors.As(err, &no) && (no.Err == ErrNoSpread || no.Err == ErrSeparated) {
		no.Family = r.family
		return no
	}
	if r.family == Gamma {
		r.from(r.likeWeibull(weibull.theta))
		if !r.max.Converged {
			weibull.line()
			r.from(r.likeWeibull(weibull.theta))
		}
		return nil
	}
	r.fromSeveral(weibull)
	return nil
}

// fromSeveral takes the best of the maxima that four starts lead to.
func (r *solver) fromSeveral(weibull *solver) {
	normal, gamma := r.related(LogNormal), r.related(Gamma)
	normal.fromLine()
	gamma.from(gamma.likeWeibull(weibull.theta))
	skewed := append(normal.theta[:r.m-1:r.m-1], -0.5)
	best, value := []float64(nil), likelihood.Maximum{Value: math.Inf(-1)}
	for _, start := range [][]float64{append(weibull.theta[:r.m-1:r.m-1], 1), append(normal.theta[:r.m-1:r.m-1], 0), skewed, r.likeGamma(gamma.theta)} {
		r.from(start)
		if best == nil || r.max.Value > value.Value+1e-9 || r.max.Converged && !value.Converged && r.max.Value > value.Value-1e-9 {
			best, value = append(best[:0], r.theta...), r.max
		}
	}
	copy(r.theta, best)
	r.max = value
	r.at(r.theta, r.newton.Grad, r.newton.Hess)
}

// related is a solver of another family on the same sample.
func (r *solver) related(f Family) *solver {
	d := *r.design
	d.family, d.m = f, d.p+len(d.labels)
	o := d.solver(r.sample, r.cores)
	o.newton.Tol, o.newton.MaxIter = 1e-6, r.newton.MaxIter
	return o
}

// from searches from a start and keeps where it ends.
func (r *solver) from(start []float64) {
	copy(r.theta, start)
	r.max = r.newton.Maximize(r.at, r.theta)
}

// fromLine searches from a least-squares line. The scale of the residuals is widened where a row seems impossible under it.
func (r *solver) fromLine() {
	for k := range 6 {
		r.line()
		for j := r.p; j < r.m; j++ {
			r.theta[j] += float64(k) * math.Log(4)
		}
		r.max = r.newton.Maximize(r.at, r.theta)
		if !math.IsInf(r.max.Value, -1) {
			return
		}
	}
}

// line sets theta to a least-squares line and the scale of its residuals, for a family with one location and one scale.
func (r *solver) line() {
	sd := r.start(r.sample, r.coef, r.gram)
	mean, ratio := 0.0, 1.0 // mean and standard deviation of W
	switch r.family {
	case Exponential:
		mean, sd = -0.5772156649015329, 1
	case Weibull:
		mean, ratio = -0.5772156649015329, math.Pi/math.Sqrt(6)
	case LogLogistic:
		ratio = math.Pi / math.Sqrt(3)
	}
	copy(r.theta, r.coef)
	r.theta[0] -= mean * sd / ratio
	for g := range r.labels {
		if r.family != Exponential {
			r.theta[r.p+g] = math.Log(sd / ratio)
		}
	}
}

// likeWeibull is the gamma law with the mode and curvature of a Weibull fit: both are generalised gamma laws with the mode
// of log T at their location and curvature 1/scale^2 there.
func (r *solver) likeWeibull(weibull []float64) []float64 {
	theta := append([]float64(nil), weibull...)
	shift := 0.0
	for g := range r.labels {
		a := -2 * min(max(weibull[r.p+g], math.Log(1e-4*r.spread)), math.Log(10*max(r.spread, 1)))
		theta[r.p+g] = a
		shift += a / float64(len(r.labels))
	}
	theta[0] -= shift
	return theta
}

// likeGamma is the gamma fit as a generalised gamma law; with several strata only nearly so, as Q is theirs in common.
func (r *solver) likeGamma(gamma []float64) []float64 {
	theta := append(append([]float64(nil), gamma...), 0)
	mean := 0.0
	for g := range r.labels {
		mean += gamma[r.p+g] / float64(len(r.labels))
		theta[r.p+g] = -gamma[r.p+g] / 2
	}
	theta[0] += mean
	theta[r.m-1] = min(math.Exp(-mean/2), 5)
	return theta
}
