package mixed

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
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
	return &dataerr.Cell{Column: f.spec.Response, Value: number(f.sigma), Err: ErrExact, Want: "there is no residual variance to draw from"}
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
