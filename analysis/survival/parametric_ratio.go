package survival

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// NestedTest compares a fit with a special case of it: twice the difference of their log-likelihoods, chi-square on DF
// degrees of freedom where the special case is true and rows are many.
type NestedTest struct {
	Statistic float64
	DF        int
	P         float64
}

// LikelihoodRatio tests special against full, fitted to the same rows and weights. Special cases are Exponential of Weibull,
// Gamma and GeneralizedGamma; Weibull, LogNormal and (with one stratum) Gamma of GeneralizedGamma; and any family with
// covariates that are combinations of those of full and strata that join those of full. Other pairs give a *dataerr.Cell; a
// fit that did not converge gives an *UnfinishedError.
func LikelihoodRatio(full, special *ParametricFit) (NestedTest, error) {
	for _, f := range []*ParametricFit{full, special} {
		if !f.Converged {
			return NestedTest{}, &UnfinishedError{Family: f.Family, Singular: f.Singular, Iterations: f.Iterations}
		}
	}
	fault := func(column, value, want string) error {
		return &dataerr.Cell{Column: column, Value: value, Err: dataerr.ErrConflict, Want: want}
	}
	a, b := full.design, special.design
	df := full.Params - special.Params
	switch {
	case !slices.Equal(a.rows, b.rows) || !slices.Equal(a.weight, b.weight):
		return NestedTest{}, fault("rows", "", "both fits need the same rows with the same weights")
	case !nestedFamilies(full, special):
		return NestedTest{}, fault("Family", special.Family.String(), "it is no special case of "+full.Family.String())
	case !a.splits(b) || !a.spans(b):
		return NestedTest{}, fault("x", "", "the special fit needs covariates and strata that the full fit has too")
	case df < 1:
		return NestedTest{}, fault("Params", strconv.Itoa(special.Params), "the special fit needs fewer parameters than the full one")
	}
	r := 2 * (full.LogLik - special.LogLik)
	if r < -1e-6 {
		return NestedTest{}, fault("LogLik", number(full.LogLik), "the full fit is worse than its special case, so its search ended at another maximum")
	}
	r = max(r, 0)
	return NestedTest{Statistic: r, DF: df, P: distuv.ChiSquared{K: float64(df)}.Survival(r)}, nil
}

func nestedFamilies(full, special *ParametricFit) bool {
	switch f := special.Family; full.Family {
	case f:
		return true
	case Weibull, Gamma:
		return f == Exponential
	case GeneralizedGamma:
		return f == Exponential || f == Weibull || f == LogNormal || f == Gamma && len(full.Labels) == 1
	}
	return false
}

// splits says whether every stratum of d lies within one of b; an exponential has no use for them.
func (d *design) splits(b *design) bool {
	if b.family == Exponential {
		return true
	}
	home := make([]int32, len(d.labels))
	for k := range home {
		home[k] = -1
	}
	for i, g := range d.stratum {
		if home[g] < 0 {
			home[g] = b.stratum[i]
		}
		if home[g] != b.stratum[i] {
			return false
		}
	}
	return true
}

// spans says whether every covariate of b is a combination of those of d, on the rows that count.
func (d *design) spans(b *design) bool {
	column := func(d *design, j int) []float64 {
		v := make([]float64, len(d.rows))
		for i := range v {
			v[i] = math.Sqrt(d.weight[i]) * d.x[i*d.p+j]
		}
		return v
	}
	var basis [][]float64
	less := func(v []float64) float64 { // what is left of v outside the basis
		for range 2 {
			for _, u := range basis {
				c := inner(u, v)
				for i := range v {
					v[i] -= c * u[i]
				}
			}
		}
		return norm(v)
	}
	for j := range d.p {
		v := column(d, j)
		left := less(v)
		for i := range v {
			v[i] /= left
		}
		basis = append(basis, v)
	}
	for j := 1; j < b.p; j++ {
		v := column(b, j)
		whole := norm(v)
		if less(v) > 1e-7*whole {
			return false
		}
	}
	return true
}
