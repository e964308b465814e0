package mixed

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
)

// Table holds typed columns of one length. It does not change, and it keeps no slice of the caller.
type Table struct {
	rows    int
	columns []Column
}

// NewTable checks the columns and puts them beside each other: names not empty and each once, one length, at least one row,
// no number that is NaN or infinite, no empty label. Every fault is told, as joined *dataerr.Cell with its observation.
func NewTable(columns ...Column) (*Table, error) {
	t := &Table{columns: slices.Clone(columns)}
	if len(columns) == 0 {
		return nil, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give at least one column"}
	}
	t.rows = columns[0].len()
	var bad []error
	seen := map[string]bool{}
	for j, c := range columns {
		switch {
		case c.name == "":
			bad = append(bad, &dataerr.Cell{Column: strconv.Itoa(j + 1), Err: dataerr.ErrMissing, Want: "give the column a name"})
		case seen[c.name]:
			bad = append(bad, &dataerr.Cell{Column: c.name, Err: dataerr.ErrDuplicate, Want: "give each column a name of its own"})
		}
		seen[c.name] = true
		if c.len() != t.rows {
			bad = append(bad, &dataerr.Cell{Column: c.name, Value: strconv.Itoa(c.len()) + " values", Err: dataerr.ErrConflict,
				Want: "give as many as column " + columns[0].name + " has, " + strconv.Itoa(t.rows)})
		}
		bad = append(bad, c.check()...)
	}
	if t.rows == 0 {
		bad = append(bad, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give at least one row"})
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	for j := range t.columns {
		t.columns[j].index()
	}
	return t, nil
}

// Rows gives the number of rows.
func (t *Table) Rows() int { return t.rows }

// Columns gives the names of the columns, in order.
func (t *Table) Columns() []string {
	out := make([]string, len(t.columns))
	for j, c := range t.columns {
		out[j] = c.name
	}
	return out
}

// column finds a column by name; the error names those that are spelled nearly so.
func (t *Table) column(name string) (Column, error) {
	for _, c := range t.columns {
		if c.name == name {
			return c, nil
		}
	}
	want := "the columns are " + list(t.Columns())
	if near := nearest(name, t.Columns()); len(near) > 0 {
		want = "did you mean " + strings.Join(near, " or ") + "?"
	}
	return Column{}, &dataerr.Cell{Column: name, Err: dataerr.ErrNoColumn, Want: want}
}

// numeric finds a column of numbers.
func (t *Table) numeric(name string) ([]float64, error) {
	c, err := t.column(name)
	if err != nil {
		return nil, err
	}
	if c.numbers == nil {
		cell := &dataerr.Cell{Column: name, Err: dataerr.ErrNumber, Want: "this column holds labels; make it with Numbers, or use it as a Factor"}
		if len(c.labels) > 0 {
			cell.Row, cell.Value = 1, c.labels[0]
		}
		return nil, cell
	}
	return c.numbers, nil
}
