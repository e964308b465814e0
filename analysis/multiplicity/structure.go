package multiplicity

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// part is a group of statistics that is independent of all others, given the scale.
type part interface {
	exceed(w float64) estimate // P(some statistic of the group > w) for standard normals
	clone() part               // for another goroutine: shares nothing that exceed writes to
	name() string
}

// Correlations nearer than this to 0, to +-1 or to a structure are taken as being there.
const (
	nearZero = 1e-10
	nearOne  = 1e-12
	nearForm = 1e-8
)

// split takes repeated statistics out and cuts the rest into groups without correlation between them.
func split(corr mat.Symmetric, both bool) [][]int {
	var kept []int
	for i := range corr.SymmetricDim() {
		again := slices.ContainsFunc(kept, func(j int) bool {
			r := corr.At(i, j)
			return r > 1-nearOne || both && r < -1+nearOne
		})
		if !again {
			kept = append(kept, i)
		}
	}
	var groups [][]int
	for len(kept) > 0 {
		group := []int{kept[0]}
		kept = kept[1:]
		for at := 0; at < len(group); at++ {
			var rest []int
			for _, j := range kept {
				if math.Abs(corr.At(group[at], j)) > nearZero {
					group = append(group, j)
				} else {
					rest = append(rest, j)
				}
			}
			kept = rest
		}
		slices.Sort(group)
		groups = append(groups, group)
	}
	return groups
}

// loads finds l with corr_ij = l_i l_j for i != j, if there is one.
func loads(corr mat.Symmetric, group []int) ([]float64, bool) {
	n := len(group)
	l := make([]float64, n)
	switch n {
	case 1:
		return l, true
	case 2:
		r := corr.At(group[0], group[1])
		l[0] = math.Sqrt(math.Abs(r))
		l[1] = math.Copysign(l[0], r)
		return l, true
	}
	// The largest correlation and its largest companion give the first load, the others follow.
	a, b := 0, 1
	for i := range n {
		for j := range i {
			if math.Abs(corr.At(group[i], group[j])) > math.Abs(corr.At(group[a], group[b])) {
				a, b = i, j
			}
		}
	}
	c := -1
	for i := range n {
		if i != a && i != b && (c < 0 || math.Abs(corr.At(group[i], group[a])) > math.Abs(corr.At(group[c], group[a]))) {
			c = i
		}
	}
	square := corr.At(group[a], group[b]) * corr.At(group[a], group[c]) / corr.At(group[b], group[c])
	if !(square > 0 && square <= 1+nearForm) {
		return nil, false
	}
	l[a] = math.Sqrt(square)
	for i := range n {
		if i != a {
			l[i] = corr.At(group[i], group[a]) / l[a]
		}
		if math.Abs(l[i]) > 1+nearForm {
			return nil, false
		}
		l[i] = max(-1, min(1, l[i]))
	}
	for i := range n {
		for j := range i {
			if !(math.Abs(corr.At(group[i], group[j])-l[i]*l[j]) < nearForm) {
				return nil, false
			}
		}
	}
	return l, true
}

// allPairs finds k such that the group is, up to signs and in the order 12, 13, ..., 1k, 23, ..., all differences of k
// independent values of equal variance.
func allPairs(corr mat.Symmetric, group []int) (k int, ok bool) {
	k, c := pairsCorrelation(corr, group)
	return k, c != nil && far(corr, group, c) < nearForm
}

// pairsCorrelation is the matrix that the group would have, with signs taken from it; nil when the number does not fit.
func pairsCorrelation(corr mat.Symmetric, group []int) (k int, c *mat.SymDense) {
	for k = 3; k*(k-1)/2 < len(group); k++ {
	}
	if k*(k-1)/2 != len(group) {
		return 0, nil
	}
	type pair struct{ i, j int }
	of := make([]pair, 0, len(group))
	for i := range k {
		for j := i + 1; j < k; j++ {
			of = append(of, pair{i, j})
		}
	}
	// The sign of 1j follows from 12, that of ij from 1j.
	sign := make([]float64, len(group))
	sign[0] = 1
	for b := 1; b < len(of); b++ {
		from := 0
		if of[b].i > 0 {
			from = of[b].j - 1
		}
		sign[b] = sign[from] * math.Copysign(1, corr.At(group[b], group[from]))
	}
	c = mat.NewSymDense(len(group), nil)
	for b, p := range of {
		c.SetSym(b, b, 1)
		for a, q := range of[:b] {
			switch {
			case p.i == q.i || p.j == q.j:
				c.SetSym(b, a, sign[a]*sign[b]/2)
			case p.i == q.j || p.j == q.i:
				c.SetSym(b, a, -sign[a]*sign[b]/2)
			}
		}
	}
	return k, c
}

// directions writes a group as Z_i = a_i'y with y independent standard normals, as many as the rank: rows of length 1.
func directions(corr mat.Symmetric, group []int) (rows [][]float64, ok bool) {
	n := len(group)
	sub := mat.NewSymDense(n, nil)
	for i, gi := range group {
		for j := range i + 1 {
			sub.SetSym(i, j, corr.At(gi, group[j]))
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sub, true) {
		return nil, false
	}
	values := eigen.Values(nil)
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	if values[0] < -nearForm*float64(n) {
		return nil, false
	}
	first := 0
	for values[first] < nearZero*float64(n) {
		first++
	}
	rows = make([][]float64, n)
	for i := range rows {
		length := 0.0
		for k := first; k < n; k++ {
			v := vectors.At(i, k) * math.Sqrt(values[k])
			rows[i] = append(rows[i], v)
			length += v * v
		}
		for k := range rows[i] {
			rows[i][k] /= math.Sqrt(length)
		}
	}
	return rows, true
}
