package mixed

import (
	"math"

	"lastsip/analysis/dataerr"
)

// Margins are the ends between which a difference counts as none, in the unit of the response: Lower < Upper, usually -m and
// m. One of them may be infinite: then it is a test of not being worse, or not better.
type Margins struct{ Lower, Upper float64 }

// Equivalence is the test that a contrast lies within margins.
type Equivalence struct {
	Name           string
	Estimate, SE   float64
	DF             float64
	TLower, PLower float64 // one-sided test against "at or below the lower margin"
	TUpper, PUpper float64 // one-sided test against "at or above the upper margin"
	P              float64 // the larger of the two
	Level          float64 // of the limits: 1 - 2 alpha
	Lower, Upper   float64
	Equivalent     bool // P <= alpha, which is when Lower and Upper lie within the margins
}

// Equivalent tests each contrast of lying strictly within margins, by two one-sided t tests at alpha each [19]; 0 means
// 0.05, with limits at 90 %. It is not adjusted for the number of contrasts; a sequence fixed beforehand that stops at the
// first failure needs no adjustment. Errors as Contrasts; margins that are NaN or out of order are errors too.
func (f *Fit) Equivalent(of []Contrast, margins Margins, alpha float64, df DF) ([]Equivalence, error) {
	d, err := f.Degrees(df)
	if err != nil {
		return nil, err
	}
	return d.Equivalent(of, margins, alpha)
}

// Equivalent is Fit.Equivalent by Degrees that were made before.
func (d *Degrees) Equivalent(of []Contrast, margins Margins, alpha float64) ([]Equivalence, error) {
	if alpha == 0 {
		alpha = 0.05
	}
	if !(alpha > 0 && alpha < 0.5) {
		return nil, &dataerr.Cell{Column: "alpha", Value: number(alpha), Err: dataerr.ErrRange, Want: "give a level of the tests above 0 and below 0.5, such as 0.05"}
	}
	if err := margins.check(); err != nil {
		return nil, err
	}
	infer, err := d.inferAll(of, 1-2*alpha)
	if err != nil {
		return nil, err
	}
	out := make([]Equivalence, len(of))
	for i, v := range infer {
		e := Equivalence{Name: of[i].Name, Estimate: v.Estimate, SE: v.SE, DF: v.DF, Level: 1 - 2*alpha, Lower: v.Lower, Upper: v.Upper}
		e.TLower, e.TUpper = (v.Estimate-margins.Lower)/v.SE, (v.Estimate-margins.Upper)/v.SE
		e.PLower, e.PUpper = studentAbove(e.TLower, v.DF), studentAbove(-e.TUpper, v.DF)
		e.P = max(e.PLower, e.PUpper)
		e.Equivalent = e.P <= alpha
		out[i] = e
	}
	return out, nil
}

func (m Margins) check() error {
	switch {
	case math.IsNaN(m.Lower) || math.IsNaN(m.Upper):
		return &dataerr.Cell{Column: "margins", Value: number(m.Lower) + ", " + number(m.Upper), Err: dataerr.ErrNumber, Want: "give two numbers, such as -1 and 1"}
	case !(m.Lower < m.Upper):
		return &dataerr.Cell{Column: "margins", Value: number(m.Lower) + ", " + number(m.Upper), Err: dataerr.ErrOrder, Want: "the lower margin lies below the upper one, such as -1 and 1"}
	case math.IsInf(m.Lower, 0) && math.IsInf(m.Upper, 0):
		return &dataerr.Cell{Column: "margins", Value: number(m.Lower) + ", " + number(m.Upper), Err: dataerr.ErrRange, Want: "at least one margin is finite"}
	}
	return nil
}

// studentAbove is P(T > t).
func studentAbove(t, df float64) float64 {
	if t >= 0 {
		return studentP(t, df) / 2
	}
	return 1 - studentP(t, df)/2
}
