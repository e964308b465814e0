package mixed

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
	"lastsip/analysis/dataerr"
)

// mostCond bounds how nearly dependent the columns of one level's own fit may be.
const mostCond = 1e8

// Separate fits the given coefficients (indices into Beta) to the rows of each level of a grouping alone, by least squares:
// no strength is borrowed between levels. The result has one row per level whose rows determine all of them, len(columns)
// long, and says which levels these are. Means over levels with t limits are the classical two-stage analysis, which needs
// no variance component and is a check on fits with a singular term.
//
// Source: Rao (1965), Biometrika 52, 447-458.
func (f *Fit) Separate(group string, columns []int) (levels []string, beta [][]float64, err error) {
	for _, g := range f.groups {
		if g.name != group {
			continue
		}
		rows := make([][]int, len(g.levels))
		for i, level := range g.code {
			rows[level] = append(rows[level], i)
		}
		for _, j := range columns {
			if j < 0 || j >= len(f.x) {
				return nil, nil, &dataerr.Cell{Column: "columns", Value: fmt.Sprint(j), Err: dataerr.ErrRange, Want: fmt.Sprintf("an index from 0 to %d", len(f.x)-1)}
			}
		}
		for k, name := range g.levels {
			if b, ok := f.alone(rows[k], columns); ok {
				levels, beta = append(levels, name), append(beta, b)
			}
		}
		return levels, beta, nil
	}
	return nil, nil, &dataerr.Cell{Column: group, Err: dataerr.ErrUnknown, Want: "a grouping of the fit"}
}

// alone is least squares on some rows; ok is false where they do not determine the coefficients.
func (f *Fit) alone(rows, columns []int) ([]float64, bool) {
	if len(rows) < len(columns) || len(columns) == 0 {
		return nil, false
	}
	a, y := mat.NewDense(len(rows), len(columns), nil), mat.NewVecDense(len(rows), nil)
	for i, r := range rows {
		for k, j := range columns {
			a.Set(i, k, f.x[j][r])
		}
		y.SetVec(i, f.y[r])
	}
	var qr mat.QR
	qr.Factorize(a)
	if !(qr.Cond() < mostCond) {
		return nil, false
	}
	b := mat.NewVecDense(len(columns), nil)
	if err := qr.SolveVecTo(b, false, y); err != nil {
		return nil, false
	}
	return b.RawVector().Data, true
}
