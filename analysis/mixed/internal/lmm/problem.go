package lmm

import "math"

// Term is one random term: q columns that vary over the levels of a grouping factor.
type Term struct {
	Levels      int         // number of levels of the grouping factor
	Level       []int       // n: level of each row, 0..Levels-1
	Columns     [][]float64 // q columns of n values that vary over the levels; a nil column is ones
	Independent bool        // columns uncorrelated: Lambda is diagonal (q thetas instead of q(q+1)/2)
}

// Problem is a model's design and response with their cross-products. It is read-only and may be shared by goroutines; it
// refers to the caller's slices, which must not change while it is in use.
//
// One grouping factor, the root, is eliminated first, together with the terms nested in it: that is one block per level of
// the root. The other random effects, the rest, meet in one dense system with X. Effects are held blocks first, then rest.
type Problem struct {
	n, p    int
	x       [][]float64
	y       []float64
	xscale  []float64 // p powers of two: column k holds x[k] / xscale[k]
	terms   []term
	effects int // r, random effects in all
	thetas  int

	root   []int   // n: block of each row; nil when there is none
	blocks []block // in order of their effects
	rest   int     // d, random effects outside the blocks
	zz, zc []float64
	cross  matrix // d+p: cross-products of [Z_rest, X], both triangles
	xchol  matrix // p: Cholesky factor of X'X
	xbad   bool   // X'X has no Cholesky factor
}

// term is a Term as the kernel holds it.
type term struct {
	Term
	q      int
	scale  []float64 // q powers of two
	offset int       // first effect in the caller's order: term after term, level after level, column after column
	theta  int       // first theta
	nested bool      // its levels live in the blocks
	block  []int     // per level, when nested: its block
	at     []int     // per level: first effect in the kernel's order; levels of the rest follow each other
	weight float64   // mean square of one effect's column, summed over its rows: the information about it
}

// New builds the cross-products once. x holds p columns of n values, of full column rank; y n values.
func New(x [][]float64, y []float64, terms []Term) *Problem {
	p := &Problem{n: len(y), p: len(x), x: x, y: y, xscale: make([]float64, len(x)), terms: make([]term, len(terms))}
	for k, c := range x {
		p.xscale[k] = scaleOf(c)
	}
	for i, t := range terms {
		k := term{Term: t, q: len(t.Columns), offset: p.effects, theta: p.thetas, scale: make([]float64, len(t.Columns))}
		for c, col := range t.Columns {
			k.scale[c] = scaleOf(col)
		}
		p.effects += t.Levels * k.q
		p.thetas += k.thetas()
		p.terms[i] = k
	}
	p.arrange()
	p.multiply()
	return p
}

// Thetas is the number of covariance parameters.
func (p *Problem) Thetas() int { return p.thetas }

// Effects is the number of random effects in all.
func (p *Problem) Effects() int { return p.effects }

// Offset is the first random effect of a term, in the order term after term, level after level, column after column.
func (p *Problem) Offset(term int) int { return p.terms[term].offset }

// Diagonal says which thetas lie on the diagonal of Lambda and are bounded below by 0.
func (p *Problem) Diagonal() []bool {
	d := make([]bool, 0, p.thetas)
	for i := range p.terms {
		p.terms[i].each(func(row, col int) { d = append(d, row == col) })
	}
	return d
}

func (t *term) thetas() int {
	if t.Independent {
		return t.q
	}
	return t.q * (t.q + 1) / 2
}

// each visits the entries of Lambda that are thetas, by columns.
func (t *term) each(visit func(row, col int)) {
	for c := range t.q {
		visit(c, c)
		for r := c + 1; r < t.q && !t.Independent; r++ {
			visit(r, c)
		}
	}
}

// scaleOf is the power of two next to a column's root mean square, 1 for zeros and for a nil column.
func scaleOf(c []float64) float64 {
	ss := dot(c, c)
	if !(ss > 1e-250 && ss < 1e250) {
		top := 0.0
		for _, v := range c {
			top = max(top, math.Abs(v))
		}
		if top == 0 || math.IsInf(top, 0) {
			return 1
		}
		_, e := math.Frexp(top)
		return math.Ldexp(1, e)
	}
	_, e := math.Frexp(math.Sqrt(ss / float64(len(c))))
	return math.Ldexp(1, e)
}
