package lmm

import "math"

// Space is the work space of one goroutine: a response on the problem's design and the state of the last evaluation.
type Space struct {
	p *Problem

	resid, ols, zy []float64 // n, p, r+p: residual of least squares, its coefficients, cross-products of [Z, X] with it
	yy, total      float64   // squares of the residual and of the response

	lambda [][]float64 // per term, q*q by rows, in scaled units

	// Blocks, laid out as in Problem: L of Lambda'Z'Z Lambda + I = L L', and L^-1 Lambda' times what the block meets.
	chol, coupled []float64
	zyBlock       []float64 // L^-1 Lambda' Z'y

	// Rest: d random effects, p columns of X, y.
	schur  matrix  // d+p+1: cross-products less what the blocks take, both triangles
	half   matrix  // d+p: the same without y, times Lambda from the right
	factor matrix  // d+p+1: Cholesky factor of the system over (u, beta, y)
	inv    matrix  // d+p: inverse of the leading part
	work   matrix  // d+p
	r2     float64 // penalised residual sum of squares
	logH   float64 // log|H|
	logX   float64 // log|X'H^-1X|
	ready  stage

	u, b, g []float64   // r each, in the kernel's order: u, Lambda u, Z'(y - X beta - Z b)
	beta    []float64   // d+p: b of the rest, coefficients less ols
	grad    [][]float64 // per term q*q: half the derivative with respect to Lambda
	part    [][]float64 // per term q*q: work of the gradient
	scratch scratch
	info    information
	min     minimiser
}

// scratch is room for one block.
type scratch struct {
	a, b matrix    // largest s
	free []float64 // largest s*w
	row  []float64 // d+p+1
}

// stage says how far the state of a Space goes.
type stage int

const (
	none     stage = iota
	factored       // r2, logH, logX
	solved         // u, b, beta, g
)

// Space allocates the work space of one goroutine, with the response given to New.
func (p *Problem) Space() *Space {
	r, e := p.effects, p.rest+p.p
	s := &Space{
		p: p, resid: make([]float64, p.n), ols: make([]float64, p.p), zy: make([]float64, r+p.p),
		chol: make([]float64, len(p.zz)), coupled: make([]float64, len(p.zc)), zyBlock: make([]float64, r-p.rest),
		schur: square(e + 1), half: square(e), factor: square(e + 1), inv: square(e), work: square(e),
		u: make([]float64, r), b: make([]float64, r), g: make([]float64, r), beta: make([]float64, e),
	}
	size, area := 0, 0
	for i := range p.blocks {
		b := &p.blocks[i]
		size, area = max(size, b.size), max(area, b.size*len(b.cols))
	}
	s.scratch = scratch{square(size), square(size), make([]float64, area), make([]float64, e+1)}
	for i := range p.terms {
		q := p.terms[i].q
		s.lambda = append(s.lambda, make([]float64, q*q))
		s.grad = append(s.grad, make([]float64, q*q))
		s.part = append(s.part, make([]float64, q*q))
	}
	s.info.init(p, size)
	s.min.init(s)
	s.SetResponse(p.y)
	return s
}

// Deviance is the profiled deviance, or the REML criterion, at theta. It is +Inf where X has dependent columns or n <= p
// (REML), and -Inf where the model passes through every value.
func (s *Space) Deviance(theta []float64, reml bool) float64 {
	s.setTheta(theta)
	return s.evaluate(reml)
}

// Gradient is Deviance with its derivatives in g (as long as theta). Where Deviance is infinite they are 0.
func (s *Space) Gradient(theta []float64, reml bool, g []float64) float64 {
	s.setTheta(theta)
	f := s.evaluate(reml)
	clear(g)
	if !math.IsInf(f, 0) {
		s.differentiate(reml)
		s.slope(g)
		s.rescale(g)
	}
	return f
}

// setTheta fills Lambda in scaled units.
func (s *Space) setTheta(theta []float64) {
	k := 0
	for i := range s.p.terms {
		t, l := &s.p.terms[i], s.lambda[i]
		t.each(func(r, c int) { l[r*t.q+c] = theta[k] * t.scale[r]; k++ })
	}
	s.ready = none
}

// slope writes the derivative with respect to the scaled thetas to g.
func (s *Space) slope(g []float64) {
	k := 0
	for i := range s.p.terms {
		t, d := &s.p.terms[i], s.grad[i]
		t.each(func(r, c int) { g[k] = 2 * d[r*t.q+c]; k++ })
	}
}

// restore turns scaled thetas into the caller's units, rescale derivatives with respect to them.
func (s *Space) restore(v []float64) { s.eachTheta(func(k int, scale float64) { v[k] /= scale }) }
func (s *Space) rescale(v []float64) { s.eachTheta(func(k int, scale float64) { v[k] *= scale }) }

// eachTheta visits the thetas with the scale of their row of Lambda.
func (s *Space) eachTheta(visit func(k int, scale float64)) {
	k := 0
	for i := range s.p.terms {
		t := &s.p.terms[i]
		t.each(func(r, c int) { visit(k, t.scale[r]); k++ })
	}
}

// criterion puts the parts together.
func (s *Space) criterion(reml bool) float64 {
	nu, d := float64(s.p.n), s.logH
	if reml {
		nu -= float64(s.p.p)
		d += s.logX
	}
	switch {
	case !(nu > 0) || math.IsInf(s.logX, 0) || math.IsInf(d, 0):
		return math.Inf(1)
	case s.exact():
		return math.Inf(-1)
	}
	return d + nu*(1+math.Log(2*math.Pi*s.r2/nu))
}

// exact says that the penalised residual is no larger than rounding leaves it.
func (s *Space) exact() bool { return !(s.r2 > 1e-26*s.total) }

// weight is what the derivative of r2 is multiplied with: (n or n-p) / r2.
func (s *Space) weight(reml bool) float64 {
	if reml {
		return float64(s.p.n-s.p.p) / s.r2
	}
	return float64(s.p.n) / s.r2
}
