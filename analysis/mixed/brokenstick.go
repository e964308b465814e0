package mixed

import (
	"errors"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// BrokenStick is a linear mixed model in which the expected response follows two straight lines of one column that meet at
// an unknown place psi [20]:
//
//	Spec's fixed part + before x + change max(0, x - psi),   random part as in Spec
//
// psi maximises the likelihood (always ML, as the fixed columns differ from psi to psi) over the places that leave MinSteps
// steps on either side, a step at psi itself counting for both. Between neighbouring values of x the best psi is where two
// lines that are free to jump meet, if they meet there [20]; so the search is over every gap, not over a grid.
//
// Without random terms this is least squares. A bend is no proof of a break: a fall that merely gains speed is fitted
// better by two lines than by one, and in simulated panels of 5 and 12 tasters 41 to 100 % of such falls gave a drawn p of at
// most 0.05 (testdata/mixed/onset.md).
type BrokenStick struct {
	Spec     Spec    // its fixed part gets Numeric{Name}, unless it has it, and Hinge{Name, psi}
	Name     string  // column of numbers x
	MinSteps int     // steps on each side of psi; 0 means 2, the least
	Within   float64 // values of x no further than this from the next are one step; 0: every distinct value is a step
	Cut      float64 // psi with 2 (l_max - l) <= Cut make the set; 0 means 4.9. See Bend.Set
}

// defaultCut is wide enough for panels of five.
const defaultCut = 4.9

// Fit finds the bend. Besides the faults of Spec.Fit, fewer than 2 MinSteps steps and a Name whose lines cannot be told
// from the other terms are errors; doubts are in Warnings.
func (b BrokenStick) Fit(t *Table) (*Bend, error) {
	if t == nil {
		return nil, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give a table with at least one row"}
	}
	if b.MinSteps == 0 {
		b.MinSteps = 2
	}
	if b.Cut == 0 {
		b.Cut = defaultCut
	}
	spec, place := b.line()
	places, err := b.places(t)
	if err != nil {
		return nil, errors.Join(b.check(), err)
	}
	straight, err := spec.Fit(t)
	if err = errors.Join(b.check(), err); err != nil {
		return nil, err
	}
	if len(straight.Parts()[place].Coefficients) == 0 {
		return nil, &dataerr.Cell{Column: b.Name, Err: dataerr.ErrConflict,
			Want: "in these rows it is a combination of the terms before it, so that a bend has no slopes; leave those out"}
	}
	s, err := newStick(b.Name, straight, places)
	if err != nil {
		return nil, err
	}
	return s.bend(b, spec, place)
}

// line is the model without bend, and which of its parts Name is.
func (b BrokenStick) line() (spec Spec, place int) {
	spec = b.Spec.clone()
	place = slices.IndexFunc(spec.Fixed, func(t Term) bool { return t == Term(Numeric{b.Name}) })
	if place < 0 {
		place, spec.Fixed = len(spec.Fixed), append(spec.Fixed, Numeric{b.Name})
	}
	if !spec.NoIntercept {
		place++
	}
	return spec, place
}

func (b BrokenStick) check() error {
	var bad []error
	if b.MinSteps < 2 {
		bad = append(bad, &dataerr.Cell{Column: "MinSteps", Value: strconv.Itoa(b.MinSteps), Err: dataerr.ErrRange,
			Want: "a line needs two steps on either side of the bend; give 2 or more"})
	}
	if !(b.Cut > 0) || math.IsInf(b.Cut, 0) {
		bad = append(bad, &dataerr.Cell{Column: "Cut", Value: number(b.Cut), Err: dataerr.ErrRange, Want: "give a number above 0"})
	}
	if !(b.Within >= 0) || math.IsInf(b.Within, 0) {
		bad = append(bad, &dataerr.Cell{Column: "Within", Value: number(b.Within), Err: dataerr.ErrRange, Want: "give 0 or more, in the unit of " + b.Name})
	}
	return errors.Join(bad...)
}

// places gives the distinct values of x from the first to the last place of a bend.
func (b BrokenStick) places(t *Table) ([]float64, error) {
	x, err := t.numeric(b.Name)
	if err != nil || b.check() != nil {
		return nil, err
	}
	u := distinct(x)
	var begin []int // of each step in u
	for i, v := range u {
		if i == 0 || v-u[i-1] > b.Within {
			begin = append(begin, i)
		}
	}
	if k := len(begin); k < 2*b.MinSteps {
		return nil, &dataerr.Cell{Column: b.Name, Value: strconv.Itoa(k) + " steps", Err: dataerr.ErrTooFew,
			Want: "a bend with " + strconv.Itoa(b.MinSteps) + " steps on either side needs at least " + strconv.Itoa(2*b.MinSteps)}
	}
	return u[begin[b.MinSteps]-1 : begin[len(begin)-b.MinSteps]+1], nil
}
