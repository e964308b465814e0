package mixed

import (
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// Ratio is a likelihood-ratio test of a model within another.
type Ratio struct {
	Statistic float64 // 2 (log-likelihood of the bigger - of the smaller), at least 0
	DF        int     // parameters more
	P         float64 // upper tail of chi-square on DF

	// Where the bigger model has one variance more, the smaller one has it at 0, on its boundary: then the statistic follows
	// a mixture in equal parts of chi-square on DF-1 and on DF [13], and P is too large.
	Boundary bool
	Mixture  string  // such as "1/2 chi-square on 0 + 1/2 chi-square on 1", "" without Boundary
	MixtureP float64 // by the mixture, else P
	Notes    []string
}

// LikelihoodRatio tests small against big, fits to the same rows and response with small within big: its fixed columns
// are combinations of big's, its random terms are among big's (by grouping and column; without correlations is within
// with them). Fits by REML compare only where the fixed columns are the very same. Two variances or more on their boundary
// have no simple law: P is then too large, which Notes say; BootstrapRatio has no such trouble.
func LikelihoodRatio(small, big *Fit) (Ratio, error) {
	more, err := nested(small, big)
	if err != nil {
		return Ratio{}, err
	}
	out := Ratio{Statistic: small.deviance - big.deviance, DF: more.fixed + more.covariances + more.variances}
	for _, f := range []*Fit{small, big} {
		if !f.converged {
			out.Notes = append(out.Notes, "not converged: "+f.why)
		}
	}
	if math.IsNaN(out.Statistic) || math.IsInf(out.Statistic, 0) {
		return Ratio{}, &dataerr.Cell{Column: "Deviance", Value: number(out.Statistic), Err: dataerr.ErrNumber, Want: "one of the fits has no likelihood; see its Why"}
	}
	if out.Statistic < -1e-6*(1+math.Abs(big.deviance)) {
		out.Notes = append(out.Notes, fmt.Sprintf("the bigger model has a likelihood that is smaller, by %.3g: it stopped short of its maximum", -out.Statistic/2))
	}
	out.Statistic = max(0, out.Statistic)
	out.P = chiSquareP(out.Statistic, float64(out.DF))
	out.MixtureP = out.P
	switch {
	case more.variances == 1:
		out.Boundary = true
		out.Mixture = fmt.Sprintf("1/2 chi-square on %d + 1/2 chi-square on %d", out.DF-1, out.DF)
		out.MixtureP = (out.P + chiSquareP(out.Statistic, float64(out.DF-1))) / 2
	case more.variances > 1:
		out.Notes = append(out.Notes, fmt.Sprintf("%d variances are 0 in the smaller model, on their boundary: p is too large; draw the law with BootstrapRatio", more.variances))
	}
	return out, nil
}

// difference counts what a bigger model has more.
type difference struct{ fixed, variances, covariances int }

// nested checks that small is within big and that their likelihoods compare.
func nested(small, big *Fit) (difference, error) {
	var more difference
	wrong := func(value, want string) (difference, error) {
		return more, &dataerr.Cell{Column: "models", Value: value, Err: dataerr.ErrConflict, Want: want}
	}
	if small == nil || big == nil {
		return wrong("nil", "give two fits")
	}
	if i := firstOther(small.y, big.y); i >= 0 {
		return more, &dataerr.Cell{Row: i + 1, Column: big.spec.Response, Err: dataerr.ErrConflict, Want: "the models must be fitted to the same rows and response"}
	}
	if small.REML() != big.REML() {
		return wrong("REML and ML", "fit both by ML, or both by REML with the same fixed side")
	}
	same := len(small.x) == len(big.x)
	for j := 0; same && j < len(big.x); j++ {
		same = slices.Equal(small.x[j], big.x[j])
	}
	if big.REML() && !same {
		return wrong("REML", "restricted likelihoods compare only where the fixed columns are the same; fit both with ML")
	}
	if !same {
		both, _ := independent(slices.Concat(big.x, small.x))
		if len(both) > len(big.x) {
			return wrong("fixed side", "the smaller model's fixed columns must be combinations of the bigger one's")
		}
		more.fixed = len(big.x) - len(small.x)
	}
	if err := more.random(small, big); err != nil {
		return more, err
	}
	if more == (difference{}) {
		return wrong("equal", "the bigger model has nothing that the smaller one lacks")
	}
	return more, nil
}

// firstOther is the first place where a and b differ, -1 for none.
func firstOther(a, b []float64) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	if len(a) != len(b) {
		return min(len(a), len(b))
	}
	return -1
}

// random counts variances and covariances that only big has, and refuses those that only small has.
func (d *difference) random(small, big *Fit) error {
	has := func(f *Fit, in *grouping, a, b int) bool {
		return slices.ContainsFunc(f.groups, func(g *grouping) bool {
			if !sameLevels(g, in) {
				return false
			}
			i, j := g.place(in, a), g.place(in, b)
			return i >= 0 && j >= 0 && (a == b || !g.independent)
		})
	}
	for _, g := range small.groups {
		for a := range g.names {
			for b := range a + 1 {
				if (a == b || !g.independent) && !has(big, g, a, b) {
					return &dataerr.Cell{Column: "models", Value: g.part(a) + " over " + g.name, Err: dataerr.ErrConflict, Want: "the bigger model must have every variance and covariance of the smaller one"}
				}
			}
		}
	}
	for _, g := range big.groups {
		for a := range g.names {
			for b := range a + 1 {
				switch {
				case a != b && g.independent || has(small, g, a, b):
				case a == b:
					d.variances++
				default:
					d.covariances++
				}
			}
		}
	}
	return nil
}

// sameLevels says that two groupings part the rows alike, whatever they are called.
func sameLevels(a, b *grouping) bool {
	if len(a.levels) != len(b.levels) {
		return false
	}
	to := make([]int, len(a.levels))
	for i, k := range a.code {
		if to[k] == 0 {
			to[k] = b.code[i] + 1
		} else if to[k] != b.code[i]+1 {
			return false
		}
	}
	return true
}

// place finds column a of in among the columns of g, by its values, -1 for none.
func (g *grouping) place(in *grouping, a int) int {
	for j := range g.names {
		if g.z[j] == nil && in.z[a] == nil || slices.Equal(g.column(j), in.column(a)) {
			return j
		}
	}
	return -1
}
