package survival

import (
	"errors"
	"math"
	"slices"
)

// Caveats of a ReplyFit, for errors.Is.
var (
	ErrReplyNotConverged = errors.New("the fit of the reply model did not reach its tolerance; read its numbers with care")
	ErrReplyNoMedian     = errors.New("the likelihood rises without end: no finite median can be told")
	ErrReplySeparated    = errors.New("one group of covariates accepts or rejects at every age, so that its coefficient is infinite")
	ErrReplyPlateau      = errors.New("no spread of limits can be told: all lie between two neighbouring ages, or about one; medians in a range may be equally likely")
)

// maximise finds the maximum, says what sort it is and fills the fields.
func (f *ReplyFit) maximise(near *ReplyFit) {
	p := f.problem
	far, above := p.Far()
	if near != nil && near.Kind == ReplyInterior {
		f.top = p.MaximiseFrom(near.top.V, f.model.MaxIter)
	} else {
		f.top = p.Maximise(f.model.MaxIter)
	}
	f.Converged, f.Iterations = f.top.Converged, f.top.Steps
	all := func(want float64) bool { return !slices.ContainsFunc(above, func(a float64) bool { return a != want }) }
	part := slices.ContainsFunc(above, func(a float64) bool { return a > 0 && a < 1 })
	switch {
	case f.top.V == nil || f.top.Value <= far+1e-7:
		switch {
		case all(1):
			f.Kind = ReplyAllAccept
		case all(0):
			f.Kind = ReplyAllReject
		case part:
			f.Kind = ReplyDivided
		default:
			f.Kind = ReplySeparated
		}
		f.top.Value = far
		f.Converged = true
	case p.Widest(f.top.V):
		f.Kind = ReplyDivided
	case slices.ContainsFunc(p.Away(f.top.V), func(a int) bool { return a != 0 }):
		f.Kind = ReplySeparated
	case p.Flat(f.top.V, f.top.Value, f.model.MaxIter):
		f.Kind = ReplyPlateau
	}
	f.settle(above)
}

// settle copies the maximum into the fields, with infinities where they belong.
func (f *ReplyFit) settle(above []float64) {
	p := f.problem
	switch f.Kind {
	case ReplyAllAccept:
		f.top.V = p.Outside(1)
	case ReplyAllReject:
		f.top.V = p.Outside(-1)
	case ReplyDivided:
		p.Divide(f.top.V, above)
	}
	f.Coef = slices.Clone(f.top.V[:p.P])
	f.Sigma, f.Tau = p.Scales(f.top.V)
	f.LogLik = f.top.Value
	f.Apart = p.Apart
	if f.Apart {
		f.SubjectSD, f.UnitSD = p.Parts(f.top.V)
	}
	switch f.Kind {
	case ReplyAllAccept:
		f.Coef[0], f.Sigma, f.Tau = math.Inf(1), 0, 0
	case ReplyAllReject:
		f.Coef[0], f.Sigma, f.Tau = math.Inf(-1), 0, 0
	case ReplyPlateau:
		f.Sigma, f.Tau, f.SubjectSD, f.UnitSD = 0, 0, 0, 0
		f.warnings = append(f.warnings, ErrReplyPlateau)
	case ReplyDivided:
		f.Sigma = math.Inf(1)
	case ReplySeparated:
		for j := 1; j < p.P; j++ {
			if way := f.infiniteCoef(j); way != 0 {
				f.Coef[j] = math.Inf(way)
			}
		}
		f.warnings = append(f.warnings, ErrReplySeparated)
	}
	if f.Kind == ReplyAllAccept || f.Kind == ReplyAllReject || f.Kind == ReplyDivided {
		f.warnings = append(f.warnings, ErrReplyNoMedian)
	}
	if !f.Converged {
		f.warnings = append(f.warnings, ErrReplyNotConverged)
	}
}

// row is x with the leading 1, checked.
func (f *ReplyFit) row(x []float64) ([]float64, error) {
	if err := checkRow(x, f.problem.P-1); err != nil {
		return nil, err
	}
	return append([]float64{1}, x...), nil
}

// infiniteCoef tells whether a coefficient is pushed out, and which way.
func (f *ReplyFit) infiniteCoef(i int) int {
	_, _, unit := f.problem.Range()
	sigma, _ := f.problem.Scales(f.top.V)
	if at := f.top.V[i]; f.Kind == ReplySeparated && math.Abs(at) > unit+3*sigma {
		return int(math.Copysign(1, at))
	}
	return 0
}

// infinite tells whether the limits at a row are pushed out to +Inf (1), to 0 (-1), or not (0), at z spreads from the median.
func (f *ReplyFit) infinite(row []float64, z float64) int {
	switch f.Kind {
	case ReplyAllAccept:
		return 1
	case ReplyAllReject:
		return -1
	case ReplySeparated:
		youngest, oldest, _ := f.problem.Range()
		sigma, _ := f.problem.Scales(f.top.V)
		if at := f.problem.Quantile(row, z, f.k).Psi(f.top.V); at > oldest+3*sigma {
			return 1
		} else if at < youngest-3*sigma {
			return -1
		}
	}
	return 0
}

// divided gives the range of the quantile at z, on the log scale, where the spread of limits is infinite: they lie below all ages
// or above, and the quantile is where its share falls; beside a single age, on one side of it.
func (f *ReplyFit) divided(row []float64, z float64) (from, to float64) {
	low, high := math.Inf(-1), math.Inf(1)
	youngest, oldest, _ := f.problem.Range()
	sigma, _ := f.problem.Scales(f.top.V)
	at := f.problem.Quantile(row, z, f.k).Psi(f.top.V)
	if youngest == oldest { // sigma may be anything
		if at < youngest {
			return low, youngest
		}
		return youngest, high
	}
	switch t := at / sigma; {
	case t > 1e-3:
		return high, high
	case t < -1e-3:
		return low, low
	}
	return low, high
}
