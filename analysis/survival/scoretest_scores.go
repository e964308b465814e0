package survival

import (
	"math"
	"slices"
	"sort"

	"lastsip/analysis/dataerr"
)

// RowScores gives the score of every row on the NPMLE of all rows, and that curve. Scores are positive for rows that ended
// early and negative for rows that lasted; those of a row that says nothing, (0, +Inf], are 0. Errors as NPMLE.Fit.
func (spec ScoreTest) RowScores(rows []Interval) ([]float64, *Curve, error) {
	if !(spec.Scores >= SunScores && spec.Scores <= WilcoxonScores) {
		return nil, nil, &dataerr.Cell{Column: "Scores", Value: number(float64(spec.Scores)), Err: dataerr.ErrUnknown,
			Want: "take SunScores, FinkelsteinScores or WilcoxonScores"}
	}
	c, err := NPMLE{}.Fit(rows)
	if err != nil {
		return nil, nil, err
	}
	s := newScorer(c)
	out := make([]float64, len(rows))
	for i, o := range rows {
		before, by := s.passed(o)
		out[i] = s.score(spec.Scores, before, by)
	}
	return out, c, nil
}

// scorer holds the curve by number of sets passed: S after j sets is stay[j].
type scorer struct {
	sets   []Interval
	stay   []float64 // summed from the right, so that small S keep their digits
	hazard []float64 // sum of mass / S before it
}

func newScorer(c *Curve) scorer {
	m := len(c.sets)
	s := scorer{c.sets, make([]float64, m+1), make([]float64, m+1)}
	for j, v := range slices.Backward(c.mass) {
		s.stay[j] = s.stay[j+1] + v
	}
	s.stay[0] = 1
	for j, v := range c.mass {
		s.hazard[j+1] = s.hazard[j] + v/s.stay[j]
	}
	return s
}

// passed counts the sets that lie before a row, and those that lie before it or in it.
func (s scorer) passed(o Interval) (before, by int) {
	before = sort.Search(len(s.sets), func(k int) bool {
		return s.sets[k].R > o.L || o.L == o.R && s.sets[k].R == o.L
	})
	by = sort.Search(len(s.sets), func(k int) bool { return s.sets[k].R > o.R })
	return before, by
}

// score of a row by the sets before it and by its end, with l = S(L), r = S(R) and p = l - r. Written so that little is lost
// where p is small.
func (s scorer) score(kind ScoreKind, before, by int) float64 {
	l, r := s.stay[before], s.stay[by]
	p := l - r
	switch {
	case kind == WilcoxonScores:
		return l + r - 1
	case r == 0 && kind == FinkelsteinScores:
		return math.Log(l)
	case kind == FinkelsteinScores: // (l log l - r log r) / p
		return math.Log(l) - r*math.Log1p(-p/l)/p
	case r == 0: // -l H(L) / p
		return -s.hazard[before]
	}
	return l*(s.hazard[by]-s.hazard[before])/p - s.hazard[by] // (r H(R) - l H(L)) / p
}
