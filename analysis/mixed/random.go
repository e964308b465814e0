package mixed

import (
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed/internal/lmm"
)

// Random is a random term: for each level of a grouping, normal deviations of an intercept and of slopes, independent
// between levels, with a covariance matrix to be estimated.
type Random struct {
	Group       []string // one column, or several crossed: each combination that occurs is a level
	Slopes      []Term   // any terms; a Factor with Indicator contrasts under NoIntercept gives a variance for each level
	NoIntercept bool
	Independent bool // no correlations: a variance for each column
}

// grouping is a random term that has seen the data.
type grouping struct {
	name        string     // "taster" or "taster:style"
	columns     []string   // of the table
	factors     [][]string // levels of each column
	at          map[int]int
	levels      []string
	code        []int // level of each row
	terms       []basis
	names       []string    // of the columns; intercept first where there is one
	z           [][]float64 // nil: ones
	independent bool
	first       int // place of its first theta
}

func newGrouping(r Random, t *Table) (*grouping, error) {
	g := &grouping{name: strings.Join(r.Group, ":"), columns: slices.Clone(r.Group), independent: r.Independent}
	if len(r.Group) == 0 {
		return nil, &dataerr.Cell{Column: "Group", Err: dataerr.ErrMissing, Want: "name the column whose levels the random effects belong to"}
	}
	for i, name := range r.Group {
		if slices.Contains(r.Group[:i], name) {
			return nil, &dataerr.Cell{Column: name, Err: dataerr.ErrDuplicate, Want: "name each column of a grouping once"}
		}
	}
	if err := g.group(t); err != nil {
		return nil, err
	}
	return g, errors.Join(g.slopes(r, t), g.countable(t.rows))
}

// group finds the levels: the combinations that occur, the last column varying fastest.
func (g *grouping) group(t *Table) error {
	var bad []error
	for _, name := range g.columns {
		c, err := t.column(name)
		bad = append(bad, err)
		g.factors = append(g.factors, c.levels())
	}
	if err := errors.Join(bad...); err != nil {
		return err
	}
	cells, err := g.cells(t)
	if err != nil {
		return err
	}
	g.at = map[int]int{}
	for _, cell := range cells {
		g.at[cell] = 0
	}
	for k, cell := range slices.Sorted(maps.Keys(g.at)) {
		g.at[cell] = k
		g.levels = append(g.levels, g.level(cell))
	}
	g.code = cells
	for i, cell := range cells {
		g.code[i] = g.at[cell]
	}
	return nil
}

// cells numbers the combination of levels in each row.
func (g *grouping) cells(t *Table) ([]int, error) {
	out := make([]int, t.rows)
	var bad []error
	for j, name := range g.columns {
		codes, err := codesOf(t, name, g.factors[j])
		bad = append(bad, err)
		for i, k := range codes {
			out[i] = out[i]*len(g.factors[j]) + k
		}
	}
	return out, errors.Join(bad...)
}

func (g *grouping) level(cell int) string {
	parts := make([]string, len(g.factors))
	for j := len(parts) - 1; j >= 0; j-- {
		k := len(g.factors[j])
		parts[j] = g.factors[j][cell%k]
		cell /= k
	}
	return strings.Join(parts, ":")
}

// codes gives the level of each row at new data; one that the fit did not see is an error at its row.
func (g *grouping) codes(t *Table) ([]int, error) {
	cells, err := g.cells(t)
	if err != nil {
		return nil, err
	}
	var bad []error
	for i, cell := range cells {
		k, ok := g.at[cell]
		if !ok {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: g.name, Value: g.level(cell), Err: dataerr.ErrUnknown, Want: "the levels of the fit are " + list(g.levels)})
		}
		cells[i] = k
	}
	return cells, errors.Join(bad...)
}

// slopes lays out the columns.
func (g *grouping) slopes(r Random, t *Table) error {
	if !r.NoIntercept {
		g.terms, g.names = append(g.terms, nil), append(g.names, intercept)
	}
	var bad []error
	for _, term := range r.Slopes {
		b, err := learn(term, t)
		bad = append(bad, err)
		if err == nil {
			g.terms, g.names = append(g.terms, b), append(g.names, b.names()...)
		}
	}
	if err := errors.Join(bad...); err != nil {
		return err
	}
	if len(g.names) == 0 {
		return &dataerr.Cell{Column: g.name, Err: dataerr.ErrTooFew, Want: "a random term without intercept needs a slope"}
	}
	var err error
	g.z, err = g.values(t)
	return err
}

// values gives the columns at the rows of t, nil for the intercept.
func (g *grouping) values(t *Table) ([][]float64, error) {
	var out [][]float64
	var bad []error
	for _, b := range g.terms {
		if b == nil {
			out = append(out, nil)
			continue
		}
		columns, err := b.values(t)
		out, bad = append(out, columns...), append(bad, err)
	}
	if err := errors.Join(bad...); err != nil {
		return nil, err
	}
	return out, finite(out, g.names)
}

// countable wants two levels at least, and fewer effects than rows.
func (g *grouping) countable(rows int) error {
	effects := len(g.levels) * len(g.names)
	switch {
	case len(g.levels) < 2:
		return &dataerr.Cell{Column: g.name, Value: list(g.levels), Err: dataerr.ErrTooFew,
			Want: "a variance between levels needs at least two; leave the random term out"}
	case len(g.levels) >= rows:
		return &dataerr.Cell{Column: g.name, Value: strconv.Itoa(len(g.levels)) + " levels", Err: dataerr.ErrTooFew,
			Want: "there are no more rows than levels, so that the effects cannot be told from the residuals; give levels with several rows, or leave the random term out"}
	case effects >= rows:
		return &dataerr.Cell{Column: g.name, Value: strconv.Itoa(effects) + " effects", Err: dataerr.ErrTooFew,
			Want: strconv.Itoa(len(g.levels)) + " levels times " + and(g.names) + " are no fewer than the " + strconv.Itoa(rows) +
				" rows, so that the effects cannot be told from the residuals; take a slope out, or give more rows"}
	}
	return nil
}

// thetas counts the parameters of the term.
func (g *grouping) thetas() int {
	q := len(g.names)
	if g.independent {
		return q
	}
	return q * (q + 1) / 2
}

func (g *grouping) kernel() lmm.Term {
	return lmm.Term{Levels: len(g.levels), Level: g.code, Columns: g.z, Independent: g.independent}
}

// column gives column j over the rows of the fit, ones written out.
func (g *grouping) column(j int) []float64 {
	if g.z[j] == nil {
		return slices.Repeat([]float64{1}, len(g.code))
	}
	return g.z[j]
}
