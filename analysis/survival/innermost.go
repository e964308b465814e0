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

// row is an observation with the summed weight of all that are like it.
type row struct {
	Interval
	weight float64
}

// gather lists the rows of weight above 0, with -0 made 0, the sum of their weights, and their number. Looks at fixed times
// give few different rows: where the first 64 repeat each other, rows that are alike are joined, so that they need no
// sorting. (Which way is taken changes nothing but the time it takes.)
func gather(obs []Interval, weights []float64) (rows []row, total float64, used int) {
	const sample = 64
	rows = make([]row, 0, len(obs))
	seen := make(map[Interval]int32, min(len(obs), sample))
	for i, o := range obs {
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		if w == 0 {
			continue
		}
		total += w
		used++
		o = Interval{math.Abs(o.L), math.Abs(o.R)}
		if seen != nil {
			if k, ok := seen[o]; ok {
				rows[k].weight += w
				continue
			}
			seen[o] = int32(len(rows))
			if used > sample && 2*len(rows) > used {
				seen = nil // hardly any repeat
			}
		}
		rows = append(rows, row{o, w})
	}
	return rows, total, used
}

// reduce brings rows to the candidate sets, the innermost sets: a left end directly followed by a right end, where alone
// an NPMLE can have mass (Peto 1973; Turnbull 1976). Each row becomes the run of candidates that it holds, never empty;
// rows with the same run are merged.
func reduce(rows []row) (p masses.Problem, candidates []Interval) {
	ends := make([]end, 0, 2*len(rows))
	for i, o := range rows {
		left := openLeft
		if o.L == o.R {
			left = closedLeft
		}
		ends = append(ends, end{o.L, left, int32(i)}, end{o.R, right, int32(i)})
	}
	slices.SortFunc(ends, func(a, b end) int {
		if a.time != b.time { // far the commonest case
			if a.time < b.time {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.kind, b.kind)
	})
	runs := make([]masses.Row, len(rows))
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
	for i := range runs {
		runs[i].Weight = rows[i].weight
	}
	return masses.Problem{Sets: len(candidates), Rows: masses.Merge(runs)}, candidates
}
