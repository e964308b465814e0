package mixed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// TermTest is the test of one term of the fixed side.
type TermTest struct {
	Term string
	Joint
	Why string // why there is no test, "" when there is one
}

// Tests gives type III tests, one for each term of the fixed side but the intercept: the effect of a factor averaged with
// equal weights over the levels of the factors it interacts with, that of a slope likewise, whatever coding the factors
// have. Numeric terms are not centred: beside style:age the term style is about age 0. A term is tested by the rows
// L with which L b is its part under sum-to-zero coding, taken orthogonal in the metric of least squares, so that the
// answer does not depend on the coding or its scale [16]. With empty cells a term within an interaction that lost columns
// has no such test, which Why says. Without an intercept terms are tested as they are coded: all their coefficients 0.
func (f *Fit) Tests(df DF) ([]TermTest, error) {
	d, err := f.Degrees(df)
	if err != nil {
		return nil, err
	}
	return f.TestsWith(d)
}

// TestsWith is Tests by Degrees that were made before.
func (f *Fit) TestsWith(d *Degrees) ([]TermTest, error) {
	rows, why := f.hypotheses()
	metric := f.leastSquares()
	var out []TermTest
	for k, name := range f.fixed.label {
		if f.fixed.terms[k] == nil {
			continue
		}
		one := TermTest{Term: name, Why: why[k]}
		if one.Why == "" {
			var err error
			if one.Joint, err = d.Joint(orthonormal(rows[k], metric)); err != nil {
				one.Why = err.Error()
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// hypotheses gives L for each term in the kept coefficients, or why there is none.
func (f *Fit) hypotheses() (rows [][][]float64, why []string) {
	rows, why = make([][][]float64, len(f.fixed.label)), make([]string, len(f.fixed.label))
	p := len(f.beta)
	for k := range rows { // as coded
		for j, c := range f.fixed.kept {
			if f.fixed.of[c] == k {
				row := make([]float64, p)
				row[j] = 1
				rows[k] = append(rows[k], row)
			}
		}
		if len(rows[k]) == 0 {
			why[k] = "all its columns are combinations of others"
		}
	}
	if f.spec.NoIntercept {
		return rows, why
	}
	lost := map[int]bool{}
	for _, a := range f.fixed.alias {
		lost[f.fixed.of[a.column]] = true
	}
	within := f.containers()
	var again *fixed
	var m [][]float64
	if slices.ContainsFunc(within, func(c []int) bool { return len(c) > 0 }) {
		again, m = f.recoded()
	}
	for k := range rows {
		if why[k] != "" {
			continue
		}
		switch {
		case slices.ContainsFunc(within[k], func(c int) bool { return lost[c] }):
			why[k] = "it stands within an interaction with empty cells, over which it cannot be averaged"
		case lost[k] && len(within[k]) > 0:
			why[k] = "it lost columns that are combinations of others"
		case again == nil || len(within[k]) == 0: // as coded: that its columns add nothing does not depend on their coding
		default:
			rows[k] = nil
			for j, c := range again.kept {
				if again.of[c] == k {
					rows[k] = append(rows[k], m[j])
				}
			}
		}
	}
	return rows, why
}

// containers lists for each term the terms that hold all its parts and more.
func (f *Fit) containers() [][]int {
	out := make([][]int, len(f.fixed.label))
	parts := make([][]string, len(f.fixed.label))
	shift := len(f.fixed.label) - len(f.spec.Fixed)
	for k, term := range f.spec.Fixed {
		parts[k+shift] = partsOf(term)
	}
	for k := shift; k < len(parts); k++ {
		for c := shift; c < len(parts); c++ {
			all := !slices.ContainsFunc(parts[k], func(s string) bool { return !slices.Contains(parts[c], s) })
			if c != k && all && len(parts[c]) > len(parts[k]) {
				out[k] = append(out[k], c)
			}
		}
	}
	return out
}

func partsOf(term Term) []string {
	if i, ok := term.(Interaction); ok {
		var out []string
		for _, t := range i.Of {
			out = append(out, partsOf(t)...)
		}
		return out
	}
	return []string{term.String()}
}

// orthonormal gives rows that span the same with L M L' = I.
func orthonormal(l [][]float64, m *mat.SymDense) [][]float64 {
	if m == nil || len(l) == 1 {
		return l
	}
	p, _ := m.Dims()
	var out [][]float64
	for _, row := range l {
		row = slices.Clone(row)
		for range 2 { // twice is enough
			for _, before := range out {
				share := mat.Inner(mat.NewVecDense(p, row), m, mat.NewVecDense(p, before))
				for j, v := range before {
					row[j] -= share * v
				}
			}
		}
		v := mat.NewVecDense(p, row)
		size := math.Sqrt(mat.Inner(v, m, v))
		for j := range row {
			row[j] /= size
		}
		out = append(out, row)
	}
	return out
}
