package mixed

import "gonum.org/v1/gonum/mat"

// optimum is a fitted model as the degrees of freedom see it: y = X b + sum_t Z_t b_t + e, V = s^2 H, H = I + Z T Z', T block
// diagonal with T_t = Lambda_t Lambda_t' at every level of term t. Random effects stand term after term, level after level,
// column after column; k is their number. All the formulas of this package need of X and Z is here: no matrix has a side of n.
type optimum struct {
	blocks   []block
	n, p     int
	reml     bool
	sigma    float64       // residual standard deviation
	beta     []float64     // p
	unscaled []float64     // U = (X'H^-1 X)^-1, p*p
	zx       *mat.Dense    // B = Z'H^-1 X, k*p; nil without random effects
	zr       []float64     // e = Z'H^-1 (y - X b), k
	zz       *mat.SymDense // G = Z'H^-1 Z, k*k; nil where k is too large for a dense matrix

	singular []string // as Fit.Singular

	gradient func(theta, g []float64) // of the profiled criterion, theta as in Fit.Theta; used where zz is nil
}

// block is one random term.
type block struct {
	group       string
	columns     []string  // of Z, q names
	scale       []float64 // mean square of each column over the rows, to tell 0 from small whatever the unit
	levels, at  int       // at: row of its first effect
	independent bool      // covariances are 0 by the model
	lambda      []float64 // Lambda, q*q by rows, lower triangle
}

func (b *block) q() int    { return len(b.columns) }
func (b *block) size() int { return b.levels * len(b.columns) }

// effects is k.
func (o *optimum) effects() int {
	k := 0
	for i := range o.blocks {
		k += o.blocks[i].size()
	}
	return k
}

// held names the covariances that a face holds on their boundary.
func (o *optimum) held() []string {
	out := make([]string, len(o.singular))
	for i, s := range o.singular {
		out[i] = s + ", held there"
	}
	return out
}

// weight is the number that divides the residual sum of squares: n - p by REML, else n.
func (o *optimum) weight() float64 {
	if o.reml {
		return float64(o.n - o.p)
	}
	return float64(o.n)
}

// direction is a way in which the covariance of one term may move: dT_t = d, q*q and symmetric.
type direction struct {
	term int
	d    []float64
	row  int // of Lambda, where the direction moves one element of it; else -1
	col  int
}

// projected gives A = G - B U B', which is s^2 Z'PZ with P = V^-1 - V^-1 X (X'V^-1 X)^-1 X'V^-1.
func (o *optimum) projected() *mat.Dense {
	var bu, a mat.Dense
	bu.Mul(o.zx, mat.NewDense(o.p, o.p, o.unscaled))
	a.Mul(&bu, o.zx.T())
	a.Sub(o.zz, &a)
	return &a
}

// slope is the derivative of the covariance of the fixed effects, over s^2, along a direction: U B'DB U, p*p.
func (o *optimum) slope(dir direction) *mat.Dense {
	b := &o.blocks[dir.term]
	rows := o.zx.Slice(b.at, b.at+b.size(), 0, o.p)
	var bdb, out mat.Dense
	bdb.Mul(rows.T(), turned(rows, b.q(), dir.d))
	u := mat.NewDense(o.p, o.p, o.unscaled)
	out.Mul(u, &bdb)
	out.Mul(&out, u)
	return &out
}

// turned multiplies the rows of each level by d: (I kron d) m.
func turned(m mat.Matrix, q int, d []float64) *mat.Dense {
	rows, cols := m.Dims()
	out := mat.NewDense(rows, cols, nil)
	for first := 0; first < rows; first += q {
		for i := range q {
			to := out.RawRowView(first + i)
			for j := range q {
				if v := d[i*q+j]; v != 0 {
					for c := range to {
						to[c] += v * m.At(first+j, c)
					}
				}
			}
		}
	}
	return out
}
