package survival

import (
	"errors"
	"math"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Interval says that the time of one row lies in (L, R]: not yet at L, over by R. One unit for all, 0 <= L <= R.
// R = +Inf: not seen to end. L = R: seen exactly, the one case where L belongs to the interval. L = 0 with R finite: over
// by the first look at R (a time of exactly 0 is not in it; it is the point L = R = 0).
type Interval struct{ L, R float64 }

// Status is one look at one row at Time (finite, >= 0): Over when the time to the event is Time or less.
type Status struct {
	Time float64
	Over bool
}

// Interval is the same knowledge as an interval: (0, Time] when over, else (Time, +Inf]. Over at Time 0 is the point 0.
func (s Status) Interval() Interval {
	if s.Over {
		return Interval{L: 0, R: s.Time}
	}
	return Interval{L: s.Time, R: math.Inf(1)}
}

// checkIntervals gives every fault in obs and weights as joined *dataerr.Cell (row = 1-based observation), nil when
// there is none. Rows of weight 0 are checked too: a fault there is a fault in the data all the same.
func checkIntervals(obs []Interval, weights []float64) error {
	var bad []error
	cell := func(i int, column string, v float64, err error, want string) {
		bad = append(bad, &dataerr.Cell{Row: i + 1, Column: column, Value: number(v), Err: err, Want: want})
	}
	for i, o := range obs {
		lower := nonNegative(o.L)
		if lower != nil {
			cell(i, "L", o.L, lower, "give the last time at which it was not yet over, finite and not negative; 0 when there was none")
		}
		switch {
		case math.IsNaN(o.R):
			cell(i, "R", o.R, dataerr.ErrNumber, "give the first time at which it was over, +Inf when that was not seen")
		case lower == nil && o.R < o.L:
			cell(i, "R", o.R, dataerr.ErrOrder, "an upper end is not below its lower end "+number(o.L))
		case o.R < 0:
			cell(i, "R", o.R, dataerr.ErrRange, "an upper end is not negative")
		}
	}
	return join(bad, checkWeights(len(obs), weights))
}

// checkStatus is checkIntervals for status rows.
func checkStatus(obs []Status, weights []float64) error {
	var bad []error
	for i, o := range obs {
		if err := nonNegative(o.Time); err != nil {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Time", Value: number(o.Time), Err: err,
				Want: "give the time of the look, finite and not negative"})
		}
	}
	return join(bad, checkWeights(len(obs), weights))
}

// Weights beyond these, the second as a share of the sum, cannot be told from nothing or overflow on the way.
const (
	largestSum = 1e300
	lightest   = 1e-100
)

// checkWeights wants nil or one weight a row, finite and >= 0, not all 0 and not too far apart; n >= 1.
func checkWeights(n int, weights []float64) []error {
	if n == 0 {
		return []error{&dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give at least one row"}}
	}
	if weights == nil {
		return nil
	}
	if len(weights) != n {
		return []error{&dataerr.Cell{Column: "weight", Value: strconv.Itoa(len(weights)) + " weights", Err: dataerr.ErrConflict,
			Want: "give one weight for each of the " + strconv.Itoa(n) + " rows, or nil"}}
	}
	var bad []error
	total := 0.0
	for i, w := range weights {
		total += w
		if err := nonNegative(w); err != nil {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "weight", Value: number(w), Err: err,
				Want: "a weight is finite and not negative"})
		}
	}
	if bad == nil && total == 0 {
		bad = append(bad, &dataerr.Cell{Column: "weight", Value: "0", Err: dataerr.ErrTooFew, Want: "at least one row needs a weight above 0"})
	}
	if bad == nil && total > largestSum {
		bad = append(bad, &dataerr.Cell{Column: "weight", Value: number(total), Err: dataerr.ErrRange,
			Want: "the sum of the weights is at most 1e300; scale them down"})
	}
	if bad != nil {
		return bad
	}
	for i, w := range weights {
		if w > 0 && w < lightest*total {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "weight", Value: number(w), Err: dataerr.ErrRange,
				Want: "it is below 1e-100 of the sum of the weights; write 0 to leave the row out"})
		}
	}
	return bad
}

// nonNegative is the sentinel for a number that is not finite or below 0, else nil.
func nonNegative(v float64) error {
	switch {
	case math.IsNaN(v):
		return dataerr.ErrNumber
	case v < 0 || math.IsInf(v, 0):
		return dataerr.ErrRange
	}
	return nil
}

// checkFraction wants a fraction strictly between 0 and 1.
func checkFraction(column string, v float64, want string) []error {
	if v > 0 && v < 1 {
		return nil
	}
	err := dataerr.ErrRange
	if math.IsNaN(v) {
		err = dataerr.ErrNumber
	}
	return []error{&dataerr.Cell{Column: column, Value: number(v), Err: err, Want: want}}
}

func join(a, b []error) error { return errors.Join(append(a, b...)...) }

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
