package multiplicity

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// Side says which statistics speak against the hypotheses.
type Side int

const (
	TwoSided Side = iota // far from 0 on either side
	Greater              // large
	Less                 // small (far below 0)
)

// Joint is the law of the largest of n correlated t statistics with one estimate of scale, under the hypothesis that all
// are about 0. It is immutable and may be used by several goroutines.
type Joint struct {
	n     int
	df    float64
	side  Side
	parts []part
}

// JointWithin is how near to the truth NewJoint brings probabilities up to 0.1 where points are drawn: three standard errors.
const JointWithin = 2e-5

// NewJoint prepares the law for statistics with the n*n correlation matrix corr, which may be singular (all pairs of some
// means), and df degrees of freedom, at least 0.5, a fraction or +Inf (normal statistics). Where the statistics have
// different degrees of freedom give the smallest, which errs on the careful side. An error (*dataerr.Cell) names every
// entry of corr that is no correlation, and says when the whole is no correlation matrix.
func NewJoint(corr mat.Symmetric, df float64, side Side) (*Joint, error) {
	return NewJointWithin(corr, df, side, JointWithin)
}

// NewJointWithin is NewJoint where points are drawn only until probabilities up to 0.1 are within that much of the truth (three
// standard errors), a number above 0 and below 0.01: 2e-4, ten times as coarse as NewJoint, takes about a tenth of the time
// for eight statistics.
func NewJointWithin(corr mat.Symmetric, df float64, side Side, within float64) (*Joint, error) {
	if err := errors.Join(checkCorrelation(corr), checkDF(df), checkSide(side), checkWithin(within)); err != nil {
		return nil, err
	}
	j := &Joint{n: corr.SymmetricDim(), df: df, side: side}
	both := side == TwoSided
	for _, group := range split(corr, both) {
		p, err := newPart(corr, group, both, within)
		if err != nil {
			return nil, err
		}
		j.parts = append(j.parts, p)
	}
	return j, nil
}

// NewRange is the law for all pairs of k equally precise means, k >= 2, in any order, without their matrix: the studentised
// range over sqrt 2. For means of unequal precision it errs on the careful side (Tukey-Kramer [6]). df as in NewJoint.
func NewRange(k int, df float64) (*Joint, error) {
	if k < 2 {
		return nil, errors.Join(checkDF(df), &dataerr.Cell{Column: "means", Value: strconv.Itoa(k), Err: dataerr.ErrTooFew,
			Want: "a range needs at least two means"})
	}
	if err := checkDF(df); err != nil {
		return nil, err
	}
	return &Joint{n: k * (k - 1) / 2, df: df, parts: []part{pairs{k}}}, nil
}

// newPart takes the cheapest way of reckoning that fits the group.
func newPart(corr mat.Symmetric, group []int, both bool, within float64) (part, error) {
	if l, ok := loads(corr, group); ok {
		return newProduct(l, both), nil
	}
	if both {
		if k, ok := allPairs(corr, group); ok {
			return pairs{k}, nil
		}
	}
	rows, ok := directions(corr, group)
	if !ok {
		return nil, notCorrelation()
	}
	if len(rows[0]) == 2 {
		return plane(rows, both), nil
	}
	return fineEnough(rows, both, nearest(corr, group, both), within), nil
}

// Len is the number of statistics n.
func (j *Joint) Len() int { return j.n }

// Methods tells for each group of statistics that is uncorrelated with the others how it is reckoned: "product" (one
// integral), "range" (studentised range), "plane" (rank two, one integral), "lattice" (quasi-Monte Carlo).
func (j *Joint) Methods() []string {
	var out []string
	for _, p := range j.parts {
		out = append(out, p.name())
	}
	return out
}

// work is a copy for one goroutine.
func (j *Joint) work() *Joint {
	c := *j
	c.parts = nil
	for _, p := range j.parts {
		c.parts = append(c.parts, p.clone())
	}
	return &c
}

// neverBeyond is where the tail of the normal is 0 in a float64.
const neverBeyond = 39

