// Package law holds the laws of log T that parametric lifetimes use, with the derivatives of the log-likelihood of one row.
//
// log T = eta + sigma z. A row says that y = log T lies in (Lo, Hi]. Every law has a location eta, most a log scale or log
// shape a, one a second shape q:
//
//	Exponential       sigma = 1, z smallest extreme value
//	Weibull           a = log sigma, z smallest extreme value: S(z) = exp(-exp z)
//	LogNormal         a = log sigma, z normal
//	LogLogistic       a = log sigma, z logistic
//	Gamma             T = exp(eta) G, G gamma with shape k = exp a and rate 1
//	GeneralizedGamma  a = log sigma, q = Q [1]: with k = Q^-2 the variable k exp(Q z) is gamma with shape k for Q > 0, and
//	                  the mirror image -z for Q < 0; Q = 1 Weibull, Q = 0 log-normal, Q = sigma gamma
//
// Row gives value, gradient and Hessian in (eta, a, q). They are closed forms for all laws but the last two, whose
// probability of an interval and its first two derivatives in Q are integrals of closed forms, by Gauss-Legendre
// quadrature on panels (gengamma.go); the gamma law is the generalised gamma law at Q = sigma = k^-1/2, by the chain rule.
// Values stay exact in the tails: nothing is a difference of two numbers near 1.
//
// [1] Prentice (1974), Biometrika 61, 539-544.
package law

import "math"

// Family names a law.
type Family int

const (
	Exponential Family = iota
	Weibull
	LogNormal
	LogLogistic
	Gamma
	GeneralizedGamma
)

// HasScale says whether a is a parameter, HasShape whether q is one.
func (f Family) HasScale() bool { return f != Exponential }
func (f Family) HasShape() bool { return f == GeneralizedGamma }

// Kind says which ends of a row are finite.
type Kind uint8

const (
	Between Kind = iota // Lo < Hi, both finite
	Exact               // Lo = Hi
	Right               // Hi = +Inf: right-censored
	Left                // Lo = -Inf: left-censored
	Nothing             // (-Inf, +Inf]: probability 1
)

// Obs is one row: log T in (Lo, Hi].
type Obs struct {
	Lo, Hi float64
	Kind   Kind
}

// NewObs takes the ends of a row in time, 0 <= l <= r, not both 0.
func NewObs(l, r float64) Obs { return At(math.Log(l), math.Log(r)) }

// At takes the ends on the log scale. An interval too narrow for its logs to differ is a point.
func At(lo, hi float64) Obs {
	o := Obs{Lo: lo, Hi: hi}
	switch {
	case lo == hi:
		o.Kind = Exact
	case math.IsInf(lo, -1) && math.IsInf(hi, 1):
		o.Kind = Nothing
	case math.IsInf(lo, -1):
		o.Kind = Left
	case math.IsInf(hi, 1):
		o.Kind = Right
	}
	return o
}

// Deriv is the log-likelihood L of one row with its derivatives in eta (E), a (A) and q (Q). Parameters that the law lacks
// have derivatives without meaning (a of Exponential) or 0 (q).
type Deriv struct {
	L, E, A, Q, EE, EA, AA, EQ, AQ, QQ float64
}

// Shape is a law with its scale and shape fixed.
type Shape struct {
	family     Family
	sigma, inv float64 // scale of z and its inverse
	a          float64
	gg         gengamma
}

// New fixes a and q; what the law lacks is ignored.
func New(f Family, a, q float64) Shape {
	s := Shape{family: f, sigma: 1, inv: 1, a: a}
	switch f {
	case Weibull, LogNormal, LogLogistic:
		s.sigma, s.inv = math.Exp(a), math.Exp(-a)
	case Gamma:
		s.sigma, s.inv = math.Exp(-a/2), math.Exp(a/2)
		s.gg = newGengamma(s.sigma)
	case GeneralizedGamma:
		s.sigma, s.inv = math.Exp(a), math.Exp(-a)
		s.gg = newGengamma(q)
	}
	return s
}

// Row fills d for row o at location eta. For an exact row the density is that of T itself, not of log T. Where the
// probability cannot be told from 0, L is -Inf.
func (s *Shape) Row(o *Obs, eta float64, d *Deriv) {
	if o.Kind == Nothing {
		*d = Deriv{}
		return
	}
	switch s.family {
	case Exponential, Weibull:
		s.extreme(o, eta, d)
	case LogNormal:
		s.normal(o, eta, d)
	case LogLogistic:
		s.logistic(o, eta, d)
	case Gamma:
		s.gamma(o, eta, d)
	case GeneralizedGamma:
		s.generalized(o, eta, d)
	}
}

// Survival gives log P(log T > y) and its derivatives.
func (s *Shape) Survival(y, eta float64, d *Deriv) {
	s.Row(&Obs{Lo: y, Hi: math.Inf(1), Kind: Right}, eta, d)
}

// Scale is the sigma of z.
func (s *Shape) Scale() float64 { return s.sigma }

// Centre is where log T concentrates as the scale shrinks, less eta: 0, and log k for Gamma.
func (s *Shape) Centre() float64 {
	if s.family == Gamma {
		return s.a
	}
	return 0
}

// ends turns densities at the ends of an interval into derivatives. ga, gb are f/P at the lower and upper end (0 at an
// infinite end, where a or b is given as 0), ha, hb are f'/P. d.L and the q part are left alone.
func (d *Deriv) ends(a, ga, ha, b, gb, hb, inv float64) {
	d.E = -(gb - ga) * inv
	d.A = -(b*gb - a*ga)
	d.EE = (hb-ha)*inv*inv - d.E*d.E
	d.EA = (gb-ga+b*hb-a*ha)*inv - d.E*d.A
	d.AA = b*gb - a*ga + b*b*hb - a*a*ha - d.A*d.A
}

// point fills the derivatives of the log-density s(z) - log sigma - y; s1 and s2 are s' and s”.
func (d *Deriv) point(s, s1, s2, z, y, sigma, inv float64) {
	d.L = s - math.Log(sigma) - y
	d.E = -s1 * inv
	d.A = -z*s1 - 1
	d.EE = s2 * inv * inv
	d.EA = (s1 + z*s2) * inv
	d.AA = z*s1 + z*z*s2
}

// narrow is the width in z, as a share of max(1, |z|), below which the log-probability of an interval is its mid-point
// density times its width: the error, width^2/24, is then below that of the difference of two densities.
const narrow = 1e-5

// thin says whether (a, b] is to be taken by its mid-point.
func thin(a, b float64) bool { return (b-a)*max(1, math.Abs(a+b)/2) < narrow }
