package panelcsv

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
)

// maxAlike bounds how many places of one kind (file, column, cause) a message shows.
const maxAlike = 20

// faults are all faults of a folder. Error prints one a line; Unwrap keeps every one.
type faults struct{ cells []*dataerr.Cell }

// kind is what makes two faults alike.
type kind struct {
	file, column string
	err          error
}

func kindOf(c *dataerr.Cell) kind { return kind{c.File, c.Column, c.Err} }

func (f *faults) Error() string {
	var lines []string
	seen := map[kind]int{}
	for _, c := range f.cells {
		k := kindOf(c)
		seen[k]++
		if seen[k] <= maxAlike {
			lines = append(lines, c.Error())
		}
	}
	told := map[kind]bool{}
	for _, c := range f.cells {
		if k := kindOf(c); seen[k] > maxAlike && !told[k] {
			told[k] = true
			lines = append(lines, more(k, seen[k]-maxAlike))
		}
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives every fault.
func (f *faults) Unwrap() []error {
	out := make([]error, len(f.cells))
	for i, c := range f.cells {
		out[i] = c
	}
	return out
}

// more says how many alike are not shown.
func more(k kind, n int) string {
	place := k.file
	if k.column != "" {
		place += ", column " + k.column
	}
	return fmt.Sprintf("%s: and %d more like this (%v)", place, n, k.err)
}

// fail sorts the faults by file and line and makes them one error.
func (r *reader) fail() error {
	return &faults{inOrder(r.faults)}
}

// inOrder sorts by file (in the order in which files were met) and line; what has no line comes first.
func inOrder(cells []*dataerr.Cell) []*dataerr.Cell {
	first := map[string]int{}
	for _, c := range cells {
		if _, ok := first[c.File]; !ok {
			first[c.File] = len(first)
		}
	}
	out := slices.Clone(cells)
	slices.SortStableFunc(out, func(a, b *dataerr.Cell) int {
		return cmp.Or(cmp.Compare(first[a.File], first[b.File]), cmp.Compare(a.Row, b.Row))
	})
	return out
}

// rest stands for the findings of one kind beyond those shown one by one.
type rest struct {
	faults
	text string
}

func (r *rest) Error() string { return r.text }

// capped turns findings into errors: at most maxAlike of a kind by themselves, the others in one that unwraps to them.
func capped(cells []*dataerr.Cell) []error {
	var out []error
	seen := map[kind]int{}
	extra := map[kind]*rest{}
	for _, c := range inOrder(cells) {
		k := kindOf(c)
		seen[k]++
		if seen[k] <= maxAlike {
			out = append(out, c)
			continue
		}
		if extra[k] == nil {
			extra[k] = &rest{}
			out = append(out, extra[k])
		}
		extra[k].cells = append(extra[k].cells, c)
		extra[k].text = more(k, len(extra[k].cells))
	}
	return out
}
