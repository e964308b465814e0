package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// intercept is the name of the column of ones.
const intercept = "intercept"

// fixed is the fixed side of a model that has seen the data: its terms, all their columns, and which of them are kept.
type fixed struct {
	terms  []basis  // nil first when there is an intercept
	label  []string // of the terms
	names  []string // of all columns
	of     []int    // term of each column
	kept   []int    // columns kept, in order
	alias  []dependence
	doubts []string // warnings
}

// newFixed gives the fixed side and its kept columns over the rows of t. It wants the columns to leave something of the
// response y (nil when that is faulty itself), else there is no variance to estimate.
func newFixed(spec Spec, t *Table, y []float64) (*fixed, [][]float64, error) {
	f := &fixed{}
	var bad []error
	if !spec.NoIntercept {
		f.terms, f.label = append(f.terms, nil), append(f.label, intercept)
	}
	for _, term := range spec.Fixed {
		b, err := learn(term, t)
		bad = append(bad, err)
		if err == nil {
			f.terms, f.label = append(f.terms, b), append(f.label, term.String())
		}
	}
	if err := errors.Join(bad...); err != nil {
		return nil, nil, err
	}
	for k, b := range f.terms {
		names := []string{intercept}
		if b != nil {
			names = b.names()
		}
		for _, name := range names {
			f.names, f.of = append(f.names, name), append(f.of, k)
		}
	}
	if len(f.names) == 0 {
		return nil, nil, &dataerr.Cell{Column: "Spec", Err: dataerr.ErrTooFew, Want: "without intercept the fixed side needs a term"}
	}
	all, err := f.columns(t)
	if err != nil {
		return nil, nil, err
	}
	x, err := f.keep(all, spec.Response, y)
	return f, x, err
}

// keep parts the columns and gives those that stay. The response goes last through the same elimination.
func (f *fixed) keep(all [][]float64, response string, y []float64) ([][]float64, error) {
	m, n := len(all), len(all[0])
	columns := slices.Clip(all)
	if y != nil {
		columns = append(columns, centred(y))
	}
	e := eliminate(columns)
	kept, dropped, exact := e.kept, e.dropped, false
	if d := len(dropped) - 1; d >= 0 && dropped[d].column == m {
		exact, dropped = true, dropped[:d]
	} else if y != nil {
		kept = kept[:len(kept)-1]
	}
	f.kept, f.alias = kept, dropped
	switch p := len(kept); {
	case p == 0:
		return nil, &dataerr.Cell{Column: f.names[0], Value: "0", Err: errConstant, Want: "no column of the fixed side is other than 0"}
	case n <= p:
		return nil, &dataerr.Cell{Value: strconv.Itoa(n) + " rows", Err: dataerr.ErrTooFew,
			Want: "the fixed side has " + strconv.Itoa(m) + " columns; give more rows than columns, or fewer terms"}
	case exact:
		return nil, &dataerr.Cell{Column: response, Err: ErrExact, Want: "the fixed side leaves nothing to estimate a variance from; look for a term that holds the response itself, or use fewer terms"}
	}
	out := make([][]float64, len(kept))
	for j, k := range kept {
		out[j] = all[k]
	}
	var err error
	f.doubts, err = nearly(e.near, f.names, kept)
	return out, err
}

// nearly speaks of columns that differ little from a combination of those before: errors where too few digits are left to
// compute with, else warnings. The response, after the last name, may lie as near to the columns as it likes.
func nearly(near []dependence, names []string, kept []int) (warnings []string, err error) {
	var bad []error
	for _, d := range near {
		if d.column == len(names) {
			continue
		}
		says := fmt.Sprintf("but for %.1g of its size it is %s; subtract a constant that lies amid the values, or leave it out", d.own, combination(d.coef, chosen(names, kept[:len(d.coef)])))
		if d.own < unsafe {
			bad = append(bad, &dataerr.Cell{Column: names[d.column], Err: errNearly, Want: says})
			continue
		}
		warnings = append(warnings, "column "+names[d.column]+": "+says+", as digits are lost")
	}
	return warnings, errors.Join(bad...)
}

func chosen(names []string, at []int) []string {
	out := make([]string, len(at))
	for j, k := range at {
		out[j] = names[k]
	}
	return out
}

// columns gives all columns at the rows of t, each finite.
func (f *fixed) columns(t *Table) ([][]float64, error) {
	var out [][]float64
	var bad []error
	for _, b := range f.terms {
		if b == nil {
			out = append(out, slices.Repeat([]float64{1}, t.rows))
			continue
		}
		columns, err := b.values(t)
		out, bad = append(out, columns...), append(bad, err)
	}
	if err := errors.Join(bad...); err != nil {
		return nil, err
	}
	return out, finite(out, f.names)
}

// finite names the first place of each column that is not a number any more: a power or product that overflowed.
func finite(columns [][]float64, names []string) error {
	var bad []error
	for j, c := range columns {
		for i, v := range c {
			if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e150 {
				bad = append(bad, &dataerr.Cell{Row: i + 1, Column: names[j], Value: number(v), Err: dataerr.ErrRange, Want: "too large to compute with; use another unit"})
				break
			}
		}
	}
	return errors.Join(bad...)
}

// DesignRow gives the rows of X at new data, Rows() x len(Coefficients()): X times Beta is the fixed part there. Columns
// that the fixed side uses must be in t, with levels of the fit. A row that the fit cannot tell (a cell of an interaction
// without data, say) is an error at that row.
func (f *Fit) DesignRow(t *Table) (*mat.Dense, error) {
	if t == nil {
		return nil, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give a table with at least one row"}
	}
	all, err := f.fixed.columns(t)
	if err != nil {
		return nil, err
	}
	if err := f.fixed.estimable(all); err != nil {
		return nil, err
	}
	out := mat.NewDense(t.rows, len(f.fixed.kept), nil)
	for j, k := range f.fixed.kept {
		out.SetCol(j, all[k])
	}
	return out, nil
}

// estimable checks that rows at new data satisfy the equations by which columns were left out.
func (f *fixed) estimable(all [][]float64) error {
	var bad []error
	seen := map[int]bool{}
	for _, a := range f.alias {
		for i, v := range all[a.column] {
			sum, size := 0.0, math.Abs(v)
			for j, c := range a.coef {
				sum += c * all[f.kept[j]][i]
				size = max(size, math.Abs(c*all[f.kept[j]][i]))
			}
			if math.Abs(v-sum) > 1e-6*size && !seen[i] {
				seen[i] = true
				bad = append(bad, &dataerr.Cell{Row: i + 1, Column: f.names[a.column], Value: number(v), Err: dataerr.ErrRange,
					Want: "the rows of the fit do not tell this combination: there " + f.says(a)})
			}
		}
	}
	return errors.Join(bad...)
}

// says writes a dependence as an equation.
func (f *fixed) says(a dependence) string {
	return f.names[a.column] + " = " + combination(a.coef, chosen(f.names, f.kept[:len(a.coef)]))
}
