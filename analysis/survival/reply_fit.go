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
func (f *ReplyFit) maximise() {
	p := f.problem
	far, above := p.Far()
	f.top = p.Maximise(f.model.MaxIter)
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
	case p.Flat(f.top.V, f.top.Value):
		f.Kind = ReplyPlateau
	}
	f.settle()
}

// settle copies the maximum into the fields, with infinities where they belong.
func (f *ReplyFit) settle() {
	p := f.problem
	switch f.Kind {
	case ReplyAllAccept:
		f.top.V = p.Outside(1)
	case ReplyAllReject:
		f.top.V = p.Outside(-1)
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
		f.Coef[0] = math.Inf(1)
	case ReplyAllReject:
		f.Coef[0] = math.Inf(-1)
	case ReplyPlateau:
		f.Sigma, f.Tau, f.SubjectSD, f.UnitSD = 0, 0, 0, 0
		f.warnings = append(f.warnings, ErrReplyPlateau)
	case ReplyDivided:
		f.Sigma = math.Inf(1)
	case ReplySeparated:
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

// mean is the log median at a row of covariates.
func (f *ReplyFit) mean(row []float64) float64 {
	mu := 0.0
	for j, x := range row {
		if x != 0 {
			mu += x * f.Coef[j]
		}
	}
	return mu
}

// infinite tells whether the limits at a row are pushed out to +Inf (1), to 0 (-1), or not (0), at z spreads from the median.
func (f *ReplyFit) infinite(row []float64, z float64) int {
	switch f.Kind {
	case ReplyAllAccept:
		return 1
	case ReplyAllReject:
		return -1
	case ReplyDivided, ReplySeparated:
		youngest, oldest, unit := f.problem.Range()
		mu, sigma := 0.0, 0.0
		for j, x := range row {
			mu += x * f.top.V[j]
		}
		sigma, _ = f.problem.Scales(f.top.V)
		beyond := 3 * unit
		if f.Kind == ReplySeparated {
			beyond = 3 * sigma
		}
		if at := mu + z*f.k*sigma; at > oldest+beyond {
			return 1
		} else if at < youngest-beyond {
			return -1
		}
	}
	return 0
}
