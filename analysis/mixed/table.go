package mixed

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
)

// Column is one named column of a Table: numbers (Numbers) or labels (Labels).
type Column struct {
	name    string
	numbers []float64 // nil for labels
	labels  []string
	order   []string // levels as stated; nil: sorted
}

// Numbers makes a column of finite numbers, in the caller's unit.
func Numbers(name string, values []float64) Column {
	return Column{name: name, numbers: append([]float64{}, values...)}
}

// Labels makes a column of non-empty labels. Levels stand in the order given, else sorted as text; a stated level need not
// occur, but a label that occurs must be stated.
func Labels(name string, values []string, order ...string) Column {
	return Column{name: name, labels: slices.Clone(values), order: slices.Clone(order)}
}

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
	return t, nil
}

func (c Column) len() int { return max(len(c.numbers), len(c.labels)) }

func (c Column) check() (bad []error) {
	cell := func(i int, value string, err error, want string) {
		bad = append(bad, &dataerr.Cell{Row: i + 1, Column: c.name, Value: value, Err: err, Want: want})
	}
	for i, v := range c.numbers {
		switch {
		case math.IsNaN(v):
			cell(i, number(v), dataerr.ErrNumber, "give a finite number, or leave the row out")
		case math.IsInf(v, 0):
			cell(i, number(v), dataerr.ErrRange, "give a finite number, or leave the row out")
		}
	}
	stated := map[string]bool{}
	for _, level := range c.order {
		if level == "" || stated[level] {
			err := dataerr.ErrDuplicate
			if level == "" {
				err = dataerr.ErrMissing
			}
			bad = append(bad, &dataerr.Cell{Column: c.name, Value: level, Err: err, Want: "state each level once, none of them empty"})
		}
		stated[level] = true
	}
	for i, v := range c.labels {
		switch {
		case v == "":
			cell(i, "", dataerr.ErrMissing, "give a label, or leave the row out")
		case len(c.order) > 0 && !stated[v]:
			cell(i, v, dataerr.ErrUnknown, "the levels stated are "+list(c.order))
		}
	}
	return bad
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

// text gives the label of row i; a number is written in its shortest form, which makes equal numbers equal labels.
func (c Column) text(i int) string {
	if c.numbers == nil {
		return c.labels[i]
	}
	return number(whole(c.numbers[i]))
}

// whole turns -0 into 0.
func whole(v float64) float64 {
	if v == 0 {
		return 0
	}
	return v
}

// levels gives the levels that occur, in the order stated, else sorted: numbers by size, labels as text.
func (c Column) levels() []string {
	if c.numbers != nil {
		var out []string
		for _, v := range distinct(c.numbers) {
			out = append(out, number(whole(v)))
		}
		return out
	}
	occur := distinct(c.labels)
	if len(c.order) > 0 {
		slices.SortFunc(occur, func(a, b string) int { return cmp.Compare(slices.Index(c.order, a), slices.Index(c.order, b)) })
	}
	return occur
}

// distinct gives the distinct values, sorted; 0 and -0 are one.
func distinct[V cmp.Ordered](values []V) []V {
	seen := make(map[V]struct{})
	var out []V
	for _, v := range values {
		if _, ok := seen[v]; !ok {
			seen[v] = struct{}{}
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// codes gives the place of each row's label in levels, -1 where it is not there.
func (c Column) codes(levels []string) []int {
	out := make([]int, c.len())
	at := make(map[string]int, len(levels))
	for k, level := range levels {
		at[level] = k
	}
	find := func(i int) int {
		if k, ok := at[c.text(i)]; ok {
			return k
		}
		return -1
	}
	if c.numbers == nil {
		for i := range out {
			out[i] = find(i)
		}
		return out
	}
	known := map[float64]int{} // writing numbers out is slow
	for i, v := range c.numbers {
		k, ok := known[v]
		if !ok {
			k = find(i)
			known[v] = k
		}
		out[i] = k
	}
	return out
}
