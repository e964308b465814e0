package mixed

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed/internal/lmm"
)

// Refit is the model fitted to one invented response. Its slices are good until the statistic returns.
type Refit struct {
	Beta, Theta     []float64 // as of Fit
	Sigma, Deviance float64
	Singular        bool // a variance at 0 or a correlation at 1 or -1, as Fit.Singular
}

// Bootstrap holds statistics of refits to responses drawn from a fitted model.
type Bootstrap struct {
	Draws    int
	Failed   int // draws whose fit did not converge; their statistics are left out
	Singular int // of the others, fits with a variance on its boundary

	estimates []float64
	values    [][]float64 // statistic by draw; NaN where the fit failed
}

// mostDraws bounds a bootstrap.
const mostDraws = 10_000_000

// Bootstrap draws responses from the fitted model, new random effects and new residuals on the same rows, fits the model
// to each by the same likelihood, starting at the estimate, and keeps statistics of the refits: the parametric bootstrap
// [14]. Draw i comes from stream i of seed; draws go to all cores, and the answer does not depend on how many there are, so
// statistics must be safe for use by several goroutines. A statistic that does not exist in a draw, such as the age of a
// crossing that does not occur, is best given as +Inf or -Inf, which counts as an open end; NaN counts as failed.
func (f *Fit) Bootstrap(seed uint64, draws int, statistics ...func(r *Refit) float64) (*Bootstrap, error) {
	if draws < 1 || draws > mostDraws {
		return nil, &dataerr.Cell{Column: "draws", Value: strconv.Itoa(draws), Err: dataerr.ErrRange, Want: "give a number of draws from 1 to 10 million, 2,000 for limits"}
	}
	if len(statistics) == 0 || slices.ContainsFunc(statistics, func(s func(*Refit) float64) bool { return s == nil }) {
		return nil, &dataerr.Cell{Column: "statistics", Err: dataerr.ErrMissing, Want: "give at least one function of a refit"}
	}
	if err := f.drawable(); err != nil {
		return nil, err
	}
	out := &Bootstrap{Draws: draws, estimates: make([]float64, len(statistics)), values: make([][]float64, len(statistics))}
	own := &Refit{Beta: f.Beta(), Theta: f.Theta(), Sigma: f.sigma, Deviance: f.deviance, Singular: len(f.Singular()) > 0}
	for k, statistic := range statistics {
		out.estimates[k] = statistic(own)
		out.values[k] = make([]float64, draws)
	}
	state := make([]uint8, draws)
	sizes := f.sizes()
	resample.EachWith(draws, seed, 0, f.drawer, func(i int, rng *rand.Rand, d *drawer) {
		d.draw(rng)
		d.space.SetResponse(d.y)
		r, ok := d.refit(d.space, f, f.optimum.Theta, sizes)
		if !ok {
			state[i] = 1
		} else if r.Singular {
			state[i] = 2
		}
		for k, statistic := range statistics {
			out.values[k][i] = math.NaN()
			if ok {
				out.values[k][i] = statistic(r)
			}
		}
	})
	for _, s := range state {
		switch s {
		case 1:
			out.Failed++
		case 2:
			out.Singular++
		}
	}
	return out, nil
}

// drawable wants a fit from which responses can be drawn.
func (f *Fit) drawable() error {
	if f.sigma > 0 && !math.IsInf(f.sigma, 0) && !math.IsInf(f.deviance, 0) && !math.IsNaN(f.deviance) {
		return nil
	}
	return &dataerr.Cell{Column: f.spec.Response, Value: number(f.sigma), Err: errExact, Want: "there is no residual variance to draw from"}
}

