package mixed

import (
	"math/rand/v2"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed/internal/lmm"
)

// RatioDraws is a likelihood-ratio test whose law was drawn.
type RatioDraws struct {
	Statistic float64
	P         float64 // (1 + draws with a statistic at least as large) / (1 + Draws)
	Draws     int
	Failed    int       // draws in which a fit did not converge; they count as large
	Values    []float64 // statistics of the other draws, in order
	Large     Ratio     // by its large-sample laws, for comparison
}

// BootstrapRatio is LikelihoodRatio with the law of the statistic drawn: responses from small, to which both models are
// fitted [14]. It needs no theory about variances on their boundary, and holds in small panels as far as small is right.
// Draw i comes from stream i of seed; the answer does not depend on the number of cores.
func BootstrapRatio(small, big *Fit, seed uint64, draws int) (RatioDraws, error) {
	ratio, err := LikelihoodRatio(small, big)
	if err != nil {
		return RatioDraws{}, err
	}
	if draws < 1 || draws > mostDraws {
		return RatioDraws{}, &dataerr.Cell{Column: "draws", Value: strconv.Itoa(draws), Err: dataerr.ErrRange, Want: "give a number of draws from 1 to 10 million, 1,000 for a test"}
	}
	if err := small.drawable(); err != nil {
		return RatioDraws{}, err
	}
	type pair struct {
		*drawer
		other *lmm.Space
	}
	statistic, failed := make([]float64, draws), make([]bool, draws)
	smallSizes, bigSizes := small.sizes(), big.sizes()
	space := func() pair { return pair{small.drawer(), big.problem.Space()} }
	resample.EachWith(draws, seed, 0, space, func(i int, rng *rand.Rand, d pair) {
		d.draw(rng)
		d.space.SetResponse(d.y)
		d.other.SetResponse(d.y)
		r, ok := d.refit(d.space, small, small.optimum.Theta, smallSizes)
		statistic[i] = r.Deviance
		if ok {
			r, ok = d.refit(d.other, big, big.optimum.Theta, bigSizes)
			statistic[i] = max(0, statistic[i]-r.Deviance)
		}
		failed[i] = !ok
	})
	out := RatioDraws{Statistic: ratio.Statistic, Large: ratio, Draws: draws}
	large := 1
	slack := 1e-7 * (1 + ratio.Statistic) // two fits that differ by rounding are equal
	for i, v := range statistic {
		if failed[i] {
			out.Failed++
			large++
			continue
		}
		if v >= ratio.Statistic-slack {
			large++
		}
		out.Values = append(out.Values, v)
	}
	out.P = float64(large) / float64(draws+1)
	return out, nil
}
