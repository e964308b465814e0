package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// recoded gives the fixed side with every factor coded to sum to zero, and m with which m b are its coefficients; nil when
// the columns do not span the same.
func (f *Fit) recoded() (*fixed, [][]float64) {
	spec := f.spec.clone()
	for k, term := range spec.Fixed {
		spec.Fixed[k] = summing(term)
	}
	again, x := f.columnsOf(spec)
	if len(x) != len(f.x) || len(again.label) != len(f.fixed.label) {
		return nil, nil
	}
	p := len(x)
	cross, length := crossproducts(x)
	own := make([]float64, p)
	with := mat.NewDense(p, p, nil)
	for j, c := range f.x {
		own[j] = norm(c)
		for i := range p {
			with.Set(i, j, floats.Dot(x[i], c)/(length[i]*own[j]))
		}
	}
	var chol mat.Cholesky
	var m mat.Dense
	if !chol.Factorize(cross) || chol.SolveTo(&m, with) != nil {
		return nil, nil
	}
	rows := make([][]float64, p)
	for i := range rows {
		rows[i] = make([]float64, p)
		for j := range rows[i] {
			if v := m.At(i, j); math.Abs(v) > 1e-9 { // less is rounding
				rows[i][j] = v * own[j] / length[i]
			}
		}
	}
	left := make([]float64, len(f.y))
	for j, c := range f.x { // do they reproduce the column?
		copy(left, c)
		for i := range p {
			if v := rows[i][j]; v != 0 {
				floats.AddScaled(left, -v, x[i])
			}
		}
		if norm(left) > 1e-6*own[j] {
			return nil, nil
		}
	}
	return again, rows
}

// columnsOf lays out the fixed side of another spec over the rows of the fit, less the columns that depend on others; nil
// when it cannot be had. Dependent columns are not looked for when the fit has none.
func (f *Fit) columnsOf(spec Spec) (*fixed, [][]float64) {
	if len(f.fixed.alias) > 0 {
		out, x, err := newFixed(spec, f.table, nil)
		if err != nil {
			return nil, nil
		}
		return out, x
	}
	out := &fixed{terms: []basis{nil}, label: []string{intercept}, names: []string{intercept}, of: []int{0}, kept: []int{0}}
	for k, term := range spec.Fixed {
		b, err := learn(term, f.table)
		if err != nil {
			return nil, nil
		}
		out.terms, out.label = append(out.terms, b), append(out.label, term.String())
		for _, name := range b.names() {
			out.kept = append(out.kept, len(out.names))
			out.names, out.of = append(out.names, name), append(out.of, k+1)
		}
	}
	x, err := out.columns(f.table)
	if err != nil {
		return nil, nil
	}
	return out, x
}

// crossproducts of columns brought to length 1, and the lengths.
func crossproducts(x [][]float64) (cross *mat.SymDense, length []float64) {
	cross, length = mat.NewSymDense(len(x), nil), make([]float64, len(x))
	for i, c := range x {
		length[i] = norm(c)
		for j := range i + 1 {
			cross.SetSym(i, j, floats.Dot(c, x[j])/(length[i]*length[j]))
		}
	}
	return cross, length
}

// size is the root mean square of column j of a term.
func (g *grouping) size(j int) float64 {
	if g.z[j] == nil {
		return 1
	}
	return norm(g.z[j]) / math.Sqrt(float64(len(g.code)))
}

// summing is a term with its factors coded to sum to zero.
func summing(term Term) Term {
	switch t := term.(type) {
	case Factor:
		return Factor{Name: t.Name, Contrast: Sum}
	case Interaction:
		out := Interaction{Of: make([]Term, len(t.Of))}
		for i, part := range t.Of {
			out.Of[i] = summing(part)
		}
		return out
	}
	return term
}

// leastSquares is (X'X)^-1, nil when it cannot be had.
func (f *Fit) leastSquares() *mat.SymDense {
	p := len(f.x)
	cross, length := crossproducts(f.x)
	var chol mat.Cholesky
	inverse := mat.NewSymDense(p, nil)
	if !chol.Factorize(cross) || chol.InverseTo(inverse) != nil {
		return nil
	}
	for i := range p {
		for j := range i + 1 {
			inverse.SetSym(i, j, inverse.At(i, j)/(length[i]*length[j]))
		}
	}
	return inverse
}
