package law

import "math"

const (
	logRoot2Pi = 0.91893853320467274178 // log(2 pi) / 2
	rootHalfPi = 1.25331413731550025121
)

// normal is the row of the normal law. Probabilities are taken as the density at the end nearest the middle times Mills'
// ratio, so that they hold in both tails.
func (s *Shape) normal(o *Obs, eta float64, d *Deriv) {
	inv := s.inv
	*d = Deriv{}
	switch o.Kind {
	case Exact:
		z := (o.Lo - eta) * inv
		d.point(-z*z/2-logRoot2Pi, -z, -1, z, o.Lo, s.sigma, inv)
	case Right:
		z := (o.Lo - eta) * inv
		l, g := upperTail(z)
		d.L = l
		d.ends(z, g, -z*g, 0, 0, 0, inv)
	case Left:
		z := (o.Hi - eta) * inv
		l, g := upperTail(-z)
		d.L = l
		d.ends(0, 0, 0, z, g, -z*g, inv)
	default:
		a, b := (o.Lo-eta)*inv, (o.Hi-eta)*inv
		if thin(a, b) {
			z := (a + b) / 2
			d.point(-z*z/2-logRoot2Pi, -z, -1, z, -math.Log(o.Hi-o.Lo), s.sigma, inv)
			return
		}
		l, ga, gb := normalBetween(a, b)
		d.L = l
		d.ends(a, ga, -a*ga, b, gb, -b*gb, inv)
	}
}

// upperTail gives log P(Z > z) and the hazard density / P.
func upperTail(z float64) (l, g float64) {
	if z > 0 {
		m := mills(z)
		return -z*z/2 - logRoot2Pi + math.Log(m), 1 / m
	}
	q := math.Erfc(-z/math.Sqrt2) / 2 // P(Z <= z), small
	return math.Log1p(-q), math.Exp(-z*z/2-logRoot2Pi) / (1 - q)
}

// normalBetween gives log P(a < Z <= b) and the densities at the ends over P.
func normalBetween(a, b float64) (l, ga, gb float64) {
	if a+b > 0 {
		l, gb, ga = normalBetween(-b, -a)
		return l, ga, gb
	}
	if b > 0 {
		p := (math.Erf(b/math.Sqrt2) - math.Erf(a/math.Sqrt2)) / 2
		return math.Log(p), math.Exp(-a*a/2-logRoot2Pi) / p, math.Exp(-b*b/2-logRoot2Pi) / p
	}
	fall := math.Exp((b - a) * (b + a) / 2) // density at a over density at b
	p := mills(-b) - fall*mills(-a)
	return -b*b/2 - logRoot2Pi + math.Log(p), fall / p, 1 / p
}

// mills is (1 - Phi(x)) / phi(x) for x >= 0: by the complementary error function, beyond 20 by its continued fraction
// (Laplace), whose ten terms are then exact to rounding.
func mills(x float64) float64 {
	if x < 20 {
		return math.Exp(x*x/2) * math.Erfc(x/math.Sqrt2) * rootHalfPi
	}
	f := x
	for k := 10.0; k > 0; k-- {
		f = x + k/f
	}
	return 1 / f
}