// exceed is P(some statistic lies beyond c), c on the scale of Greater or of absolute values.
func (j *Joint) exceed(c float64) estimate {
	if c <= 0 && j.side == TwoSided {
		return estimate{1, 0}
	}
	if math.IsInf(c, 0) {
		return estimate{p: map[bool]float64{true: 0, false: 1}[c > 0]}
	}
	return mix(j.df, c, func(w float64) estimate {
		if math.Abs(w) > neverBeyond {
			return estimate{p: max(0, -math.Copysign(1, w))}
		}
		var out estimate
		for _, p := range j.parts {
			z := p.exceed(w)
			out.p += z.p * (1 - out.p)
			out.within += z.within
		}
		return out
	})
}

// beyond is how far t lies on the side that counts.
func (j *Joint) beyond(t float64) float64 {
	switch j.side {
	case TwoSided:
		return math.Abs(t)
	case Less:
		return -t
	}
	return t
}

// Adjusted holds adjusted p-values in the order of the statistics. Within bounds their numerical error: 0 where all was
// done by quadrature (good to 1e-9), about three standard errors where points of a lattice were drawn.
type Adjusted struct {
	P      []float64
	Within float64
}

// Adjust gives for each t the probability that the largest of the statistics is at least as far out: the single-step
// adjustment, comparing P with alpha bounds the chance of any false rejection by alpha. An error (*dataerr.Cell, row =
// 1-based statistic) where the number of statistics differs or one is NaN; infinite ones have p-value 0 (or 1).
func (j *Joint) Adjust(t []float64) (Adjusted, error) {
	if len(t) != j.n {
		return Adjusted{}, &dataerr.Cell{Column: "t", Value: strconv.Itoa(len(t)) + " statistics", Err: dataerr.ErrConflict,
			Want: fmt.Sprintf("give one for each of the %d rows of the correlation matrix", j.n)}
	}
	var bad []error
	for i, v := range t {
		if math.IsNaN(v) {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "t", Value: "NaN", Err: dataerr.ErrNumber,
				Want: "leave out comparisons that have no statistic"})
		}
	}
	if bad != nil {
		return Adjusted{}, errors.Join(bad...)
	}
	out := Adjusted{P: make([]float64, len(t))}
	within := make([]float64, len(t))
	j.each(len(t), func(w *Joint, i int) {
		z := w.exceed(j.beyond(t[i]))
		out.P[i], within[i] = z.p, z.within
	})
	for _, v := range within {
		out.Within = max(out.Within, v)
	}
	return out, nil
}

// Tail gives one adjusted p-value, as Adjust does: the probability that the largest of the statistics is at least as far out
// as t, and a bound on its numerical error.
func (j *Joint) Tail(t float64) (p, within float64, err error) {
	if math.IsNaN(t) {
		return 0, 0, &dataerr.Cell{Column: "t", Value: "NaN", Err: dataerr.ErrNumber, Want: "give a statistic"}
	}
	z := j.work().exceed(j.beyond(t))
	return z.p, z.within, nil
}

// Critical is the value that the largest statistic exceeds with probability 1 - level, and a bound on its numerical error.
type Critical struct{ Value, Within float64 }

// Critical gives the critical value at level, a fraction strictly between 0 and 1: estimate -+ Value standard errors are
// simultaneous limits at that level, two-sided. For Less it is a positive number too: reject where t < -Value. An error
// (*dataerr.Cell) where level is no such fraction.
func (j *Joint) Critical(level float64) (Critical, error) {
	if err := checkLevel(level); err != nil {
		return Critical{}, err
	}
	w := j.work()
	return w.solve(1 - level), nil
}

// MaxT is NewJoint and Adjust in one call.
func MaxT(t []float64, corr mat.Symmetric, df float64, side Side) ([]float64, error) {
	j, err := NewJoint(corr, df, side)
	if err != nil {
		return nil, err
	}
	a, err := j.Adjust(t)
	return a.P, err
}

// MaxTCritical is NewJoint and Critical in one call.
func MaxTCritical(corr mat.Symmetric, df, level float64, side Side) (float64, error) {
	j, err := NewJoint(corr, df, side)
	if err != nil {
		return 0, err
	}
	c, err := j.Critical(level)
	return c.Value, err
}
