package reply

import (
	"math"
	"slices"
)

// Law is the chance of a yes at the two ends: floor far below the limit, ceiling far past it, 0 <= Floor < Ceiling <= 1.
type Law struct{ Floor, Ceiling float64 }

// log gives log P(replies) for no "no" and yes "yes" replies of one age on the one or the other side of the limit. Here "yes"
// is the reply that becomes likelier with age.
func (w Law) log(past bool, yes, no int) float64 {
	p := w.Floor
	if past {
		p = w.Ceiling
	}
	return times(yes, math.Log(p)) + times(no, math.Log1p(-p))
}

// times is n x with 0 times -Inf as 0.
func times(n int, x float64) float64 {
	if n == 0 {
		return 0
	}
	return float64(n) * x
}

// limit holds the replies about one own limit m, gathered by log age.
type limit struct {
	at       []float64 // log ages, rising, each once
	slot     []int     // where each age stands among the ages of the group
	yes, no  []int
	cell     []float64 // P(replies | m in cell c) / exp(scale) at tau = 0; cell c lies between at[c-1] and at[c]
	scale    float64   // log of the largest P(replies | cell)
	start    float64   // log P(replies at age 0)
	half     float64   // exp(-scale/2) with start taken out
	guess    float64   // of m: the middle of the likeliest cells
	top      float64   // no P(replies | m) / exp(scale) is larger
	dead     bool      // every cell has probability 0: only tau > 0 can explain the replies
	repeated bool      // several replies at one age
}

// newLimit gathers replies; at are log ages, -Inf for age 0, where the limit is not reached by anyone.
func newLimit(law Law, at []float64, yes []bool) *limit {
	order := make([]int, len(at))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case at[a] < at[b]:
			return -1
		case at[a] > at[b]:
			return 1
		}
		return 0
	})
	l := &limit{}
	for _, i := range order {
		y, n := 0, 1
		if yes[i] {
			y, n = 1, 0
		}
		if math.IsInf(at[i], -1) {
			l.start += law.log(false, y, n)
			continue
		}
		if k := len(l.at); k == 0 || l.at[k-1] != at[i] {
			l.at, l.yes, l.no = append(l.at, at[i]), append(l.yes, 0), append(l.no, 0)
		}
		k := len(l.at) - 1
		l.yes[k] += y
		l.no[k] += n
	}
	l.cells(law)
	l.guess = l.crude(0.2)
	return l
}

// cells works out P(replies) on every cell, sums of logs so that many replies do not underflow.
func (l *limit) cells(law Law) {
	n := len(l.at)
	l.cell, l.slot = make([]float64, n+1), make([]int, n)
	sum := l.start
	for j := range n { // ages below the cell: the limit lies past them
		sum += law.log(false, l.yes[j], l.no[j])
		l.cell[j+1] = sum
	}
	l.cell[0], sum = l.start, 0
	for j := n - 1; j >= 0; j-- {
		sum += law.log(true, l.yes[j], l.no[j])
		l.cell[j] += sum
	}
	l.scale = slices.Max(l.cell)
	if math.IsInf(l.scale, -1) {
		l.dead, l.scale = true, l.start
		if math.IsInf(l.start, -1) {
			l.scale = 0
		}
	}
	for c, v := range l.cell {
		l.cell[c] = math.Exp(v - l.scale)
		if l.dead {
			l.cell[c] = 0
		}
	}
	top := l.start - l.scale
	for j := range n {
		top += times(l.yes[j], math.Log(law.Ceiling)) + times(l.no[j], math.Log1p(-law.Floor))
		l.repeated = l.repeated || l.yes[j]+l.no[j] > 1
	}
	l.top, l.half = math.Exp(top), math.Exp((l.start-l.scale)/2)
}

// zone is a stretch of the line of m.
type zone struct{ lo, hi float64 }

// overlaps appends the zones in which the probability of the replies at tau > 0 differs from soft steps, the steps of the
// cells each smoothed apart: where two ages lie within reach of each other, or about an age with several replies. They rise
// and do not overlap.
func (l *limit) overlaps(zones []zone, reach float64) []zone {
	first := len(zones)
	for j, a := range l.at {
		z := zone{math.Inf(1), math.Inf(-1)}
		if j > 0 && a-l.at[j-1] < 2*reach {
			z = zone{a - reach, l.at[j-1] + reach}
		}
		if l.yes[j]+l.no[j] > 1 {
			z = zone{a - reach, a + reach}
		}
		if z.lo >= z.hi {
			continue
		}
		if k := len(zones) - 1; k >= first && z.lo <= zones[k].hi {
			zones[k].hi = max(zones[k].hi, z.hi)
		} else {
			zones = append(zones, z)
		}
	}
	return zones
}

// crowd is the largest number of replies within a window of log ages of the given width: how much narrower than tau what they say
// of m may be. Where all cells are impossible the likelihood rests on tails, in which every reply counts.
func (l *limit) crowd(width float64) int {
	if l.dead {
		width = math.Inf(1)
	}
	most, first, sum := 0, 0, 0
	for j, a := range l.at {
		sum += l.yes[j] + l.no[j]
		for l.at[first] < a-width {
			sum -= l.yes[first] + l.no[first]
			first++
		}
		most = max(most, sum)
	}
	return most
}

// ageless is the largest log-likelihood of the replies with one chance of yes for all ages above 0.
func (l *limit) ageless(law Law) float64 {
	yes, no := 0, 0
	for j := range l.at {
		yes += l.yes[j]
		no += l.no[j]
	}
	if yes+no == 0 {
		return l.start
	}
	q := min(max(float64(yes)/float64(yes+no), law.Floor), law.Ceiling)
	return l.start + times(yes, math.Log(q)) + times(no, math.Log1p(-q))
}
