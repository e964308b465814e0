package survival

import (
	"math"
	"math/rand/v2"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/survival/internal/law"
)

// ParametricDistance says how far a fitted family lies from the estimate without a family, and how often rows that obey the
// family lie as far.
type ParametricDistance struct {
	Value  float64 // largest vertical distance, a fraction
	P      float64 // share of samples from the fit, this one counted, that lie as far or farther
	Draws  int
	Failed int // draws in which the family could not be fitted; they count as farther
}

// Distance compares the fit with the NPMLE [P7]. Each row (L, R] becomes (F(L), F(R)], F the fitted law at its covariates
// and stratum; were the family true these would be intervals about evenly spread numbers. Value is the largest distance of
// their NPMLE from the diagonal, where the rows determine the NPMLE (the Kolmogorov distance for exact rows). P comes from
// draws (0 means 999) samples of the fit, seen through the looks, fitted and compared in the same way; draw i from stream
// i of seed, the same on any number of cores.
//
// looks[i] are the times, ascending, finite and above 0, at which row i would have been looked at whatever happened; an
// empty one: watched throughout. looks nil: every row is looked at at all finite ends of all rows, less those within its own
// interval, and a right-censored row not after its L; where all rows are exact or right-censored they are watched
// throughout, right-censored rows to their L, exact ones to a time drawn from the Kaplan-Meier curve of the censoring
// beyond their own. Give looks for status rows, of which each has one.
//
// Rows are drawn independently, so with several rows a subject P is too small. Weights must be 0 or 1. Errors are
// *dataerr.Cell.
func (f *ParametricFit) Distance(looks [][]float64, draws int, seed uint64) (ParametricDistance, error) {
	if draws == 0 {
		draws = 999
	}
	if err := f.checkDistance(looks, draws); err != nil {
		return ParametricDistance{}, err
	}
	d := f.design
	own, err := farthest(d, d.sample, f.theta)
	if err != nil {
		return ParametricDistance{}, err
	}
	watch := newWatch(d, looks)
	out := make([]float64, draws)
	space := func() *solver {
		r := d.solver(sample{rows: make([]law.Obs, len(d.rows)), weight: d.weight}, 1)
		r.newton.Tol, r.newton.Finish = 1e-8, true
		return r
	}
	resample.EachWith(draws, seed, 0, space, func(i int, rng *rand.Rand, r *solver) {
		f.eachRow(func(k int, o law.Obs, s *law.Shape, eta float64) {
			r.objective.sample.rows[k] = watch.see(k, o, eta+s.Quantile(positive(rng)).V, rng)
		})
		out[i] = math.Inf(1)
		if r.again(f.theta) == nil {
			if v, err := farthest(d, r.objective.sample, r.theta); err == nil {
				out[i] = v
			}
		}
	})
	result := ParametricDistance{Value: own, Draws: draws}
	far := 1
	for _, v := range out {
		if math.IsInf(v, 1) {
			result.Failed++
		}
		if v >= own-1e-12 {
			far++
		}
	}
	result.P = float64(far) / float64(draws+1)
	return result, nil
}

func (f *ParametricFit) checkDistance(looks [][]float64, draws int) error {
	var bad []error
	if draws < 1 || draws > mostResamples {
		bad = append(bad, &dataerr.Cell{Column: "draws", Value: strconv.Itoa(draws), Err: dataerr.ErrRange, Want: "give a number from 1 to 10 million, or 0 for 999"})
	}
	if looks != nil && len(looks) != len(f.design.rows) {
		bad = append(bad, &dataerr.Cell{Column: "looks", Value: strconv.Itoa(len(looks)) + " rows", Err: dataerr.ErrConflict,
			Want: "give the looks of each of the " + strconv.Itoa(len(f.design.rows)) + " rows, or nil"})
	}
	for i, l := range looks {
		for k, t := range l {
			if !(t > 0) || math.IsInf(t, 1) || k > 0 && !(l[k-1] < t) {
				bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "looks", Value: number(t), Err: dataerr.ErrOrder, Want: "give times above 0, finite and ascending"})
			}
		}
	}
	for i, w := range f.design.weight {
		if w != 0 && w != 1 {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "weight", Value: number(w), Err: dataerr.ErrRange, Want: "a distance needs weights of 0 or 1; write a row as often as it counts"})
		}
	}
	return join(bad, nil)
}

// positive is even on (0, 1).
func positive(rng *rand.Rand) float64 { return (float64(rng.Uint64()>>12) + 0.5) / (1 << 52) }

// farthest is the largest distance of the NPMLE of rows on the scale of F from the diagonal, where it is determined.
func farthest(d *design, s sample, theta []float64) (float64, error) {
	shapes := make([]law.Shape, len(d.labels))
	for g := range shapes {
		shapes[g] = d.shapeOf(theta, g)
	}
	u := make([]Interval, len(s.rows))
	for i, o := range s.rows {
		a, b := hazards(o, &shapes[d.stratum[i]], inner(d.x[i*d.p:(i+1)*d.p], theta))
		u[i] = Interval{L: -math.Expm1(-a), R: -math.Expm1(-b)}
		u[i].R = max(u[i].L, u[i].R)
	}
	c, err := NPMLE{}.FitWeighted(u, s.weight)
	if err != nil {
		return 0, err
	}
	mass := c.Mass()
	far, from, cum := 0.0, 0.0, 0.0
	for k, set := range c.Sets() {
		far = max(far, math.Abs(cum-from), math.Abs(cum-set.L))
		cum += mass[k]
		from = set.R
	}
	return max(far, math.Abs(1-from)), nil
}
