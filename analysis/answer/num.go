package answer

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// Num is a number that may be empty or open to the right. JSON has no infinity, so an open end is written "inf", an empty
// one null. The zero value is empty.
type Num struct {
	x     float64
	state numState
}

type numState uint8

const (
	numEmpty numState = iota
	numFinite
	numOpen
)

// Of makes a number; +Inf gives an open one. NaN and -Inf are bugs in our own code and panic.
func Of(x float64) Num {
	switch {
	case math.IsNaN(x) || math.IsInf(x, -1):
		panic(fmt.Sprintf("answer: %v is not a result", x))
	case math.IsInf(x, 1):
		return Num{state: numOpen}
	}
	return Num{x: x, state: numFinite}
}

// Empty tells that there is no number.
func (n Num) Empty() bool { return n.state == numEmpty }

// Open tells that the number has no upper bound.
func (n Num) Open() bool { return n.state == numOpen }

// Finite tells that there is a number to print.
func (n Num) Finite() bool { return n.state == numFinite }

// Float gives the number, +Inf when open, NaN when empty: ask Empty first.
func (n Num) Float() float64 {
	switch n.state {
	case numFinite:
		return n.x
	case numOpen:
		return math.Inf(1)
	}
	return math.NaN()
}

// String is the form of results.csv: full precision, "inf" or nothing.
func (n Num) String() string {
	switch n.state {
	case numFinite:
		return strconv.FormatFloat(n.x, 'g', -1, 64)
	case numOpen:
		return "inf"
	}
	return ""
}

// MarshalJSON writes a number, "inf" or null.
func (n Num) MarshalJSON() ([]byte, error) {
	switch n.state {
	case numFinite:
		return json.Marshal(n.x)
	case numOpen:
		return []byte(`"inf"`), nil
	}
	return []byte("null"), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (n *Num) UnmarshalJSON(b []byte) error {
	switch string(b) {
	case "null":
		*n = Num{}
		return nil
	case `"inf"`:
		*n = Num{state: numOpen}
		return nil
	}
	var x float64
	if err := json.Unmarshal(b, &x); err != nil {
		return fmt.Errorf("a number, \"inf\" or null is wanted: %w", err)
	}
	*n = Of(x)
	return nil
}
