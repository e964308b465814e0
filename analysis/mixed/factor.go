package mixed

import (
	"errors"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Coding says how a factor of k levels becomes columns.
type Coding int

const (
	// Treatment: k-1 indicators of the levels other than the base: differences from the base. "style[stirred]".
	Treatment Coding = iota
	// Sum: k-1 columns, level less mean of the levels, for all but the last level (which is -1 in each). "style[sour-mean]".
	Sum
	// Helmert: k-1 columns; column j is -1 at the levels before level j+1 and j at that level: j+1 coefficients further it is
	// above the mean of those before. "style[stirred-earlier]".
	Helmert
	// Indicator: k indicators, for a model or random term without intercept: means. "style[sour]".
	Indicator
)

func (c Coding) String() string {
	names := []string{"Treatment", "Sum", "Helmert", "Indicator"}
	if c < 0 || int(c) >= len(names) {
		return strconv.Itoa(int(c))
	}
	return names[c]
}

// Factor is a column of levels: labels, or numbers taken as labels. Only levels that occur in the fit count.
type Factor struct {
	Name     string
	Contrast Coding // Treatment is the zero value
	Base     string // Treatment: the level that others differ from; "" is the first
}

func (f Factor) String() string { return f.Name }

// factor is a Factor that has seen its levels.
type factor struct {
	name   string
	levels []string
	column []string    // names
	code   [][]float64 // columns x levels
}

func (f Factor) learn(t *Table) (basis, error) {
	c, err := t.column(f.Name)
	if err != nil {
		return nil, err
	}
	levels := c.levels()
	if f.Contrast < Treatment || f.Contrast > Indicator {
		return nil, &dataerr.Cell{Column: f.Name, Value: f.Contrast.String(), Err: dataerr.ErrUnknown, Want: "contrasts are Treatment, Sum, Helmert or Indicator"}
	}
	if len(levels) < 2 && f.Contrast != Indicator {
		return nil, &dataerr.Cell{Column: f.Name, Value: list(levels), Err: dataerr.ErrTooFew, Want: "a factor needs at least two levels; leave the term out"}
	}
	base := 0
	if f.Base != "" {
		if base = slices.Index(levels, f.Base); base < 0 {
			return nil, &dataerr.Cell{Column: f.Name, Value: f.Base, Err: dataerr.ErrUnknown, Want: "a base is one of the levels, " + list(levels)}
		}
		if f.Contrast != Treatment {
			return nil, &dataerr.Cell{Column: f.Name, Value: f.Base, Err: dataerr.ErrConflict, Want: "only Treatment contrasts have a base"}
		}
	}
	out := &factor{name: f.Name, levels: levels}
	out.encode(f.Contrast, base)
	return out, nil
}

func (f *factor) encode(coding Coding, base int) {
	k := len(f.levels)
	add := func(name string) []float64 {
		f.column = append(f.column, f.name+"["+name+"]")
		f.code = append(f.code, make([]float64, k))
		return f.code[len(f.code)-1]
	}
	for j, level := range f.levels {
		switch coding {
		case Treatment:
			if j != base {
				add(level)[j] = 1
			}
		case Indicator:
			add(level)[j] = 1
		case Sum:
			if j < k-1 {
				c := add(level + "-mean")
				c[j], c[k-1] = 1, -1
			}
		case Helmert:
			if j > 0 {
				c := add(level + "-earlier")
				for i := range j {
					c[i] = -1
				}
				c[j] = float64(j)
			}
		}
	}
}

func (f *factor) names() []string { return slices.Clone(f.column) }

func (f *factor) values(t *Table) ([][]float64, error) {
	codes, err := codesOf(t, f.name, f.levels)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(f.code))
	for j, code := range f.code {
		out[j] = make([]float64, t.rows)
		for i, k := range codes {
			out[j][i] = code[k]
		}
	}
	return out, nil
}

// codesOf gives the level of each row of a column; a level that was not there when the model was fitted is an error at its
// row.
func codesOf(t *Table, name string, levels []string) ([]int, error) {
	c, err := t.column(name)
	if err != nil {
		return nil, err
	}
	codes := c.codes(levels)
	var bad []error
	for i, k := range codes {
		if k < 0 {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: name, Value: c.text(i), Err: dataerr.ErrUnknown, Want: "the levels of the fit are " + list(levels)})
		}
	}
	return codes, errors.Join(bad...)
}
