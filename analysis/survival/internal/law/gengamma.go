package law

import "math"

// gengamma is the standard generalised gamma law at shape Q. Its log-density is analytic in Q through 0:
//
//	s(z) = c(Q) - z^2 phi(Q z),  phi(v) = (exp v - 1 - v) / v^2,  c(Q) = -log(2 pi)/2 - (Stirling's remainder of log Gamma at Q^-2)
//
// It is concave with its mode at 0 and curvature exp(Q z).
type gengamma struct {
	q, c, c1, c2 float64 // Q, c(Q), c'(Q), c''(Q)
}

// stirling are the coefficients B_2j / (2j (2j-1)) of k^(1-2j), which is Q^(4j-2), in Stirling's remainder.
var stirling = [...]float64{1. / 12, -1. / 360, 1. / 1260, -1. / 1680, 1. / 1188, -691. / 360360, 1. / 156, -3617. / 122400}

// seriesBelow is the |Q| up to which the series in Q serves; its last term is then below 1e-15.
const seriesBelow = 0.35

func newGengamma(q float64) gengamma {
	g := gengamma{q: q, c: -logRoot2Pi}
	if math.Abs(q) <= seriesBelow {
		q4, power, n := q*q*q*q, 1.0, 2.0 // power = Q^(n-2)
		for _, b := range stirling {
			g.c -= b * power * q * q
			g.c1 -= b * n * power * q
			g.c2 -= b * n * (n - 1) * power
			power *= q4
			n += 4
		}
		return g
	}
	k := 1 / (q * q)
	k1, k2 := -2*k/q, 6*k*k // k' and k'' in Q
	r, r1, r2 := remainder(k)
	g.c -= r
	g.c1 = -r1 * k1
	g.c2 = -r2*k1*k1 - r1*k2
	return g
}

// remainder is Stirling's remainder log Gamma(k) - (k - 1/2) log k + k - log(2 pi)/2 with its first two derivatives, by
// recurrence upward in k and the series from 9.
func remainder(k float64) (r, r1, r2 float64) {
	for ; k < 9; k++ {
		p := k * (k + 1)
		step := math.Log1p(1 / k)
		r += (k+0.5)*step - 1
		r1 += step - (k+0.5)/p
		r2 += 0.5 / (p * p)
	}
	power, n := 1/k, 1.0 // k^-n
	for _, b := range stirling {
		r += b * power
		r1 -= b * n * power / k
		r2 += b * n * (n + 1) * power / (k * k)
		power /= k * k
		n += 2
	}
	return r, r1, r2
}

// at gives the log-density and its derivatives: in z (first, second) and in Q (first, second).
func (g *gengamma) at(z float64) (s, sz, szz, sq, sqq float64) {
	v := g.q * z
	p, p1, p2 := phi(v)
	e := math.Exp(v)
	sz = -z
	if v != 0 {
		sz = -z * math.Expm1(v) / v
	}
	return g.c - z*z*p, sz, -e, g.c1 - z*z*z*p1, g.c2 - z*z*z*z*p2
}

// phi is (exp v - 1 - v) / v^2 with its first two derivatives; a power series near 0.
func phi(v float64) (p, p1, p2 float64) {
	if math.Abs(v) < 1 {
		// p = sum v^j / (j+2)!, by Horner with both derivatives
		last := len(inverseFactorial) - 1
		if math.Abs(v) < 0.25 {
			last = 12
		}
		for j := last; j >= 2; j-- {
			p2 = p2*v + 2*p1
			p1 = p1*v + p
			p = p*v + inverseFactorial[j]
		}
		return p, p1, p2
	}
	e := math.Exp(v)
	v2 := v * v
	p = (e - 1 - v) / v2
	p1 = (e*(v-2) + v + 2) / (v2 * v)
	p2 = (e*(v2-4*v+6) - 2*v - 6) / (v2 * v2)
	return p, p1, p2
}

var inverseFactorial = func() (f [20]float64) {
	f[0] = 1
	for j := 1; j < len(f); j++ {
		f[j] = f[j-1] / float64(j)
	}
	return f
}()

// tail gives log P(Z > z), or log P(Z <= z) where upper is false, with its first and second derivative in Q as shares of
// the probability. The side away from the mode is integrated, the other one is its complement.
func (g *gengamma) tail(z float64, upper bool) (l, d1, d2 float64) {
	away := z > 0
	if away {
		l, d1, d2 = g.between(z, math.Inf(1))
	} else {
		l, d1, d2 = g.between(math.Inf(-1), z)
	}
	if away == upper {
		return l, d1, d2
	}
	p := math.Exp(l)
	r := p / (1 - p)
	return math.Log1p(-p), -r * d1, -r * d2
}

// row fills d for row o about location eta with scale sigma.
func (g *gengamma) row(o *Obs, eta, sigma, inv float64, d *Deriv) {
	a, b := (o.Lo-eta)*inv, (o.Hi-eta)*inv
	*d = Deriv{}
	switch o.Kind {
	case Exact:
		g.point(a, o.Lo, sigma, inv, d)
		return
	case Right:
		d.L, d.Q, d.QQ = g.tail(a, true)
		b = 0
	case Left:
		d.L, d.Q, d.QQ = g.tail(b, false)
		a = 0
	default:
		if thin(a, b) {
			g.point((a+b)/2, -math.Log(o.Hi-o.Lo), sigma, inv, d)
			return
		}
		d.L, d.Q, d.QQ = g.between(a, b)
	}
	var ga, ha, ta, gb, hb, tb float64 // f/P, f_z/P, f_Q/P at both ends
	if o.Kind != Left {
		ga, ha, ta = g.shares(a, d.L)
	}
	if o.Kind != Right {
		gb, hb, tb = g.shares(b, d.L)
	}
	d.ends(a, ga, ha, b, gb, hb, inv)
	d.EQ = -(tb-ta)*inv - d.E*d.Q
	d.AQ = -(b*tb - a*ta) - d.A*d.Q
	d.QQ -= d.Q * d.Q
}

// shares gives density, its derivative in z and its derivative in Q at z, over a probability of logarithm l.
func (g *gengamma) shares(z, l float64) (f, fz, fq float64) {
	s, sz, _, sq, _ := g.at(z)
	f = math.Exp(s - l)
	if f == 0 {
		return 0, 0, 0
	}
	return f, f * sz, f * sq
}

// point fills d with the log-density of T at log T = y.
func (g *gengamma) point(z, y, sigma, inv float64, d *Deriv) {
	s, sz, szz, sq, sqq := g.at(z)
	d.point(s, sz, szz, z, y, sigma, inv)
	d.Q, d.QQ = sq, sqq
	p, p1, _ := phi(g.q * z)
	szq := -z * z * (p + g.q*z*p1) // d/dQ of s_z
	d.EQ = -szq * inv
	d.AQ = -z * szq
}

func (s *Shape) generalized(o *Obs, eta float64, d *Deriv) { s.gg.row(o, eta, s.sigma, s.inv, d) }
