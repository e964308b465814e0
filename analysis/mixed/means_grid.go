package mixed

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
)

// input is a column that the fixed side reads.
type input struct {
	name           string
	factor, number bool // read as levels, read as a number; both are possible
}

// inputs lists the columns that the fixed side reads, in order of first use.
func (f *Fit) inputs() (out []input) {
	add := func(name string, factor bool) {
		k := slices.IndexFunc(out, func(in input) bool { return in.name == name })
		if k < 0 {
			k = len(out)
			out = append(out, input{name: name})
		}
		out[k].factor = out[k].factor || factor
		out[k].number = out[k].number || !factor
	}
	var visit func(term Term)
	visit = func(term Term) {
		switch t := term.(type) {
		case Numeric:
			add(t.Name, false)
		case Polynomial:
			add(t.Name, false)
		case Spline:
			add(t.Name, false)
		case Factor:
			add(t.Name, true)
		case Interaction:
			for _, part := range t.Of {
				visit(part)
			}
		}
	}
	for _, term := range f.spec.Fixed {
		visit(term)
	}
	return out
}

// grid is a set of combinations of values of the inputs.
type grid struct {
	f      *Fit
	inputs []input
	values []Column // of each input, the values it takes
	by     []int    // inputs that are told apart
	others []int    // inputs that are averaged over
}

// grid settles which values each input takes.
func (f *Fit) grid(by []string, at []At) (*grid, error) {
	g := &grid{f: f, inputs: f.inputs()}
	known := make([]string, len(g.inputs))
	for k, in := range g.inputs {
		known[k] = in.name
	}
	var bad []error
	find := func(name string, taken []string) int {
		k := slices.Index(known, name)
		switch {
		case k < 0:
			want := "the fixed side uses " + list(known)
			if near := nearest(name, known); len(near) > 0 {
				want = "did you mean " + strings.Join(near, " or ") + "?"
			}
			bad = append(bad, &dataerr.Cell{Column: name, Err: dataerr.ErrNoColumn, Want: want})
		case slices.Contains(taken, name):
			bad = append(bad, &dataerr.Cell{Column: name, Err: dataerr.ErrDuplicate, Want: "name each column once"})
		}
		return k
	}
	for i, name := range by {
		g.by = append(g.by, find(name, by[:i]))
	}
	stated := make([]*At, len(g.inputs))
	var names []string
	for i := range at {
		if k := find(at[i].Name, names); k >= 0 {
			stated[k] = &at[i]
		}
		names = append(names, at[i].Name)
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	for k, in := range g.inputs {
		own, err := f.valuesOf(in, stated[k], slices.Contains(g.by, k))
		g.values, bad = append(g.values, own), append(bad, err)
		if !slices.Contains(g.by, k) {
			g.others = append(g.others, k)
		}
	}
	return g, errors.Join(bad...)
}

// valuesOf gives the values of one input as a column of its own.
func (f *Fit) valuesOf(in input, at *At, apart bool) (Column, error) {
	c, err := f.table.column(in.name)
	if err != nil {
		return Column{}, err
	}
	numbers := c.numbers != nil
	switch {
	case at != nil && numbers && len(at.Values) > 0 && at.Labels == nil:
		out := Numbers(in.name, at.Values)
		return out, errors.Join(out.check()...)
	case at != nil && !numbers && len(at.Labels) > 0 && at.Values == nil:
		out := Labels(in.name, at.Labels)
		return out, errors.Join(out.check()...)
	case at != nil && numbers:
		return Column{}, &dataerr.Cell{Column: in.name, Err: dataerr.ErrMissing, Want: "the column holds numbers; state one or more in Values"}
	case at != nil:
		return Column{}, &dataerr.Cell{Column: in.name, Err: dataerr.ErrMissing, Want: "the column holds labels; state one or more in Labels"}
	case in.factor && numbers:
		v := slices.Clone(c.numbers)
		slices.Sort(v)
		return Numbers(in.name, slices.Compact(v)), nil
	case in.factor:
		return Labels(in.name, c.levels()), nil
	case apart:
		return Column{}, &dataerr.Cell{Column: in.name, Err: dataerr.ErrMissing, Want: "state by At at which values of this column means are wanted"}
	}
	mean := 0.0
	for _, v := range c.numbers {
		mean += v / float64(len(c.numbers))
	}
	return Numbers(in.name, []float64{mean}), nil
}

// slopeOf wants a column of numbers that no factor reads and that is not told apart by its own values.
func (g *grid) slopeOf(name string) error {
	k := slices.IndexFunc(g.inputs, func(in input) bool { return in.name == name })
	switch {
	case k < 0:
		var known []string
		for _, in := range g.inputs {
			if in.number {
				known = append(known, in.name)
			}
		}
		return &dataerr.Cell{Column: name, Err: dataerr.ErrNoColumn, Want: "the fixed side has slopes of " + list(known)}
	case g.inputs[k].factor:
		return &dataerr.Cell{Column: name, Err: dataerr.ErrNumber, Want: "the model takes this column as a factor, which has no slope; compare its means"}
	}
	return nil
}

// mostRowsOfGrid bounds the combinations of one question.
const mostRowsOfGrid = 1_000_000

// size is the number of combinations of the given inputs.
func (g *grid) size(of []int) int {
	n := 1
	for _, k := range of {
		n = min(n*g.values[k].len(), mostRowsOfGrid+1)
	}
	return n
}

// place is which value the input at position pos of the list takes in combination i; the last varies fastest.
func (g *grid) place(of []int, pos, i int) int {
	for _, k := range of[pos+1:] {
		i /= g.values[k].len()
	}
	return i % g.values[of[pos]].len()
}

// names names the combinations that are told apart.
func (g *grid) names() []string {
	out := make([]string, g.size(g.by))
	for i := range out {
		var parts []string
		for pos, k := range g.by {
			parts = append(parts, g.values[k].text(g.place(g.by, pos, i)))
		}
		out[i] = strings.Join(parts, ", ")
		if len(parts) == 0 {
			out[i] = "mean"
		}
	}
	return out
}

// average gives, for each combination told apart, the columns of the fixed side averaged over all others, with delta added
// to one column of numbers.
func (g *grid) average(shifted string, delta float64) ([][]float64, error) {
	points, each := g.size(g.by), g.size(g.others)
	if points > mostRowsOfGrid || each > mostRowsOfGrid || points*each > mostRowsOfGrid {
		return nil, &dataerr.Cell{Value: "more than " + strconv.Itoa(mostRowsOfGrid) + " combinations", Err: dataerr.ErrRange, Want: "hold some columns at single values by At"}
	}
	var columns []Column
	for k, in := range g.inputs {
		of, pos := g.by, slices.Index(g.by, k)
		if pos < 0 {
			of, pos = g.others, slices.Index(g.others, k)
		}
		c := Column{name: in.name}
		for row := range points * each {
			i := row / each
			if !slices.Contains(g.by, k) {
				i = row % each
			}
			at := g.place(of, pos, i)
			switch own := g.values[k]; {
			case own.numbers == nil:
				c.labels = append(c.labels, own.labels[at])
			case in.name == shifted:
				c.numbers = append(c.numbers, own.numbers[at]+delta)
			default:
				c.numbers = append(c.numbers, own.numbers[at])
			}
		}
		columns = append(columns, c)
	}
	t := &Table{rows: points * each, columns: columns}
	all, err := g.f.fixed.columns(t)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, points)
	for i := range out {
		out[i] = make([]float64, len(all))
		for j, c := range all {
			for _, v := range c[i*each:][:each] {
				out[i][j] += v / float64(each)
			}
		}
	}
	return out, nil
}
