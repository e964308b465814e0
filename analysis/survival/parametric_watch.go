package survival

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"lastsip/analysis/survival/internal/law"
)

// watch knows when each row would have been looked at, and turns a time into what would have been seen of it. All times are
// logarithms.
type watch struct {
	looks  [][]float64 // of each row, where they were given
	pooled []float64   // looks at all rows, where they were not; nil: watched throughout
	censor []float64   // then: censoring times in order
	tail   []float64   // and the chance to be censored after each of them
}

func newWatch(d *design, looks [][]float64) *watch {
	w := &watch{}
	for _, l := range looks {
		own := make([]float64, len(l))
		for k, t := range l {
			own[k] = math.Log(t)
		}
		w.looks = append(w.looks, own)
	}
	if looks != nil {
		return w
	}
	var timed []Timed
	looked := false
	for i, o := range d.rows {
		if d.weight[i] == 0 {
			continue
		}
		looked = looked || o.Kind == law.Between || o.Kind == law.Left
		for _, v := range []float64{o.Lo, o.Hi} {
			if !math.IsInf(v, 0) && o.Kind != law.Exact {
				w.pooled = append(w.pooled, v)
			}
		}
		if o.Kind != law.Nothing {
			timed = append(timed, Timed{Time: math.Exp(o.Lo), Event: o.Kind == law.Right})
		}
	}
	if looked {
		slices.Sort(w.pooled)
		w.pooled = slices.Compact(w.pooled)
		return w
	}
	w.pooled = nil
	if km, err := (KaplanMeier{}).Fit(timed); err == nil {
		for _, s := range km.Steps() {
			w.censor, w.tail = append(w.censor, math.Log(s.Time)), append(w.tail, s.Value)
		}
	}
	return w
}

// see is what would have been seen of row k, which was seen as o, had its time been y.
func (w *watch) see(k int, o law.Obs, y float64, rng *rand.Rand) law.Obs {
	u := positive(rng) // drawn whether needed or not
	switch {
	case w.looks != nil && len(w.looks[k]) > 0:
		return between(w.looks[k], y)
	case w.looks == nil && w.pooled != nil && o.Kind != law.Exact:
		seen := between(w.pooled, y)
		if o.Lo < seen.Lo && seen.Lo < o.Hi { // no look within the row's own interval
			seen.Lo = o.Lo
		}
		if o.Lo < seen.Hi && seen.Hi < o.Hi {
			seen.Hi = o.Hi
		}
		return law.At(seen.Lo, seen.Hi)
	}
	end := math.Inf(1)
	if o.Kind == law.Right {
		end = o.Lo
	} else if w.censor != nil {
		end = w.censoredAfter(o.Lo, u)
	}
	if y > end {
		return law.At(end, math.Inf(1))
	}
	return law.At(y, y)
}

// between finds the neighbours of y among looks.
func between(looks []float64, y float64) law.Obs {
	j := sort.SearchFloat64s(looks, y)
	lo, hi := math.Inf(-1), math.Inf(1)
	if j > 0 {
		lo = looks[j-1]
	}
	if j < len(looks) {
		hi = looks[j]
	}
	return law.At(lo, hi)
}

// censoredAfter draws a censoring time beyond y from the curve of the censoring; +Inf with the chance that it leaves open.
func (w *watch) censoredAfter(y, u float64) float64 {
	k := sort.Search(len(w.censor), func(k int) bool { return w.censor[k] > y })
	left := 1.0
	if k > 0 {
		left = w.tail[k-1]
	}
	for ; k < len(w.censor); k++ {
		if w.tail[k] < u*left {
			return w.censor[k]
		}
	}
	return math.Inf(1)
}
