package mixed

import (
	"fmt"
	"math"
)

// Component is an element of the covariance matrix of a random term, in squared units of the response over the units of
// its columns.
type Component struct {
	Group       string  // "taster", "taster:style"
	Column      string  // "intercept", "age"
	Column2     string  // "" for a variance
	Covariance  float64 // or variance
	SD          float64 // of a variance; NaN for a covariance
	Correlation float64 // of a covariance, NaN where a variance is 0; 1 for a variance
}

// Components lists, term after term, the variances and then the covariances of its columns. The residual variance is
// Sigma squared.
func (f *Fit) Components() []Component {
	var out []Component
	for _, g := range f.groups {
		q, t := len(g.names), f.relative(g)
		for j := range q {
			v := t[j*q+j] * f.sigma * f.sigma
			out = append(out, Component{Group: g.name, Column: g.names[j], Covariance: v, SD: math.Sqrt(v), Correlation: 1})
		}
		if g.independent {
			continue
		}
		for j := range q {
			for k := j + 1; k < q; k++ {
				out = append(out, Component{Group: g.name, Column: g.names[j], Column2: g.names[k],
					Covariance: t[j*q+k] * f.sigma * f.sigma, SD: math.NaN(), Correlation: correlation(t, q, j, k)})
			}
		}
	}
	return out
}

func correlation(t []float64, q, j, k int) float64 {
	r := t[j*q+k] / math.Sqrt(t[j*q+j]) / math.Sqrt(t[k*q+k])
	return math.Max(-1, math.Min(1, r)) // NaN stays NaN
}

// lambda gives Lambda of a term, q x q by rows, lower triangular.
func (f *Fit) lambda(g *grouping) []float64 {
	q, at := len(g.names), g.first
	l := make([]float64, q*q)
	for j := range q {
		for i := j; i < q; i++ {
			if i != j && g.independent {
				break
			}
			l[i*q+j] = f.optimum.Theta[at]
			at++
		}
	}
	return l
}

// relative gives T = Lambda Lambda' of a term, the covariance matrix over sigma^2, q x q by rows.
func (f *Fit) relative(g *grouping) []float64 {
	q, l := len(g.names), f.lambda(g)
	t := make([]float64, q*q)
	for i := range q {
		for j := range q {
			for k := range min(i, j) + 1 {
				t[i*q+j] += l[i*q+k] * l[j*q+k]
			}
		}
	}
	return t
}

// flatness is the share below which a direction of a covariance matrix counts as 0: of sigma for a standard deviation, of
// the own standard deviation for what the columns before leave of it.
const flatness = 1e-4

// Singular names each direction in which a random term has no variance: "slope of age over taster: variance 0",
// "intercept and age over taster: correlation 1". Empty when there is none. Predictions and contrasts of fixed effects
// stand all the same; degrees of freedom and limits of variances are doubtful.
func (f *Fit) Singular() []string {
	var out []string
	for _, g := range f.groups {
		q, l, t := len(g.names), f.lambda(g), f.relative(g)
		var alive []int
		for j := range q {
			size := 1.0
			if g.z[j] != nil {
				size = norm(g.z[j]) / math.Sqrt(float64(f.Rows()))
			}
			sd := math.Sqrt(t[j*q+j])
			if sd*size < flatness {
				out = append(out, g.part(j)+" over "+g.name+": variance 0")
				continue
			}
			if len(alive) > 0 && math.Abs(l[j*q+j]) < flatness*sd {
				out = append(out, g.bound(t, alive, j))
			}
			alive = append(alive, j)
		}
	}
	return out
}

func (g *grouping) part(j int) string {
	if g.z[j] == nil {
		return intercept
	}
	return "slope of " + g.names[j]
}

// bound says what determines column j of a term among those before it.
func (g *grouping) bound(t []float64, before []int, j int) string {
	q := len(g.names)
	for _, k := range before {
		if r := correlation(t, q, k, j); math.Abs(r) > 1-1e-6 {
			return fmt.Sprintf("%s and %s over %s: correlation %.0f", g.names[k], g.names[j], g.name, r)
		}
	}
	var names []string
	for _, k := range before {
		names = append(names, g.names[k])
	}
	return fmt.Sprintf("%s over %s: determined by %s", g.names[j], g.name, and(names))
}
