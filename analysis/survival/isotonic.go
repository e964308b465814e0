package survival

import (
	"cmp"
	"math"
	"slices"
)

// Isotonic is the NPMLE of status rows in closed form: the share over at each time of looking, made non-decreasing by
// pooling adjacent violators [3]. The zero value is the only one.
type Isotonic struct{}

// Fit estimates the distribution from obs, one row each, all of weight 1. The Curve is that of NPMLE for the same rows as
// intervals, except where rows are over at Time 0: here over by t means T <= t, the time 0 included, while the interval
// (0, t] leaves 0 out. Errors are joined *dataerr.Cell with 1-based row: no rows, Time NaN, negative or infinite. obs is
// neither kept nor changed.
func (s Isotonic) Fit(obs []Status) (*Curve, error) { return s.FitWeighted(obs, nil) }

// FitWeighted is Fit with a weight for each row, as NPMLE.FitWeighted.
func (Isotonic) FitWeighted(obs []Status, weights []float64) (*Curve, error) {
	if err := checkStatus(obs, weights); err != nil {
		return nil, err
	}
	looks, total, rows := tally(obs, weights)
	blocks := pool(looks)
	sets, mass := jumps(blocks)
	c := newCurve(sets, mass)
	c.N, c.Rows = total, rows
	c.LogLik, c.Gap = judge(looks, blocks, total)
	tol := defaultTol * max(1, total) // closed form: what is left is rounding, which grows with N
	if c.Converged = c.Gap < tol; !c.Converged {
		c.warnings = append(c.warnings, &NotConvergedError{Gap: c.Gap, Tol: tol})
	}
	return c, nil
}

// look is one time of looking, or a block of such times from first to last: the weight of rows that were over, and of all.
type look struct{ first, last, over, all float64 }

func (b look) share() float64 { return b.over / b.all }

// tally sums rows by time, in order of time.
func tally(obs []Status, weights []float64) (looks []look, total float64, rows int) {
	looks = make([]look, 0, len(obs))
	for i, o := range obs {
		at := math.Abs(o.Time) // 0 for -0
		l := look{first: at, last: at, all: 1}
		if weights != nil {
			l.all = weights[i]
		}
		if l.all == 0 {
			continue
		}
		if o.Over {
			l.over = l.all
		}
		looks = append(looks, l)
		total += l.all
		rows++
	}
	slices.SortFunc(looks, func(a, b look) int { // by weights too, so that sums do not depend on the order of the rows
		return cmp.Or(cmp.Compare(a.first, b.first), cmp.Compare(a.over, b.over), cmp.Compare(a.all, b.all))
	})
	out := looks[:0]
	for _, l := range looks {
		if n := len(out); n > 0 && out[n-1].first == l.first {
			out[n-1].over += l.over
			out[n-1].all += l.all
			continue
		}
		out = append(out, l)
	}
	return out, total, rows
}

// pool joins neighbours while the earlier share is not below the later one. Equal shares are joined too, so that every
// jump between blocks has a mass above 0.
func pool(looks []look) []look {
	blocks := make([]look, 0, len(looks))
	for _, l := range looks {
		for n := len(blocks); n > 0 && blocks[n-1].share() >= l.share(); n = len(blocks) {
			l = look{blocks[n-1].first, l.last, blocks[n-1].over + l.over, blocks[n-1].all + l.all}
			blocks = blocks[:n-1]
		}
		blocks = append(blocks, l)
	}
	return blocks
}

// jumps turns blocks into support sets. A jump lies between the last look of one block, where some row was not yet over,
// and the first look of the next, where some row was (else pooling would have moved that look): an innermost set.
func jumps(blocks []look) (sets []Interval, mass []float64) {
	before, share := 0.0, 0.0
	for _, b := range blocks {
		if s := b.share(); s > share {
			sets, mass = append(sets, Interval{before, b.first}), append(mass, s-share)
			share = s
		}
		before = b.last
	}
	if share < 1 {
		sets, mass = append(sets, Interval{before, math.Inf(1)}), append(mass, 1-share)
	}
	return sets, mass
}

// judge gives the log-likelihood and the optimality gap. A mass at or before look k and after look k-1 makes the rows
// over at k and later more likely, and the rows not over before k: d_k is the sum of their weight / probability.
func judge(looks, blocks []look, total float64) (loglik, gap float64) {
	d, over := 0.0, 0.0 // at k = 0: all over-rows, no other
	shares := make([]float64, len(looks))
	b := 0
	for k, l := range looks {
		if l.first > blocks[b].last {
			b++
		}
		shares[k] = blocks[b].share()
		if l.over > 0 {
			over += l.over / shares[k]
			loglik += l.over * math.Log(shares[k])
		}
		if not := l.all - l.over; not > 0 {
			loglik += not * math.Log1p(-shares[k])
		}
	}
	d = over
	gap = d - total
	for k, l := range looks {
		if l.over > 0 {
			d -= l.over / shares[k]
		}
		if not := l.all - l.over; not > 0 {
			d += not / (1 - shares[k])
		}
		gap = max(gap, d-total)
	}
	return loglik, max(0, gap)
}
