package law

import "math"

// logistic is the row of the logistic law. An interval has probability S(a) F(b) (1 - exp(-w)), w its width, so that its
// logarithm is a sum of three smooth terms; an exact row is the same with w = 0 and the density's own constants.
func (s *Shape) logistic(o *Obs, eta float64, d *Deriv) {
	inv := s.inv
	a, b := (o.Lo-eta)*inv, (o.Hi-eta)*inv
	*d = Deriv{}
	if o.Kind != Left { // log S(a)
		f, g := logit(a)
		d.L -= softplus(a)
		d.E += f * inv
		d.A += a * f
		d.EE -= g * inv * inv
		d.EA -= (f + a*g) * inv
		d.AA -= a*f + a*a*g
	}
	if o.Kind != Right { // log F(b)
		f, g := logit(-b)
		d.L -= softplus(-b)
		d.E -= f * inv
		d.A -= b * f
		d.EE -= g * inv * inv
		d.EA += (f - b*g) * inv
		d.AA += b*f - b*b*g
	}
	switch o.Kind {
	case Exact:
		d.L -= math.Log(s.sigma) + o.Lo
		d.A--
	case Between:
		w := (o.Hi - o.Lo) * inv
		t := w / math.Expm1(w)
		d.L += math.Log(-math.Expm1(-w))
		d.A -= t
		d.AA += t * (1 - t - w)
	}
}

// logit gives F(z) and the density F (1-F).
func logit(z float64) (f, g float64) {
	e := math.Exp(-math.Abs(z))
	f = 1 / (1 + e)
	g = e * f * f
	if z < 0 {
		f = e * f
	}
	return f, g
}

// softplus is log(1 + exp z).
func softplus(z float64) float64 {
	return max(z, 0) + math.Log1p(math.Exp(-math.Abs(z)))
}
