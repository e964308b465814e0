package survival

import (
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// RatioTest compares groups by the likelihood ratio of one family with and without a location of its own for each group.
type RatioTest struct {
	Without, With *ParametricFit // With has a covariate for each of Groups but the first: log of the time ratio to the first
	ChiSquare     float64        // 2 (With.LogLik - Without.LogLik)
	DF            int            // groups less one
	P             float64        // from chi-square on DF: for many rows, and independent ones
	Converged     bool           // both fits did
	groups        []int
}

// Groups returns the labels of the groups, ascending, as a copy.
func (r *RatioTest) Groups() []int { return slices.Clone(r.groups) }

// CompareGroups tests whether k groups have the same law: group[i] is the label, any number, of row i; weights as Fit. The
// family, and scales by Strata, are the same in both fits; Cluster plays no part. Errors are those of Fit, as many labels
// as rows, and at least two groups with weight; a group without an ended row, or with none but ended ones at the first
// look, has no maximum (ErrSeparated): compare by scores (ScoreTest) there.
func (spec Parametric) CompareGroups(rows []Interval, group []int, weights []float64) (*RatioTest, error) {
	if len(group) != len(rows) {
		return nil, labels("group", len(group), len(rows))
	}
	without, err := spec.Fit(rows, nil, weights)
	if err != nil {
		return nil, err
	}
	var present []int
	for i, g := range group {
		if weights == nil || weights[i] > 0 {
			present = append(present, g)
		}
	}
	slices.Sort(present)
	present = slices.Compact(present)
	k := len(present)
	if k < 2 {
		return nil, &dataerr.Cell{Column: "group", Value: strconv.Itoa(present[0]), Err: dataerr.ErrTooFew,
			Want: "all rows with weight are of one group; give rows of at least two"}
	}
	cells := make([]float64, len(rows)*(k-1))
	x := make([][]float64, len(rows))
	for i, g := range group {
		x[i] = cells[i*(k-1) : (i+1)*(k-1)]
		if at, ok := slices.BinarySearch(present, g); ok && at > 0 {
			x[i][at-1] = 1
		}
	}
	with, err := spec.Fit(rows, x, weights)
	if err != nil {
		return nil, err
	}
	r := &RatioTest{Without: without, With: with, ChiSquare: max(0, 2*(with.LogLik-without.LogLik)), DF: k - 1,
		Converged: without.Converged && with.Converged, groups: present}
	r.P = distuv.ChiSquared{K: float64(r.DF)}.Survival(r.ChiSquare)
	return r, nil
}
