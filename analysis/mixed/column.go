package mixed

import (
	"cmp"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// Column is one named column of a Table: numbers (Numbers) or labels (Labels).
type Column struct {
	name    string
	numbers []float64 // nil for labels
	labels  []string
	order   []string // levels as stated; nil: sorted
	own     []string // levels of the labels, in order; nil before index
	at      []int    // of each row in own
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

// index finds the levels of the labels once.
func (c *Column) index() {
	if c.labels == nil || c.own != nil {
		return
	}
	first := map[string]int{}
	seen := make([]int, len(c.labels)) // in the order of appearance
	for i, v := range c.labels {
		k, ok := first[v]
		if !ok {
			k = len(c.own)
			first[v] = k
			c.own = append(c.own, v)
		}
		seen[i] = k
	}
	place := make([]int, len(c.own))
	if len(c.order) > 0 {
		slices.SortFunc(c.own, func(a, b string) int { return cmp.Compare(slices.Index(c.order, a), slices.Index(c.order, b)) })
	} else {
		slices.Sort(c.own)
	}
	for k, v := range c.own {
		place[first[v]] = k
	}
	for i, k := range seen {
		seen[i] = place[k]
	}
	c.at = seen
}

// levels gives the levels that occur, in the order stated, else sorted: numbers by size, labels as text.
func (c Column) levels() []string {
	if c.numbers == nil {
		c.index()
		return slices.Clone(c.own)
	}
	var out []string
	for _, v := range distinct(c.numbers) {
		out = append(out, number(whole(v)))
	}
	return out
}

// distinct gives the distinct values, sorted; 0 and -0 are one.
func distinct(values []float64) []float64 {
	seen := make(map[float64]struct{})
	var out []float64
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
	at := make(map[string]int, len(levels))
	for k, level := range levels {
		at[level] = k
	}
	find := func(label string) int {
		if k, ok := at[label]; ok {
			return k
		}
		return -1
	}
	out := make([]int, c.len())
	if c.numbers == nil {
		c.index()
		place := make([]int, len(c.own))
		for k, label := range c.own {
			place[k] = find(label)
		}
		for i, k := range c.at {
			out[i] = place[k]
		}
		return out
	}
	known := map[float64]int{} // writing numbers out is slow
	for i, v := range c.numbers {
		k, ok := known[v]
		if !ok {
			k = find(c.text(i))
			known[v] = k
		}
		out[i] = k
	}
	return out
}
