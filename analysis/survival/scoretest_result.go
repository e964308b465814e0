package survival

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// ScoreResult is the outcome of a ScoreTest. It never changes.
type ScoreResult struct {
	Scores ScoreKind
	Method ScoreMethod // how P was found

	ChiSquare   float64 // score' variance^- score; the square of Z for two groups
	DF          int     // rank of the variance: groups less one, or fewer (see Warnings)
	Z           float64 // two groups: standardised score of the second, positive = it ended earlier; else 0
	PAsymptotic float64 // two-sided, from chi-square on DF

	P            float64 // two-sided, by Method: the share of relabellings whose ChiSquare is at least that of the data
	PError       float64 // Monte Carlo standard error of P; 0 unless by draws
	SmallestP    float64 // the least P that this test could give with these scores; 0 when asymptotic. By draws and with more than two groups a lower bound, 1/(1+Draws)
	Relabellings float64 // how many there are, without those of tied units, which change nothing; rounded above 2^53, may be +Inf; 0 when asymptotic
	Draws        int     // relabellings drawn; 0 unless by draws

	Units     int  // rows (Test), subjects with rows in two groups or more (Within), subjects (Between, Clustered)
	TiedUnits int  // Within: subjects among Units whose groups score alike, so that exchanging them changes nothing
	Tied      bool // nothing that may be exchanged differs: P = 1, and no test was possible

	groups   []int
	rows     []int
	score    []float64 // k
	cov      []float64 // k times k
	root     [][]float64
	warnings []error
}

// ScoreMethod says how a p-value was found.
type ScoreMethod int

// The methods.
const (
	Exact      ScoreMethod = iota // every relabelling
	ByDraws                       // random relabellings: (1 + as extreme) / (1 + draws) (Phipson & Smyth 2010)
	Asymptotic                    // chi-square law
)

func (m ScoreMethod) String() string {
	switch m {
	case Exact:
		return "exact"
	case ByDraws:
		return "draws"
	case Asymptotic:
		return "asymptotic"
	}
	return "unknown"
}

// Groups returns the labels of the groups, ascending, as a copy.
func (r *ScoreResult) Groups() []int { return slices.Clone(r.groups) }

// Rows returns the number of rows of each of Groups, as a copy.
func (r *ScoreResult) Rows() []int { return slices.Clone(r.rows) }

// Score returns for each of Groups the sum of its scores (Test, Clustered: of rows; Within, Between: of a subject's means)
// less what is expected when labels are dealt at random: positive where the group ended earlier than expected. They sum
// to 0. A copy.
func (r *ScoreResult) Score() []float64 { return slices.Clone(r.score) }

// Variance returns the covariance of Score, one row for each of Groups: under relabelling, or clustered. A copy.
func (r *ScoreResult) Variance() [][]float64 {
	k := len(r.groups)
	out := make([][]float64, k)
	for g := range out {
		out[g] = slices.Clone(r.cov[g*k : (g+1)*k])
	}
	return out
}

// Warnings returns caveats to print beside the numbers, as a copy; nil when there are none.
func (r *ScoreResult) Warnings() []error { return slices.Clone(r.warnings) }

// TiedError is the warning of a test without anything to tell groups by.
type TiedError struct{}

func (*TiedError) Error() string {
	return "nothing tells the groups apart: all rows that could change places score alike, so p is 1 whatever the truth"
}

// UnlinkedError is the warning of a test in which some groups are never compared with some others.
type UnlinkedError struct{ DF, Groups int }

func (e *UnlinkedError) Error() string {
	return fmt.Sprintf("not all groups are linked: %d groups allow %d independent comparisons instead of %d, as no subject joins some of them or its rows score alike",
		e.Groups, e.DF, e.Groups-1)
}

// smallShare is the share of the largest eigenvalue below which one counts as 0.
const smallShare = 1e-9

// inverseRoot gives W with W' W the generalised inverse of the covariance cov of k sums: one row for each eigenvalue above
// rounding, none when cov is 0.
func inverseRoot(cov []float64, k int) [][]float64 {
	var eigen mat.EigenSym
	if !eigen.Factorize(mat.NewSymDense(k, slices.Clone(cov)), true) {
		return nil // does not happen for finite numbers
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	var root [][]float64
	for j, v := range values {
		if !(v > smallShare*values[k-1]) || v < tieSlack*tieSlack {
			continue
		}
		w := make([]float64, k)
		for g := range w {
			w[g] = vectors.At(g, j) / math.Sqrt(v)
		}
		root = append(root, w)
	}
	return root
}

// quadratic is |W u|^2.
func quadratic(root [][]float64, u []float64) float64 {
	sum := 0.0
	for _, w := range root {
		dot := 0.0
		for g, v := range w {
			dot += v * u[g]
		}
		sum += dot * dot
	}
	return sum
}
