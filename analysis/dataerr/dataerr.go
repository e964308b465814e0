// Package dataerr holds errors that point at the place in the user's data where something is wrong.
//
// A Cell names file, line, column and value, says what is wrong with it (a sentinel, for errors.Is) and what would be
// right. Functions that read or check data gather every fault and return them joined (errors.Join), so that a user sees
// all of them at once; errors.As finds the first Cell, All finds every one.
package dataerr

import (
	"errors"
	"fmt"
	"strings"
)

// What can be wrong with a cell.
var (
	ErrMissing   = errors.New("is empty")
	ErrNumber    = errors.New("is not a number")
	ErrRange     = errors.New("is out of range")
	ErrOrder     = errors.New("is out of order")
	ErrUnknown   = errors.New("is not known")
	ErrDuplicate = errors.New("stands twice")
	ErrConflict  = errors.New("contradicts another place")
	ErrTime      = errors.New("is not a time")
	ErrFormat    = errors.New("cannot be read")
	ErrNoColumn  = errors.New("column is missing")
	ErrNoFile    = errors.New("file is missing")
	ErrTooFew    = errors.New("too few observations")
)

// Cell is one fault at one place.
type Cell struct {
	File   string // folder and file, as "my-evening/tastes.csv"; empty when the data came without a file
	Row    int    // line in the file (the header is line 1), else the 1-based observation; 0 when the fault has no row
	Column string // column name; empty when the fault has no column
	Value  string // what stands there, as written
	Err    error  // one of the sentinels above
	Want   string // what would be right, as advice: "write minutes such as 4.5"
}

// maxShown bounds how much of a value is quoted in a message.
const maxShown = 60

// Error gives place, value, fault and remedy in one line.
func (c *Cell) Error() string {
	var b strings.Builder
	place := make([]string, 0, 3)
	if c.File != "" {
		place = append(place, c.File)
	}
	if c.Row > 0 {
		if c.File != "" {
			place = append(place, fmt.Sprintf("line %d", c.Row))
		} else {
			place = append(place, fmt.Sprintf("observation %d", c.Row))
		}
	}
	if c.Column != "" {
		place = append(place, "column "+c.Column)
	}
	b.WriteString(strings.Join(place, ", "))
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if c.Value != "" {
		fmt.Fprintf(&b, "%q ", Shorten(c.Value))
	}
	if c.Err != nil {
		b.WriteString(c.Err.Error())
	}
	if c.Want != "" {
		b.WriteString("; ")
		b.WriteString(c.Want)
	}
	return b.String()
}

// Unwrap gives the sentinel.
func (c *Cell) Unwrap() error { return c.Err }

// Shorten cuts a value that is too long to quote, at a rune border.
func Shorten(s string) string {
	n := 0
	for i := range s {
		if n == maxShown {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

// All returns every Cell in an error tree, in order.
func All(err error) []*Cell {
	var out []*Cell
	var walk func(error)
	walk = func(err error) {
		if err == nil {
			return
		}
		if c, ok := err.(*Cell); ok {
			out = append(out, c)
			return
		}
		switch u := err.(type) {
		case interface{ Unwrap() []error }:
			for _, e := range u.Unwrap() {
				walk(e)
			}
		case interface{ Unwrap() error }:
			walk(u.Unwrap())
		}
	}
	walk(err)
	return out
}
