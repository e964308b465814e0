package multiplicity

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/stat/distuv"
)

// quantileOf is the value that one t statistic exceeds with probability p.
func quantileOf(df, p float64) float64 {
	if math.IsInf(df, 1) {
		return math.Sqrt2 * math.Erfcinv(2*p)
	}
	return -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}

// solve finds c with exceed(c) = alpha. The value of one statistic alone and Bonferroni's lie below and above it; secants on
// the logarithm of the probability, kept between the two, need a handful of steps.
func (j *Joint) solve(alpha float64) Critical {
	single := alpha
	if j.side == TwoSided {
		single /= 2
	}
	var within float64
	gap := func(c float64) float64 {
		z := j.exceed(c)
		within = z.within / alpha
		return math.Log(z.p / alpha)
	}
	lo, hi := quantileOf(j.df, single), quantileOf(j.df, single/float64(j.n))
	atLo, atHi := 0.0, 0.0
	for width := 1e-5 * (1 + math.Abs(lo)); atLo <= 0; width *= 4 { // wider where a quantile is off by rounding
		lo -= width
		atLo = gap(lo)
	}
	for width := 1e-5 * (1 + math.Abs(hi)); atHi >= 0; width *= 4 {
		hi += width
		atHi = gap(hi)
	}
	a, atA, c, atC := lo, atLo, hi, atHi
	slope := (atHi - atLo) / (hi - lo)
	for range 100 {
		if s := (atC - atA) / (c - a); s < 0 {
			slope = s
		}
		if small := 1e-10 * (1 + math.Abs(c)); math.Abs(atC/slope) <= small || hi-lo <= small/100 {
			break
		}
		next := c - atC/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		a, atA, c, atC = c, atC, next, gap(next)
		if atC > 0 {
			lo = c
		} else {
			hi = c
		}
	}
	return Critical{c, within / math.Abs(slope)}
}

// each calls f for 0 <= i < n on all cores, every goroutine with a copy of its own.
func (j *Joint) each(n int, f func(w *Joint, i int)) {
	cores := min(runtime.GOMAXPROCS(0), n)
	if cores <= 1 {
		w := j.work()
		for i := range n {
			f(w, i)
		}
		return
	}
	var next atomic.Int64
	var all sync.WaitGroup
	for range cores {
		all.Add(1)
		go func() {
			defer all.Done()
			w := j.work()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(w, i)
			}
		}()
	}
	all.Wait()
}
