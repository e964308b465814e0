package mixed

import (
	"errors"
	"math"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// SetShape says what a Fieller set looks like.
type SetShape int

const (
	// Interval: all from Lower to Upper. One end may be infinite, where the slope lies just on the border of being told from 0.
	Interval SetShape = iota
	// Complement: all up to Lower and all from Upper, without what lies between: the slope is not told from 0, so that the
	// crossing may lie on either side, infinitely far.
	Complement
	// Everything: no age is excluded.
	Everything
)

func (s SetShape) String() string {
	switch s {
	case Interval:
		return "from lower to upper"
	case Complement:
		return "up to lower and from upper on"
	}
	return "every value"
}

// Crossing is the place where a line of the fixed part reaches a limit. Places have the unit of the line's variable.
type Crossing struct {
	Intercept, InterceptSE float64 // of the line, in the unit of the response
	Slope, SlopeSE         float64
	At                     float64 // (limit - Intercept) / Slope
	SE                     float64 // of At by the delta method
	DeltaLower, DeltaUpper float64 // At -+ t SE: symmetric, too short on the far side of a weak slope
	G                      float64 // (t SlopeSE / Slope)^2; from 1 on the Fieller set is not an interval
	Shape                  SetShape
	Lower, Upper           float64 // of the Fieller set, see Shape; infinite for Everything
	Level, DF              float64
}

// Inverse gives the place x where the line a'beta + x b'beta reaches limit: with coefficients intercept, style[sour], age,
// style[sour]:age, a = 1, 1, 0, 0 and b = 0, 0, 1, 1 give the age at which an average taster's line for sour does. Limits
// hold at level, say 0.95, with Student's quantile on df degrees of freedom (+Inf: normal). The Fieller set [4] holds every
// x for which the line at x is not told from limit; it is exact for given variances and df, and open where the slope is not
// told from 0. A slope of exactly 0 is an error.
func (f *Fit) Inverse(limit float64, a, b []float64, df, level float64) (Crossing, error) {
	if err := f.checkInverse(limit, a, b, df, level); err != nil {
		return Crossing{}, err
	}
	out := Crossing{Intercept: inner(a, f.beta), Slope: inner(b, f.beta), Level: level, DF: df}
	vaa, vab, vbb := f.bilinear(a, a), f.bilinear(a, b), f.bilinear(b, b)
	out.InterceptSE, out.SlopeSE = math.Sqrt(math.Max(0, vaa)), math.Sqrt(math.Max(0, vbb))
	if out.Slope == 0 {
		return out, &dataerr.Cell{Column: "b", Value: "slope 0", Err: errConstant, Want: "a line without slope reaches the limit nowhere or everywhere"}
	}
	d := limit - out.Intercept
	out.At = d / out.Slope
	out.SE = math.Sqrt(math.Max(0, vaa+2*out.At*vab+out.At*out.At*vbb)) / math.Abs(out.Slope)
	t := quantile(df, level)
	out.DeltaLower, out.DeltaUpper = out.At-t*out.SE, out.At+t*out.SE
	out.G = t * t * vbb / (out.Slope * out.Slope)
	out.fieller(out.Slope*out.Slope-t*t*vbb, -d*out.Slope-t*t*vab, d*d-t*t*vaa)
	return out, nil
}

// fieller solves p x^2 + 2 q x + r <= 0.
func (c *Crossing) fieller(p, q, r float64) {
	c.Lower, c.Upper = math.Inf(-1), math.Inf(1)
	under := q*q - p*r
	switch {
	case p > 0:
		s := math.Sqrt(math.Max(0, under)) // at least 0, as At solves it
		c.Lower, c.Upper = roots(p, q, r, s)
	case p == 0 && q > 0:
		c.Upper = -r / (2 * q)
	case p == 0 && q < 0:
		c.Lower = -r / (2 * q)
	case p < 0 && under > 0:
		c.Shape = Complement
		c.Lower, c.Upper = roots(p, q, r, math.Sqrt(under))
	default:
		c.Shape = Everything
	}
}

// roots gives the two roots of p x^2 + 2 q x + r, lower first, without cancellation.
func roots(p, q, r, s float64) (float64, float64) {
	w := -(q + math.Copysign(s, q))
	if w == 0 {
		return 0, 0
	}
	x, y := w/p, r/w
	return math.Min(x, y), math.Max(x, y)
}

func (f *Fit) bilinear(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		for j, w := range b {
			s += v * w * f.covariance.At(i, j)
		}
	}
	return s
}

// quantile is the two-sided Student quantile, normal at df = +Inf.
func quantile(df, level float64) float64 {
	p := (1 + level) / 2
	if math.IsInf(df, 1) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}

func (f *Fit) checkInverse(limit float64, a, b []float64, df, level float64) error {
	var bad []error
	cell := func(column, value string, err error, want string) {
		bad = append(bad, &dataerr.Cell{Column: column, Value: value, Err: err, Want: want})
	}
	if math.IsNaN(limit) || math.IsInf(limit, 0) {
		cell("limit", number(limit), dataerr.ErrNumber, "give a finite number in the unit of the response")
	}
	if !(df > 0) {
		cell("df", number(df), dataerr.ErrRange, "degrees of freedom are above 0; +Inf for the normal law")
	}
	if !(level > 0 && level < 1) {
		cell("level", number(level), dataerr.ErrRange, "give a fraction such as 0.95")
	}
	for k, v := range [][]float64{a, b} {
		name := []string{"a", "b"}[k]
		if len(v) != len(f.beta) {
			cell(name, strconv.Itoa(len(v))+" multipliers", dataerr.ErrConflict, "give one for each coefficient: "+list(f.Coefficients()))
			continue
		}
		for j, x := range v {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				cell(name, number(x), dataerr.ErrNumber, "the multiplier of "+f.Coefficients()[j]+" is a finite number")
			}
		}
	}
	return errors.Join(bad...)
}
