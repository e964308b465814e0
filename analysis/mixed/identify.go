package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// identified checks what the data can never tell apart on the random side: errors. What they can hardly tell are warnings.
func identified(groups []*grouping) (warnings []string, err error) {
	var bad []error
	for k, g := range groups {
		own, err := g.separable()
		warnings, bad = append(warnings, own...), append(bad, err)
		for _, before := range groups[:k] {
			bad = append(bad, g.repeats(before))
		}
		warnings = append(warnings, g.flat()...)
	}
	return warnings, errors.Join(bad...)
}

// separable wants no column of 0, and correlated columns that are linearly independent.
func (g *grouping) separable() (warnings []string, err error) {
	columns := make([][]float64, len(g.names))
	for j := range columns {
		columns[j] = g.column(j)
		if slices.Max(columns[j]) == 0 && slices.Min(columns[j]) == 0 {
			return nil, &dataerr.Cell{Column: g.names[j], Value: "0", Err: errConstant, Want: "a slope over " + g.name + " needs values other than 0"}
		}
	}
	if g.independent || len(columns) == 1 {
		return nil, nil
	}
	e := eliminate(columns)
	if len(e.dropped) > 0 {
		d := e.dropped[0]
		return nil, &dataerr.Cell{Column: g.names[d.column], Err: dataerr.ErrConflict, Want: "over " + g.name + " it is " +
			combination(d.coef, chosen(g.names, e.kept[:len(d.coef)])) + ", so that their variances cannot be told apart; leave it out, or set NoIntercept"}
	}
	return nearly(e.near, g.names, e.kept)
}

// repeats wants no column that an earlier term has over the same partition of the rows.
func (g *grouping) repeats(before *grouping) error {
	if !samePartition(g.code, before.code, len(g.levels), len(before.levels)) {
		return nil
	}
	for j, name := range g.names {
		for k, earlier := range before.names {
			if !slices.Equal(g.column(j), before.column(k)) {
				continue
			}
			if g.name == before.name {
				return &dataerr.Cell{Column: g.name, Value: name, Err: dataerr.ErrDuplicate, Want: "two random terms have the same column over the same levels; give it once"}
			}
			return &dataerr.Cell{Column: g.name, Value: name, Err: dataerr.ErrConflict,
				Want: fmt.Sprintf("%s parts the rows as %s does, so that the variances of %s and %s cannot be told apart; leave one out", g.name, before.name, name, earlier)}
		}
	}
	return nil
}

// samePartition says whether two codings put the same rows together.
func samePartition(a, b []int, levelsA, levelsB int) bool {
	if levelsA != levelsB {
		return false
	}
	image := slices.Repeat([]int{-1}, levelsA)
	for i, k := range a {
		if image[k] >= 0 && image[k] != b[i] {
			return false
		}
		image[k] = b[i]
	}
	return true // as many levels on both sides, so that the map is one to one
}

// flat warns of slopes that are constant within every level: they tell nothing of how a level changes.
func (g *grouping) flat() (warnings []string) {
	if g.z[0] != nil {
		return nil // without intercept a column may say how levels of one kind scatter
	}
	for j, z := range g.z {
		if z == nil {
			continue
		}
		low, high := slices.Repeat([]float64{math.Inf(1)}, len(g.levels)), slices.Repeat([]float64{math.Inf(-1)}, len(g.levels))
		for i, v := range z {
			k := g.code[i]
			low[k], high[k] = min(low[k], v), max(high[k], v)
		}
		if slices.Equal(low, high) {
			warnings = append(warnings, fmt.Sprintf("slope of %s over %s: %s does not vary within any level of %s, so that its variance is only told from how far levels scatter",
				g.names[j], g.name, g.names[j], g.name))
		}
	}
	return warnings
}
