package survival

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
)

// ParametricBootstrap holds fits to resampled rows.
type ParametricBootstrap struct {
	Draws   int // resamples
	NoEvent int // of them, those without an ended row: every quantile is +Inf
	AllOver int // those in which every row was over by its first look: every quantile is 0
	Failed  int // those without a maximum for another reason, or whose search did not end

	fit   *ParametricFit
	theta [][]float64 // of the draws that have a fit, in order; else nil
}

// Most resamples of a bootstrap.
const mostResamples = 10_000_000

// Bootstrap fits the family to draws resamples of whole clusters with replacement (of rows, where no Cluster was given).
// Resample i comes from stream i of seed, so that the answer does not depend on the number of cores. Resamples in which the
// likelihood has no maximum are counted, never replaced.
func (f *ParametricFit) Bootstrap(seed uint64, draws int) (*ParametricBootstrap, error) {
	if draws < 1 || draws > mostResamples {
		return nil, &dataerr.Cell{Column: "draws", Value: strconv.Itoa(draws), Err: dataerr.ErrRange, Want: "give a number of resamples from 1 to 10 million, 2,000 for limits"}
	}
	d := f.design
	subjects := d.subjects()
	b := &ParametricBootstrap{Draws: draws, fit: f, theta: make([][]float64, draws)}
	why := make([]error, draws)
	all := make([]float64, draws*d.m)
	space := func() *solver {
		r := d.solver(sample{rows: d.rows, weight: make([]float64, len(d.rows))}, 1)
		r.newton.Tol, r.newton.Finish = 1e-8, true
		return r
	}
	resample.EachWith(draws, seed, 0, space, func(i int, rng *rand.Rand, r *solver) {
		subjects.Weights(rng, r.weight)
		for k, w := range d.weight {
			r.weight[k] *= w
		}
		if why[i] = r.again(f.theta); why[i] == nil {
			b.theta[i] = all[i*d.m : (i+1)*d.m : (i+1)*d.m]
			copy(b.theta[i], r.theta)
		}
	})
	for _, err := range why {
		switch {
		case err == nil:
		case errors.Is(err, ErrNoEvent):
			b.NoEvent++
		case errors.Is(err, ErrAllOver):
			b.AllOver++
		default:
			b.Failed++
		}
	}
	b.mark(why)
	return b, nil
}

// errLost stands for a search that did not end.
var errLost = errors.New("the search did not end")

// again fits a resample from where another fit ended, from the data where that does not end well.
func (r *solver) again(start []float64) error {
	if err := r.impossible(r.sample); err != nil {
		return err
	}
	r.from(start)
	if !r.max.Converged {
		if err := r.fit(); err != nil {
			return err
		}
	}
	if err := r.diagnose(false); err != nil {
		return err
	}
	if !r.max.Converged || r.singular {
		return errLost
	}
	return nil
}

// The theta of a draw whose quantiles are +Inf or 0 whatever they are asked at.
var (
	endless = []float64{math.Inf(1)}
	none    = []float64{math.Inf(-1)}
)

func (b *ParametricBootstrap) mark(why []error) {
	for i, err := range why {
		if errors.Is(err, ErrNoEvent) {
			b.theta[i] = endless
		} else if errors.Is(err, ErrAllOver) {
			b.theta[i] = none
		}
	}
}

// Quantiles returns the quantile of each draw in the order of the draws: the time by which a share p has ended at
// covariates x in a stratum. +Inf and 0 stand for NoEvent and AllOver; Failed draws are left out.
func (b *ParametricBootstrap) Quantiles(x []float64, stratum int, p float64) ([]float64, error) {
	q, err := b.fit.quantileOf(x, stratum, p)
	if err != nil {
		return nil, err
	}
	out := make([]float64, 0, b.Draws-b.Failed)
	d := b.fit.design
	for _, theta := range b.theta {
		switch {
		case theta == nil:
		case len(theta) < d.m || math.IsInf(theta[0], 0):
			out = append(out, math.Exp(theta[0]))
		default:
			out = append(out, math.Exp(d.logQuantile(q, theta, nil)))
		}
	}
	return out, nil
}

// Quantile returns the quantile of the fit with percentile limits at its level: the k-th smallest and largest draw, k the
// whole part of (Draws + 1) (1 - level)/2. Failed draws count as below the lower and above the upper limit; a limit that
// no draw can give is open (0, +Inf). SE and SELog are standard deviations of the finite draws.
func (b *ParametricBootstrap) Quantile(x []float64, stratum int, p float64) (ParametricEstimate, error) {
	draws, err := b.Quantiles(x, stratum, p)
	if err != nil {
		return ParametricEstimate{}, err
	}
	q, _ := b.fit.quantileOf(x, stratum, p)
	e := ParametricEstimate{Value: math.Exp(b.fit.design.logQuantile(q, b.fit.theta, nil)), Upper: math.Inf(1), Level: b.fit.Level}
	var finite, logs []float64
	for _, v := range draws {
		if v > 0 && !math.IsInf(v, 1) {
			finite, logs = append(finite, v), append(logs, math.Log(v))
		}
	}
	e.SE, e.SELog = deviation(finite), deviation(logs)
	slices.Sort(draws)
	k := int(float64(b.Draws+1)*(1-b.fit.Level)/2+1e-9) - b.Failed
	if k >= 1 {
		e.Lower, e.Upper = draws[k-1], draws[len(draws)-k]
	}
	return e, nil
}

// deviation is the standard deviation, NaN below two numbers.
func deviation(x []float64) float64 {
	mean, ss := 0.0, 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return math.Sqrt(ss / float64(len(x)-1))
}