// Values gives statistic k of the draws in their order, those without left out.
func (b *Bootstrap) Values(k int) []float64 {
	out := make([]float64, 0, b.Draws)
	for _, v := range b.values[k] {
		if !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out
}

// Percentiles is a percentile interval of a statistic.
type Percentiles struct {
	Estimate     float64 // at the fit
	Mean, SE     float64 // mean and standard deviation of the finite draws
	Lower, Upper float64 // -Inf, +Inf: open
	Missing      int     // draws without the statistic; they count as below the lower and above the upper limit
}

// Percentiles gives percentile limits of statistic k at level: the j-th smallest and largest draw, j the whole part of
// (Draws+1)(1-level)/2, less the draws that are missing.
func (b *Bootstrap) Percentiles(k int, level float64) (Percentiles, error) {
	if err := checkLevel(level); err != nil {
		return Percentiles{}, err
	}
	if k < 0 || k >= len(b.values) {
		return Percentiles{}, &dataerr.Cell{Column: "statistic", Value: strconv.Itoa(k), Err: dataerr.ErrRange, Want: "statistics are numbered from 0 to " + strconv.Itoa(len(b.values)-1)}
	}
	v := b.Values(k)
	out := Percentiles{Estimate: b.estimates[k], Lower: math.Inf(-1), Upper: math.Inf(1), Missing: b.Draws - len(v)}
	var ss, count float64
	for _, x := range v {
		if !math.IsInf(x, 0) {
			count++
			delta := x - out.Mean
			out.Mean += delta / count
			ss += delta * (x - out.Mean)
		}
	}
	out.SE = math.Sqrt(ss / (count - 1))
	if count < 2 {
		out.Mean, out.SE = math.Inf(1), math.Inf(1)
	}
	slices.Sort(v)
	if j := int(float64(b.Draws+1)*(1-level)/2+1e-9) - out.Missing; j >= 1 {
		out.Lower, out.Upper = v[j-1], v[len(v)-j]
	}
	return out, nil
}

// settled fits from start and, where that search did not end well, from the data too. Two searches that end at one
// criterion have found it, whatever they say of the gradient on the way to a border.
func settled(space *lmm.Space, reml bool, start []float64) (lmm.Optimum, bool) {
	first := space.Fit(reml, start)
	if first.Converged {
		return first, true
	}
	second := space.Fit(reml, nil)
	ok := second.Converged || math.Abs(second.Deviance-first.Deviance) < 1e-7*(1+math.Abs(first.Deviance))
	if first.Deviance < second.Deviance {
		space.Deviance(first.Theta, reml)
		return first, ok && second.Deviance-first.Deviance < 1e-7*(1+math.Abs(first.Deviance))
	}
	return second, ok
}

// sizes is the root mean square of each column of each random term.
func (f *Fit) sizes() [][]float64 {
	out := make([][]float64, len(f.groups))
	for k, g := range f.groups {
		for j := range g.names {
			out[k] = append(out[k], g.size(j))
		}
	}
	return out
}

// drawer is the work space of one goroutine.
type drawer struct {
	f       *Fit
	mean    []float64   // X b
	lambda  [][]float64 // sigma Lambda of each term
	effects []float64   // of one term
	u       []float64
	y       []float64
	space   *lmm.Space
	out     Refit
}

func (f *Fit) drawer() *drawer {
	d := &drawer{f: f, mean: make([]float64, f.Rows()), y: make([]float64, f.Rows()), space: f.problem.Space()}
	for j, c := range f.x {
		for i, v := range c {
			d.mean[i] += f.beta[j] * v
		}
	}
	most, q := 0, 0
	for _, g := range f.groups {
		l := f.lambda(g)
		for i := range l {
			l[i] *= f.sigma
		}
		d.lambda = append(d.lambda, l)
		most, q = max(most, len(g.levels)*len(g.names)), max(q, len(g.names))
	}
	d.effects, d.u = make([]float64, most), make([]float64, q)
	return d
}

// draw fills y: fixed part, random effects term after term and level after level, residuals.
func (d *drawer) draw(rng *rand.Rand) {
	copy(d.y, d.mean)
	for k, g := range d.f.groups {
		q, l := len(g.names), d.lambda[k]
		for level := range g.levels {
			for j := range q {
				d.u[j] = rng.NormFloat64()
			}
			for j := range q {
				d.effects[level*q+j] = inner(l[j*q:][:j+1], d.u)
			}
		}
		for j, z := range g.z {
			for i, level := range g.code {
				v := d.effects[level*q+j]
				if z != nil {
					v *= z[i]
				}
				d.y[i] += v
			}
		}
	}
	for i := range d.y {
		d.y[i] += d.f.sigma * rng.NormFloat64()
	}
}

// refit fits f's model to the response in space; false when the search did not end.
func (d *drawer) refit(space *lmm.Space, f *Fit, start []float64, sizes [][]float64) (*Refit, bool) {
	o, ok := settled(space, f.REML(), start)
	r := &d.out
	r.Theta, r.Deviance = append(r.Theta[:0], o.Theta...), o.Deviance
	if !ok || math.IsNaN(o.Deviance) || math.IsInf(o.Deviance, 0) {
		return r, false
	}
	r.Beta, r.Sigma = append(r.Beta[:0], space.Beta()...), space.Sigma(f.REML())
	r.Singular = f.singular(r.Theta, sizes)
	return r, true
}

// singular is whether Singular would name anything at theta.
func (f *Fit) singular(theta []float64, sizes [][]float64) bool {
	for k, g := range f.groups {
		q, at := len(g.names), g.first
		for c := range q {
			if g.independent {
				if math.Abs(theta[at])*sizes[k][c] < flatness {
					return true
				}
				at++
				continue
			}
			at += q - c
		}
		if g.independent {
			continue
		}
		for r := range q {
			square, own := 0.0, 0.0
			for c := range r + 1 {
				own = theta[g.first+c*q-c*(c-1)/2+r-c]
				square += own * own
			}
			if sd := math.Sqrt(square); sd*sizes[k][r] < flatness || r > 0 && math.Abs(own) < flatness*sd {
				return true
			}
		}
	}
	return false
}
