package multiplicity_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/multiplicity"
)

// equal is the matrix with one correlation throughout.
func equal(n int, rho float64) *mat.SymDense {
	return filled(n, func(int, int) float64 { return rho })
}

// filled has ones on the diagonal and f(i, j), i > j, elsewhere.
func filled(n int, f func(i, j int) float64) *mat.SymDense {
	s := mat.NewSymDense(n, nil)
	for i := range n {
		s.SetSym(i, i, 1)
		for j := range i {
			s.SetSym(i, j, f(i, j))
		}
	}
	return s
}

// products has correlations l_i l_j.
func products(l []float64) *mat.SymDense {
	return filled(len(l), func(i, j int) float64 { return l[i] * l[j] })
}

// of is the correlation matrix of the contrasts in the rows of l between independent means with these variances.
func of(variances []float64, l [][]float64) *mat.SymDense {
	cov := func(a, b []float64) (s float64) {
		for k, v := range variances {
			s += a[k] * b[k] * v
		}
		return s
	}
	return filled(len(l), func(i, j int) float64 { return cov(l[i], l[j]) / math.Sqrt(cov(l[i], l[i])*cov(l[j], l[j])) })
}

// allPairs are the differences i - j of k means, i < j.
func allPairs(k int) (l [][]float64) {
	for i := range k {
		for j := i + 1; j < k; j++ {
			row := make([]float64, k)
			row[i], row[j] = 1, -1
			l = append(l, row)
		}
	}
	return l
}

func ones(k int) []float64 {
	v := make([]float64, k)
	for i := range v {
		v[i] = 1
	}
	return v
}

// joint is a law that is known to exist.
func joint(t testing.TB, corr mat.Symmetric, df float64, side multiplicity.Side) *multiplicity.Joint {
	j, err := multiplicity.NewJoint(corr, df, side)
	require.NoError(t, err)
	return j
}

// tail is the adjusted p-value of c with its error.
func tail(t testing.TB, j *multiplicity.Joint, c float64) (p, within float64) {
	all := make([]float64, j.Len())
	for i := range all {
		all[i] = c
	}
	a, err := j.Adjust(all)
	require.NoError(t, err)
	return a.P[0], a.Within
}

