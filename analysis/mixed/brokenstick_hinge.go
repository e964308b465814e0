package mixed

import (
	"math"

	"lastsip/analysis/dataerr"
)

// Hinge is max(0, x - At) of a column x of numbers: beside Numeric of the same column it makes two lines that meet at At,
// and its coefficient is the change of slope there. Column name: "hinge(age)". At has the unit of x.
type Hinge struct {
	Name string
	At   float64 // finite
}

func (h Hinge) String() string { return "hinge(" + h.Name + ")" }

func (h Hinge) learn(t *Table) (basis, error) {
	if math.IsNaN(h.At) || math.IsInf(h.At, 0) {
		return nil, &dataerr.Cell{Column: h.Name, Value: number(h.At), Err: dataerr.ErrNumber, Want: "lines meet at a finite number"}
	}
	_, err := t.numeric(h.Name)
	return h, err
}

func (h Hinge) names() []string { return []string{h.String()} }

func (h Hinge) values(t *Table) ([][]float64, error) {
	x, err := t.numeric(h.Name)
	if err != nil {
		return nil, err
	}
	return [][]float64{hinge(x, h.At)}, nil
}

func hinge(x []float64, at float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = max(0, v-at)
	}
	return out
}

// jump is 1 above at, else 0.
func jump(x []float64, at float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if v > at {
			out[i] = 1
		}
	}
	return out
}
