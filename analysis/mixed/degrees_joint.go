package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// Joint is a test that several linear combinations of fixed effects are 0 together.
type Joint struct {
	F        float64 // Kenward-Roger: already scaled
	Num, Den float64 // degrees of freedom; Num counts the combinations that say something of their own
	P        float64
}

// Joint tests that L b = 0, L one combination a row. Rows that others imply are left out. Satterthwaite: the
// eigenvectors of L C L' give independent t statistics, and Den is the one at which F has the mean of the sum of their
// squares [11]; a t on two degrees of freedom or fewer makes Den 2. It depends a little on how the rows are scaled, as theirs does.
func (d *Degrees) Joint(l [][]float64) (Joint, error) {
	if len(l) == 0 {
		return Joint{}, &dataerr.Cell{Column: "contrast", Value: "no rows", Err: dataerr.ErrTooFew, Want: "give at least one combination to test"}
	}
	for i, row := range l {
		if err := d.check(row, i+1); err != nil {
			return Joint{}, err
		}
	}
	l = d.independent(l)
	if len(l) == 0 {
		return Joint{}, &dataerr.Cell{Column: "contrast", Err: dataerr.ErrRange, Want: "no combination has a variance above 0: there is nothing to test"}
	}
	v, num := d.over(l, d.cov), float64(len(l))
	estimate := mat.NewVecDense(len(l), nil)
	for i, row := range l {
		estimate.SetVec(i, inner(row, d.beta))
	}
	var chol mat.Cholesky
	var solved mat.VecDense
	if !chol.Factorize(v) || chol.SolveVecTo(&solved, estimate) != nil {
		return Joint{}, &dataerr.Cell{Column: "contrast", Err: dataerr.ErrConflict, Want: "the covariance of the combinations cannot be inverted; give combinations that do not nearly imply each other"}
	}
	out := Joint{F: mat.Dot(estimate, &solved) / num, Num: num, Den: math.Inf(1)}
	switch d.method {
	case Satterthwaite:
		out.Den = d.pooled(l)
	case KenwardRoger, KenwardRogerDropped:
		scale := 1.0
		out.Den, scale = d.matched(l)
		out.F *= scale
	}
	if !(out.Den > 0) || !(out.F >= 0) {
		return Joint{}, &dataerr.Cell{Column: "contrast", Value: number(out.Den), Err: dataerr.ErrRange, Want: "its degrees of freedom are not above 0: the variances are not told by these data"}
	}
	out.P = fisherP(out.F, out.Num, out.Den)
	return out, nil
}

// over is L M L'.
func (d *Degrees) over(l [][]float64, m []float64) *mat.SymDense {
	p := len(d.beta)
	rows := mat.NewDense(len(l), p, nil)
	for i, row := range l {
		rows.SetRow(i, row)
	}
	var lm, out mat.Dense
	lm.Mul(rows, mat.NewDense(p, p, m))
	out.Mul(&lm, rows.T())
	sym := mat.NewSymDense(len(l), nil)
	for i := range l {
		for j := range i + 1 {
			sym.SetSym(i, j, (out.At(i, j)+out.At(j, i))/2)
		}
	}
	return sym
}

// independent keeps the rows whose combination is not told by those before it, judged by the share of its variance that
// they leave.
func (d *Degrees) independent(l [][]float64) [][]float64 {
	v := d.over(l, d.plain)
	var kept [][]float64
	var roots [][]float64 // Cholesky rows of those kept, in terms of all kept before
	var at []int
	for i := range l {
		left := v.At(i, i)
		root := make([]float64, 0, len(kept)+1)
		for k, j := range at {
			x := (v.At(i, j) - inner(root, roots[k][:k])) / roots[k][k]
			root = append(root, x)
			left -= x * x
		}
		if left > 1e-9*v.At(i, i) {
			kept, at, roots = append(kept, l[i]), append(at, i), append(roots, append(root, math.Sqrt(left)))
		}
	}
	return kept
}

// pooled is the denominator of several t statistics on their own degrees of freedom, Fai and Cornelius' first method.
func (d *Degrees) pooled(l [][]float64) float64 {
	if len(l) == 1 {
		return d.of(l[0])
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(d.over(l, d.plain), true) {
		return math.NaN()
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	q, mean, same, first := float64(len(l)), 0.0, true, 0.0
	for k := range l {
		row := make([]float64, len(d.beta))
		for i := range l {
			for j := range row {
				row[j] += vectors.At(i, k) * l[i][j]
			}
		}
		df := d.of(row)
		if df <= 2 {
			return 2
		}
		if k == 0 {
			first = df
		}
		same = same && math.Abs(df-first) < 1e-8*first
		mean += df / (df - 2)
	}
	if same {
		return first
	}
	return 2 * mean / (mean - q)
}

// matched gives Kenward and Roger's denominator and the factor of F: F scaled has the mean and variance of an F law.
func (d *Degrees) matched(l [][]float64) (den, scale float64) {
	if len(l) == 1 {
		return d.of(l[0]), 1
	}
	q := float64(len(l))
	var chol mat.Cholesky
	if !chol.Factorize(d.over(l, d.plain)) {
		return math.NaN(), math.NaN()
	}
	m := len(d.slopes)
	part, trace := make([]mat.Dense, m), make([]float64, m) // (L C L')^-1 L dC_i L'
	for i, s := range d.slopes {
		if err := chol.SolveTo(&part[i], d.over(l, s)); err != nil {
			return math.NaN(), math.NaN()
		}
		trace[i] = mat.Trace(&part[i])
	}
	a1, a2 := 0.0, 0.0
	var two mat.Dense
	for i := range m {
		for j := range m {
			two.Mul(&part[i], &part[j])
			a1 += d.spread[i*m+j] * trace[i] * trace[j]
			a2 += d.spread[i*m+j] * mat.Trace(&two)
		}
	}
	return moments(q, a1, a2)
}

// moments solves for denominator and factor from Kenward and Roger's A1 and A2 (section 4 there).
func moments(q, a1, a2 float64) (den, scale float64) {
	b := (a1 + 6*a2) / (2 * q)
	g := ((q+1)*a1 - (q+4)*a2) / ((q + 2) * a2)
	under := 3*q + 2*(1-g)
	c1, c2, c3 := g/under, (q-g)/under, (q+2-g)/under
	v0, v1, v2 := 1+c1*b, 1-c2*b, 1-c3*b
	if math.Abs(v0) < 1e-10 {
		v0 = 0
	}
	ratio := 1.0 // (1 - A2/q) / V1, both 0 together
	if up := 1 - a2/q; math.Abs(up) >= 1e-14 || math.Abs(v1) >= 1e-14 {
		ratio = up / v1
	}
	rho := ratio * ratio * v0 / v2 / q
	den = 4 + (q+2)/(q*rho-1)
	if math.Abs(den-2) < 1e-2 {
		return den, 1
	}
	return den, den * (1 - a2/q) / (den - 2)
}
