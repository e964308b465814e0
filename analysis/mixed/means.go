package mixed

import (
	"errors"
	"slices"

	"lastsip/analysis/dataerr"
)

// At holds a column of the fixed side at stated values: Values of a column of numbers, Labels of a column of labels.
type At struct {
	Name   string
	Values []float64
	Labels []string
}

// Means gives the expected response of an average level of every grouping at each combination of the values of the columns
// in by, the first column varying slowest (least-squares means, also called estimated marginal means [18]). A factor has the levels of the fit, a number that
// is no factor its mean over the rows of the fit; At states other values of any column. Columns that are not in by are
// averaged with equal weights over their values, whatever the numbers of rows. Each mean is named by its values: "sour, 5".
//
// An error (joined *dataerr.Cell) names columns and levels that the fit does not know, and every mean that the rows of the fit
// do not tell because a cell of an interaction has no data; At can leave such a level out.
func (f *Fit) Means(by []string, at ...At) ([]Contrast, error) {
	g, err := f.grid(by, at)
	if err != nil {
		return nil, err
	}
	rows, err := g.average("", 0)
	if err != nil {
		return nil, err
	}
	return f.contrasts(g.names(), rows)
}

// slopeStep is the half width, as a share of the range of the column, over which a slope is taken.
const slopeStep = 1.0 / 4096

// Slopes gives the change of the expected response per unit of the column of numbers called name, averaged as by Means: at
// each combination of the values of the columns in by. For a straight line it is the slope; of a curve it is the slope at
// the mean of the column, or at the value that At states (by a central difference). Errors as Means.
func (f *Fit) Slopes(name string, by []string, at ...At) ([]Contrast, error) {
	g, err := f.grid(by, at)
	if err != nil {
		return nil, err
	}
	if err := g.slopeOf(name); err != nil {
		return nil, err
	}
	x, err := f.table.numeric(name)
	if err != nil {
		return nil, err
	}
	half := (slices.Max(x) - slices.Min(x)) * slopeStep
	rows, err := g.average(name, half)
	if err != nil {
		return nil, err
	}
	before, err := g.average(name, -half)
	if err != nil {
		return nil, err
	}
	for i, row := range rows {
		for j := range row {
			row[j] = (row[j] - before[i][j]) / (2 * half)
		}
	}
	return f.contrasts(g.names(), rows)
}

// contrasts takes rows over all columns of the fixed side to the kept ones. Each has to obey the equations by which columns
// were left out.
func (f *Fit) contrasts(names []string, rows [][]float64) ([]Contrast, error) {
	out := make([]Contrast, len(rows))
	var bad []error
	for i, row := range rows {
		columns := make([][]float64, len(row))
		for j := range row {
			columns[j] = row[j : j+1]
		}
		if err := f.fixed.estimable(columns); err != nil {
			first := dataerr.All(err)[0]
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: first.Column, Value: names[i], Err: errNotEstimable, Want: first.Want})
			continue
		}
		out[i] = Contrast{Name: names[i], L: make([]float64, len(f.fixed.kept))}
		for j, k := range f.fixed.kept {
			out[i].L[j] = row[k]
		}
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	return out, nil
}
