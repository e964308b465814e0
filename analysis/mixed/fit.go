package mixed

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mixed/internal/lmm"
)

// Fit is a fitted model. It does not change; methods return copies and may be called from several goroutines.
type Fit struct {
	spec   Spec
	table  *Table // the rows of the fit
	y      []float64
	x      [][]float64 // kept columns of the fixed side
	fixed  *fixed
	groups []*grouping

	problem  *lmm.Problem
	optimum  lmm.Optimum
	deviance float64

	beta       []float64
	covariance *mat.SymDense
	sigma      float64
	modes      [][]float64 // of each random term: levels x columns
	ztHX       []float64   // Z' H^-1 X at the optimum: all random effects x p
	modeCov    [][]float64 // over sigma^2: levels x columns x columns

	converged bool
	why       string
	warnings  []string
}

// Coefficients names the fixed coefficients, in the order of Beta: "intercept", "style[stirred]", "age",
// "style[stirred]:age", "spline(age)1".
func (f *Fit) Coefficients() []string {
	out := make([]string, len(f.fixed.kept))
	for j, k := range f.fixed.kept {
		out[j] = f.fixed.names[k]
	}
	return out
}

// Beta gives the estimated fixed coefficients, in units of the response over the unit of the column.
func (f *Fit) Beta() []float64 { return slices.Clone(f.beta) }

// Covariance gives the covariance matrix of Beta, sigma^2 (X' H^-1 X)^-1 at the estimated variances.
func (f *Fit) Covariance() *mat.SymDense {
	out := mat.NewSymDense(len(f.beta), nil)
	out.CopySym(f.covariance)
	return out
}

// Sigma gives the residual standard deviation, in the unit of the response.
func (f *Fit) Sigma() float64 { return f.sigma }

// Theta gives the relative covariance factors: for each random term in the order of Spec.Random the lower triangle by
// columns (the diagonal where Independent).
func (f *Fit) Theta() []float64 { return slices.Clone(f.optimum.Theta) }

// Deviance gives the criterion at its minimum with all constants: -2 log-likelihood, or the REML criterion.
func (f *Fit) Deviance() float64 { return f.deviance }

// LogLik gives -Deviance/2: the log-likelihood, or the restricted log-likelihood. The latter depends on the coding of the
// fixed side and compares only models with the same one.
func (f *Fit) LogLik() float64 { return -f.deviance / 2 }

// AIC gives Deviance + 2 Parameters.
func (f *Fit) AIC() float64 { return f.deviance + 2*float64(f.Parameters()) }

// BIC gives Deviance + Parameters log Rows.
func (f *Fit) BIC() float64 {
	return f.deviance + float64(f.Parameters())*math.Log(float64(f.Rows()))
}

// Parameters counts the coefficients, the elements of Theta, and sigma.
func (f *Fit) Parameters() int { return len(f.beta) + len(f.optimum.Theta) + 1 }

// Rows counts the rows.
func (f *Fit) Rows() int { return len(f.y) }

// REML says that the restricted likelihood was maximised.
func (f *Fit) REML() bool { return !f.spec.ML }

// Levels gives the levels of a grouping ("taster", "taster:style") or of a factor of the fixed side, in their order; nil
// for other names.
func (f *Fit) Levels(name string) []string {
	for _, g := range f.groups {
		if g.name == name {
			return slices.Clone(g.levels)
		}
	}
	var find func(b basis) []string
	find = func(b basis) []string {
		switch b := b.(type) {
		case *factor:
			if b.name == name {
				return slices.Clone(b.levels)
			}
		case interaction:
			for _, part := range b {
				if levels := find(part); levels != nil {
					return levels
				}
			}
		}
		return nil
	}
	for _, b := range f.fixed.terms {
		if levels := find(b); levels != nil {
			return levels
		}
	}
	return nil
}

// Part is a term of the fixed side: which coefficients belong to it, as indices into Beta (none when all its columns were
// left out).
type Part struct {
	Name         string
	Coefficients []int
}

// Parts lists the terms of the fixed side in the order given, the intercept first.
func (f *Fit) Parts() []Part {
	out := make([]Part, len(f.fixed.label))
	for k, label := range f.fixed.label {
		out[k].Name = label
	}
	for j, k := range f.fixed.kept {
		part := &out[f.fixed.of[k]]
		part.Coefficients = append(part.Coefficients, j)
	}
	return out
}

// Converged says that the optimiser met its tests; Why says what was wrong otherwise.
func (f *Fit) Converged() bool { return f.converged }

// Why says in a sentence why the fit did not converge, "" when it did.
func (f *Fit) Why() string { return f.why }

// Aliased lists the columns of the fixed side that were left out, each with what it equals: "chill = 2 age",
// "style[sour]:batch[b] = 0".
func (f *Fit) Aliased() []string {
	var out []string
	for _, a := range f.fixed.alias {
		out = append(out, f.fixed.says(a))
	}
	return out
}

// Warnings gives what to print beside the numbers: no convergence, singular terms, columns left out, and doubts about the
// data.
func (f *Fit) Warnings() []string { return slices.Clone(f.warnings) }

// meets says that fixed and random effects leave nothing of the response: the likelihood grows without end.
func (f *Fit) meets() bool {
	if math.IsInf(f.deviance, -1) {
		return true
	}
	left := 0.0
	for _, r := range f.Residuals() {
		left = math.Max(left, math.Abs(r))
	}
	return left <= 1e-8*(slices.Max(f.y)-slices.Min(f.y))
}

// sound says that every number of the fit is finite.
func (f *Fit) sound() bool {
	sum := f.deviance + f.sigma
	for _, list := range slices.Concat([][]float64{f.beta, f.optimum.Theta, f.covariance.RawSymmetric().Data}, f.modes, f.modeCov) {
		for _, v := range list {
			sum += v - v // NaN for NaN and for infinities
		}
	}
	return sum-sum == 0
}

// judge sums up what the optimiser said and what the estimates look like.
func (f *Fit) judge() {
	if f.converged = f.optimum.Converged; !f.converged {
		f.why = f.optimum.Why
	}
	if !f.converged {
		f.warnings = append(f.warnings, "not converged: "+f.why)
	}
	for _, s := range f.Singular() {
		f.warnings = append(f.warnings, "singular: "+s)
	}
	for _, a := range f.Aliased() {
		f.warnings = append(f.warnings, fmt.Sprintf("column left out, as in these rows %s", a))
	}
}
