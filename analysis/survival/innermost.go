package survival

import (
	"cmp"
	"math"
	"slices"

	"lastsip/analysis/survival/internal/masses"
)

// An end of a row on the time axis. Ends at one time are in the order closed left end of a point, right end, open left
// end: (1, 2] and (2, 3] do not meet, (1, 2] and the point 2 do, the point 2 and (2, 3] do not.
type end struct {
	time float64
	kind kind
	row  int32
}

type kind uint8

const (
	closedLeft kind = iota
	right
	openLeft
)

// reduce brings rows to the candidate sets, the innermost sets: a left end directly followed by a right end, where alone
// an NPMLE can have mass (Turnbull 1976; Peto 1973). Each row becomes the run of candidates that it holds, never empty;
// rows with the same run are merged. Rows of weight 0 are left out. Also the sum of the weights and the rows used.
func reduce(obs []Interval, weights []float64) (p masses.Problem, candidates []Interval, total float64, rows int) {
	ends := make([]end, 0, 2*len(obs))
	for i, o := range obs {
		if weights != nil && weights[i] == 0 {
			continue
		}
		left := openLeft
		if o.L == o.R {
			left = closedLeft
		}
		ends = append(ends, end{math.Abs(o.L), left, int32(i)}, end{math.Abs(o.R), right, int32(i)}) // Abs: 0 for -0
	}
	rows = len(ends) / 2
	slices.SortFunc(ends, func(a, b end) int {
		if a.time != b.time { // far the commonest case
			if a.time < b.time {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.kind, b.kind)
	})
	runs := make([]masses.Row, len(obs))
	for k, e := range ends {
		if e.kind != right {
			runs[e.row].First = int32(len(candidates)) // the next candidate to be completed begins at this end or later
			continue
		}
		if k > 0 && ends[k-1].kind != right {
			candidates = append(candidates, Interval{ends[k-1].time, e.time})
		}
		runs[e.row].Last = int32(len(candidates) - 1)
	}
	p.Sets = len(candidates)
	p.Rows = runs[:0]
	for i, r := range runs {
		r.Weight = 1
		if weights != nil {
			r.Weight = weights[i]
		}
		if r.Weight > 0 {
			p.Rows = append(p.Rows, r)
			total += r.Weight
		}
	}
	p.Rows = masses.Merge(p.Rows)
	return p, candidates, total, rows
}
