package mixed

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
)

// Contrast is a linear combination of fixed coefficients, one number for each in the order of Fit.Coefficients: an expected
// mean (Means), a slope (Slopes), or differences of such (AllPairs, AgainstFirst, Consecutive, Combine).
type Contrast struct {
	Name string
	L    []float64
}

// AllPairs gives every difference of two, earlier less later: "a - b", "a - c", "b - c".
func AllPairs(of []Contrast) []Contrast {
	var out []Contrast
	for i, a := range of {
		for _, b := range of[i+1:] {
			out = append(out, less(a, b))
		}
	}
	return out
}

// AgainstFirst gives every one but the first less the first: "b - a", "c - a", such as all ages against fresh.
func AgainstFirst(of []Contrast) []Contrast {
	var out []Contrast
	for _, c := range of[min(1, len(of)):] {
		out = append(out, less(c, of[0]))
	}
	return out
}

// Consecutive gives every one but the first less the one before it: "b - a", "c - b".
func Consecutive(of []Contrast) []Contrast {
	var out []Contrast
	for i := 1; i < len(of); i++ {
		out = append(out, less(of[i], of[i-1]))
	}
	return out
}

// Combine gives the sum of the list with these weights, one for each. An error (*dataerr.Cell) where their numbers differ.
func Combine(name string, of []Contrast, weights []float64) (Contrast, error) {
	if len(of) != len(weights) || len(of) == 0 {
		return Contrast{}, &dataerr.Cell{Column: name, Value: strconv.Itoa(len(weights)) + " weights", Err: dataerr.ErrConflict,
			Want: fmt.Sprintf("give one for each of the %d members of the list, of which there is at least one", len(of))}
	}
	out := Contrast{Name: name, L: make([]float64, len(of[0].L))}
	for i, c := range of {
		if len(c.L) != len(out.L) {
			return Contrast{}, &dataerr.Cell{Row: i + 1, Column: c.Name, Value: strconv.Itoa(len(c.L)) + " numbers", Err: dataerr.ErrConflict,
				Want: "the members of the list belong to different models; take them from one fit"}
		}
		for j, v := range c.L {
			out.L[j] += weights[i] * v
		}
	}
	return out, nil
}

// less is a - b; lists of different lengths give the longer, which Contrasts refuses by name.
func less(a, b Contrast) Contrast {
	l := make([]float64, max(len(a.L), len(b.L)))
	copy(l, a.L)
	for j, v := range b.L {
		l[j] -= v
	}
	return Contrast{Name: a.Name + " - " + b.Name, L: l}
}

// errNotEstimable is about combinations of coefficients that the rows of the fit do not tell.
var errNotEstimable = errors.New("cannot be estimated")

// Linear gives a contrast by names of coefficients, others 0. A name that the fit does not know, or knows twice, is an error, and so
// is a column that was left out because it equals a combination of others: its coefficient cannot be told from theirs.
func (f *Fit) Linear(name string, weights map[string]float64) (Contrast, error) {
	names := f.Coefficients()
	out := Contrast{Name: name, L: make([]float64, len(names))}
	var bad []error
	for _, coefficient := range slices.Sorted(maps.Keys(weights)) {
		if j := slices.Index(names, coefficient); j >= 0 {
			out.L[j] = weights[coefficient]
			if slices.Contains(names[j+1:], coefficient) {
				bad = append(bad, &dataerr.Cell{Column: name, Value: coefficient, Err: dataerr.ErrDuplicate, Want: "two coefficients have this name; give the column another"})
			}
			continue
		}
		cell := &dataerr.Cell{Column: name, Value: coefficient, Err: dataerr.ErrUnknown, Want: "the coefficients are " + list(names)}
		if near := nearest(coefficient, names); len(near) > 0 {
			cell.Want = "did you mean " + strings.Join(near, " or ") + "?"
		}
		for _, a := range f.fixed.alias {
			if f.fixed.names[a.column] == coefficient {
				cell.Err, cell.Want = errNotEstimable, "the column was left out, as "+f.fixed.says(a)+" in the rows of the fit"
			}
		}
		bad = append(bad, cell)
	}
	if bad != nil {
		return Contrast{}, errors.Join(bad...)
	}
	return out, nil
}
