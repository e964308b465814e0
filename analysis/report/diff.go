package report

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
)

// Change is one difference between two results.csv: a row that only one has, or a column in which they differ.
type Change struct {
	Key    []string // the ten key columns
	Column string   // empty: the whole row is new or gone
	A, B   string   // as written; empty where the row is missing
	Gone   bool     // the row is only in A
	New    bool     // the row is only in B
}

// String names the row by its key columns that hold something, and both values with their difference.
func (c Change) String() string {
	var key []string
	for _, k := range c.Key {
		if k != "" {
			key = append(key, plain(k))
		}
	}
	name := strings.Join(key, " ")
	switch {
	case c.Gone:
		return name + ": only in the first"
	case c.New:
		return name + ": only in the second"
	}
	s := fmt.Sprintf("%s: %s %s, then %s", name, c.Column, orEmpty(c.A), orEmpty(c.B))
	a, errA := strconv.ParseFloat(c.A, 64)
	b, errB := strconv.ParseFloat(c.B, 64)
	if d := b - a; errA == nil && errB == nil && !math.IsInf(d, 0) && !math.IsNaN(d) {
		s += fmt.Sprintf(" (%+.4g)", d)
	}
	return s
}

func orEmpty(s string) string {
	if s == "" {
		return "nothing"
	}
	return plain(s)
}

// Diff compares two results.csv row by row and number by number, in the order of their keys; none means that they agree.
// The names stand in errors.
func Diff(a, b io.Reader, nameA, nameB string) ([]Change, error) {
	x, errA := readResults(a, nameA)
	y, errB := readResults(b, nameB)
	if err := errors.Join(errA, errB); err != nil {
		return nil, err
	}
	var out []Change
	for k, row := range x {
		other, ok := y[k]
		if !ok {
			out = append(out, Change{Key: row[:keyColumns], Gone: true})
			continue
		}
		for i := keyColumns; i < len(Columns); i++ {
			if row[i] != other[i] {
				out = append(out, Change{Key: row[:keyColumns], Column: Columns[i], A: row[i], B: other[i]})
			}
		}
	}
	for k, row := range y {
		if _, ok := x[k]; !ok {
			out = append(out, Change{Key: row[:keyColumns], New: true})
		}
	}
	slices.SortFunc(out, func(a, b Change) int {
		return cmp.Or(slices.Compare(a.Key, b.Key), cmp.Compare(slices.Index(Columns, a.Column), slices.Index(Columns, b.Column)))
	})
	return out, nil
}

// readResults reads the rows of a results.csv by key.
func readResults(r io.Reader, name string) (map[string][]string, error) {
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil {
		return nil, &dataerr.Cell{File: name, Err: fmt.Errorf("%w: %w", dataerr.ErrFormat, err), Want: "name a results.csv that a run or answer -out has written"}
	}
	if len(rows) == 0 || !slices.Equal(rows[0], Columns) {
		return nil, &dataerr.Cell{File: name, Row: 1, Err: dataerr.ErrFormat, Want: "a results.csv begins with the columns " + strings.Join(Columns, ",")}
	}
	out := map[string][]string{}
	for i, row := range rows[1:] {
		k := strings.Join(row[:keyColumns], "\x1f")
		if _, twice := out[k]; twice {
			return nil, &dataerr.Cell{File: name, Row: i + 2, Err: dataerr.ErrDuplicate, Want: "every row has a key of its own"}
		}
		out[k] = row
	}
	return out, nil
}
