package mixed

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
)

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// short writes a number for a sentence.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// maxListed bounds how many names a message lists.
const maxListed = 12

func list(names []string) string {
	if len(names) > maxListed {
		return strings.Join(names[:maxListed], ", ") + " and " + strconv.Itoa(len(names)-maxListed) + " more"
	}
	return strings.Join(names, ", ")
}

// and joins names for a sentence: "a", "a and b", "a, b and c".
func and(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// nearest gives up to three names that differ from name by few letters (a third of its length, at least one), nearest
// first.
func nearest(name string, names []string) []string {
	type near struct {
		name  string
		edits int
	}
	var found []near
	for _, n := range names {
		if d := edits(strings.ToLower(name), strings.ToLower(n)); d <= max(1, len(name)/3) {
			found = append(found, near{n, d})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int { return cmp.Compare(a.edits, b.edits) })
	var out []string
	for _, f := range found[:min(3, len(found))] {
		out = append(out, f.name)
	}
	return out
}

// edits is the number of letters put in, taken out, changed or swapped with their neighbour to make b of a (optimal string
// alignment).
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			d[i][j] = min(d[i-1][j-1]+change, d[i-1][j]+1, d[i][j-1]+1)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}

// combination writes coefficients and names as a sum: "age + 2 acid", "0" when all coefficients are 0.
func combination(coef []float64, names []string) string {
	var b strings.Builder
	for j, c := range coef {
		switch {
		case c == 0:
			continue
		case b.Len() == 0 && c < 0:
			b.WriteString("-")
		case b.Len() > 0 && c < 0:
			b.WriteString(" - ")
		case b.Len() > 0:
			b.WriteString(" + ")
		}
		if a := short(math.Abs(c)); a != "1" {
			b.WriteString(a + " ")
		}
		b.WriteString(names[j])
	}
	if b.Len() == 0 {
		return "0"
	}
	return b.String()
}
