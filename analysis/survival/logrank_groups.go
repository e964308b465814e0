package survival

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// GroupTest is the comparison of k groups. ChiSquare is (O - E)' V^- (O - E), large-sample chi-square on DF under no
// difference, and P its upper tail. DF is the rank of V: k - 1, less one for each group (or set of groups) that was never at
// risk beside the others when an event happened, which a warning says. With few events P is rough.
type GroupTest struct {
	ChiSquare float64
	DF        int
	P         float64

	n                  []int
	observed, expected []float64
	variance           []float64 // k by k, by rows; both triangles filled
	warnings           []error
}

// N returns the number of rows in each group, as a copy.
func (r *GroupTest) N() []int { return slices.Clone(r.n) }

// Observed and Expected return, for each group, the weighted sums of events seen and expected, as copies; seen more than
// expected: earlier than in the other groups.
func (r *GroupTest) Observed() []float64 { return slices.Clone(r.observed) }

// Expected is described at Observed.
func (r *GroupTest) Expected() []float64 { return slices.Clone(r.expected) }

// Variance returns the covariance of Observed - Expected under no difference, k by k, as a copy.
func (r *GroupTest) Variance() [][]float64 {
	k := len(r.n)
	out := make([][]float64, k)
	for a := range out {
		out[a] = slices.Clone(r.variance[a*k : (a+1)*k])
	}
	return out
}

// Warnings returns caveats to print beside the numbers, as a copy; nil when there are none.
func (r *GroupTest) Warnings() []error { return slices.Clone(r.warnings) }

// groups gathers the sums of a test.
type groups struct {
	GroupTest
	of      []int // group of each row
	stratum []int
	work    []float64
}

// newGroups checks the numbers of groups and strata for n rows.
func newGroups(n int, group, stratum []int) (*groups, []error) {
	if len(group) != n {
		return nil, []error{&dataerr.Cell{Column: "group", Value: strconv.Itoa(len(group)) + " groups", Err: dataerr.ErrConflict,
			Want: "give one group for each of the " + strconv.Itoa(n) + " rows"}}
	}
	var bad []error
	if stratum != nil && len(stratum) != n {
		bad = append(bad, &dataerr.Cell{Column: "stratum", Value: strconv.Itoa(len(stratum)) + " strata", Err: dataerr.ErrConflict,
			Want: "give one stratum for each of the " + strconv.Itoa(n) + " rows, or nil"})
	}
	k := 0
	for i, v := range group {
		if v < 0 || v >= n { // n rows have at most n groups, so a larger number leaves a gap
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "group", Value: strconv.Itoa(v), Err: dataerr.ErrRange,
				Want: "number the groups from 0 without gaps"})
			continue
		}
		k = max(k, v+1)
	}
	if bad != nil {
		return nil, bad
	}
	g := &groups{of: group, stratum: stratum}
	g.n = make([]int, k)
	for _, v := range group {
		g.n[v]++
	}
	for v, rows := range g.n {
		if rows == 0 {
			bad = append(bad, &dataerr.Cell{Column: "group", Value: strconv.Itoa(v), Err: dataerr.ErrTooFew,
				Want: "this group has no row; number the groups from 0 without gaps"})
		}
	}
	if k == 1 {
		bad = append(bad, &dataerr.Cell{Column: "group", Value: "0", Err: dataerr.ErrTooFew, Want: "all rows are in one group; give rows of at least two"})
	}
	if bad != nil {
		return nil, bad
	}
	g.observed, g.expected, g.variance = make([]float64, k), make([]float64, k), make([]float64, k*k)
	g.work = make([]float64, 2*k)
	return g, nil
}

// maxRho bounds the exponent of a weight, so that no weight over- or underflows as a whole.
const maxRho = 10

func rhoFault(rho float64) error {
	switch {
	case math.IsNaN(rho):
		return &dataerr.Cell{Column: "Rho", Value: number(rho), Err: dataerr.ErrNumber, Want: "give 0 for the log-rank test, 1 for the Wilcoxon form"}
	case rho < -maxRho || rho > maxRho:
		return &dataerr.Cell{Column: "Rho", Value: number(rho), Err: dataerr.ErrRange, Want: "give a number from -10 to 10, mostly 0 or 1"}
	}
	return nil
}

// workspace returns two zeroed slices, one place a group.
func (g *groups) workspace() (risk, events []float64) {
	clear(g.work)
	k := len(g.n)
	return g.work[:k], g.work[k:]
}

// parts cuts stamps, in order of time, into strata, each still in order of time.
func (g *groups) parts(stamps []stamp) [][]stamp {
	if g.stratum == nil {
		return [][]stamp{stamps}
	}
	place := map[int]int{}
	var parts [][]stamp
	for _, s := range stamps {
		at, ok := place[g.stratum[s.row]]
		if !ok {
			at = len(parts)
			place[g.stratum[s.row]] = at
			parts = append(parts, nil)
		}
		parts[at] = append(parts[at], s)
	}
	return parts
}

// rankTolerance is where an eigenvalue of V counts as 0, against the largest.
const rankTolerance = 1e-10

// result makes the statistic from the sums. V is singular by nature (its rows sum to 0), so it is inverted on its own space.
func (g *groups) result() (*GroupTest, error) {
	k := len(g.n)
	v := mat.NewSymDense(k, nil)
	for a := range k {
		for b := range a + 1 {
			g.variance[b*k+a] = g.variance[a*k+b]
			v.SetSym(b, a, g.variance[a*k+b])
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(v, true) {
		return nil, fmt.Errorf("survival: the variance of the %d groups cannot be taken apart", k)
	}
	values := eig.Values(nil)
	if !(values[k-1] > 0) {
		return nil, &dataerr.Cell{Column: "group", Err: dataerr.ErrTooFew,
			Want: "no event happened at a time when rows of two groups were at risk and some went on, so there is nothing to compare; look for longer"}
	}
	var vectors mat.Dense
	eig.VectorsTo(&vectors)
	for j, value := range values {
		if value <= rankTolerance*values[k-1] {
			continue
		}
		along := 0.0
		for a := range k {
			along += vectors.At(a, j) * (g.observed[a] - g.expected[a])
		}
		g.ChiSquare += along * along / value
		g.DF++
	}
	g.P = distuv.ChiSquared{K: float64(g.DF)}.Survival(g.ChiSquare)
	if g.DF < k-1 {
		g.warnings = append(g.warnings, g.missing())
	}
	r := g.GroupTest
	return &r, nil
}

// missing says that some groups are not compared, and which have no part at all.
func (g *groups) missing() error {
	k := len(g.n)
	var alone []string
	for a := range k {
		if g.variance[a*k+a] == 0 {
			alone = append(alone, strconv.Itoa(a))
		}
	}
	if alone == nil {
		return &dataerr.Cell{Column: "group", Err: dataerr.ErrConflict,
			Want: "the strata fall into sets without a common group, so some groups are never compared with each other"}
	}
	return &dataerr.Cell{Column: "group", Value: fmt.Sprint(alone), Err: dataerr.ErrTooFew,
		Want: "never at risk beside others when an event happened and some went on, so not compared; the test is of the other groups"}
}