func number(t testing.TB, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// rows are the lines of a file without its header.
func rows(t testing.TB, name string) [][]string {
	f, err := os.Open(dir + name)
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return all[1:]
}

// drawnWithin is the error that points may leave at probability p.
func drawnWithin(p float64) float64 {
	if p <= 0.1 {
		return 2.2e-5
	}
	return 1e-4
}

func TestDunnettCritical(t *testing.T) {
	var entries []struct {
		ID, Source string
		Values     json.RawMessage
		Tolerance  struct{ Rel, Abs float64 }
	}
	b, err := os.ReadFile(dir + "dunnett.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &entries))
	e := entries[0]
	var v struct {
		K   []int
		DF  []string
		Two []float64 `json:"two_sided_05"`
		One []float64 `json:"one_sided_05"`
	}
	require.NoError(t, json.Unmarshal(e.Values, &v))
	require.Len(t, v.K, 35)
	source := e.ID + ": " + e.Source
	for i, k := range v.K {
		df := number(t, v.DF[i])
		for side, want := range map[multiplicity.Side]float64{multiplicity.TwoSided: v.Two[i], multiplicity.Greater: v.One[i]} {
			got, err := multiplicity.MaxTCritical(equal(k, 0.5), df, 0.95, side)
			require.NoError(t, err)
			mathtest.CloseRel(t, "critical value", got, want, e.Tolerance.Abs, e.Tolerance.Rel, source)
			p, _ := tail(t, joint(t, equal(k, 0.5), df, side), got)
			mathtest.Close(t, "p at the critical value", p, 0.05, 1e-9, "1 - level")
		}
	}
}

// The three ways to the studentised range: recognised, and by points where the last pairs are told in another order.
func TestStudentisedRange(t *testing.T) {
	const source = "R 4.2.2: testdata/multiplicity/studentised_range.R"
	turned := map[int]*multiplicity.Joint{}
	for _, r := range rows(t, "studentised_range.csv") {
		k, df, q := int(number(t, r[0])), number(t, r[1]), number(t, r[2])
		want, tukey, critical := number(t, r[3]), number(t, r[4]), number(t, r[5])
		j := joint(t, of(ones(k), allPairs(k)), df, multiplicity.TwoSided)
		require.Contains(t, []string{"range", "plane"}, j.Methods()[0])
		p, within := tail(t, j, q/math.Sqrt2)
		require.Less(t, within, 1e-9)
		mathtest.CloseRel(t, "tail of the range", p, want, 1e-11, 1e-9, source)
		if df > 3 { // at 3, ptukey is off by 1e-6
			mathtest.CloseRel(t, "tail of the range", p, tukey, 1e-9, 1e-7, source+", ptukey")
		}
		byName, err := multiplicity.NewRange(k, df)
		require.NoError(t, err)
		require.Equal(t, j.Len(), byName.Len())
		again, _, err := byName.Tail(-q / math.Sqrt2)
		require.NoError(t, err)
		mathtest.CloseRel(t, "tail by NewRange", again, p, 1e-11, 1e-9, "the same law")
		c, err := j.Critical(0.95)
		require.NoError(t, err)
		mathtest.CloseRel(t, "critical value", c.Value*math.Sqrt2, critical, 0, 1e-8, source)
		if k > 6 || df != 24 {
			continue
		}
		if turned[k] == nil {
			l := allPairs(k)
			l[0], l[len(l)-1] = l[len(l)-1], l[0]
			turned[k] = joint(t, of(ones(k), l), df, multiplicity.TwoSided)
		}
		p, within = tail(t, turned[k], q/math.Sqrt2)
		require.Less(t, within, drawnWithin(want))
		mathtest.Close(t, "tail by points", p, want, within+1e-9, source)
	}
}

func TestJointReference(t *testing.T) {
	const source = "R 4.2.2, nested integrals: testdata/multiplicity/joint_t.R"
	chain := filled(5, func(i, j int) float64 { return math.Pow(0.5, float64(i-j)) })
	between := [][]float64{{-1, 1, 0, 0, 0}, {0, -1, 1, 0, 0}, {0, 0, -1, 1, 0}, {0, 0, 0, -1, 1}}
	shapes := map[string]struct {
		corr   *mat.SymDense
		method string
	}{
		"product": {products([]float64{0.9, 0.5, -0.3, 0.7}), "product"},
		"sharp":   {products([]float64{0.999, 0.999, 0.6}), "product"},
		"chain":   {chain, "lattice"},
		"between": {of(ones(5), between), "lattice"},
		"three":   {of([]float64{1, 2, 4}, allPairs(3)), "plane"},
		"four":    {of([]float64{1, 2, 4, 0.5}, allPairs(4)), "lattice"},
		"nearly": {filled(4, func(i, j int) float64 {
			l, m := []float64{0.7, 0.75, 0.65, 0.6}, []float64{0.2, -0.2, 0.15, 0.1}
			return l[i]*l[j] + m[i]*m[j]
		}), "lattice"},
		"near four": {of([]float64{1, 1.1, 0.95, 1.05}, allPairs(4)), "lattice"},
	}
	sides := map[string]multiplicity.Side{"two": multiplicity.TwoSided, "greater": multiplicity.Greater}
	made := map[string]*multiplicity.Joint{}
	for _, r := range rows(t, "joint_t.csv") {
		shape, key := shapes[r[0]], r[0]+r[1]+r[2]
		if made[key] == nil {
			made[key] = joint(t, shape.corr, number(t, r[2]), sides[r[1]])
		}
		j := made[key]
		require.Equal(t, []string{shape.method}, j.Methods())
		p, within := tail(t, j, number(t, r[3]))
		allowed := 1e-9
		if shape.method == "lattice" {
			allowed = drawnWithin(number(t, r[4]))
		}
		require.Less(t, within, allowed, r)
		mathtest.Close(t, r[0]+" "+r[1], p, number(t, r[4]), 2*within+1e-8, source)
	}
}
