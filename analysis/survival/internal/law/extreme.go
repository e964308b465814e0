package law

import "math"

// far is the cumulative hazard beyond which what is left cannot be told from nothing.
const far = 700

// extreme is the row of the smallest extreme value law, S(z) = exp(-u), u = exp z. An interval has probability
// exp(-uL) (1 - exp(-D)), D = uR - uL; D and its derivatives are taken as D times smooth functions, so that narrow
// intervals lose no digits.
func (s *Shape) extreme(o *Obs, eta float64, d *Deriv) {
	inv := s.inv
	switch o.Kind {
	case Exact:
		z := (o.Lo - eta) * inv
		u := math.Exp(z)
		*d = Deriv{L: z - u - math.Log(s.sigma) - o.Lo, E: (u - 1) * inv, A: z*u - z - 1,
			EE: -u * inv * inv, EA: (1 - u - z*u) * inv, AA: z - z*u - z*z*u}
	case Right:
		z := (o.Lo - eta) * inv
		u := math.Exp(z)
		*d = Deriv{L: -u, E: u * inv, A: z * u, EE: -u * inv * inv, EA: -(u + z*u) * inv, AA: -(z + z*z) * u}
	case Left:
		z := (o.Hi - eta) * inv
		u := math.Exp(z)
		if u > far {
			*d = Deriv{}
			return
		}
		l, h, b := hazardStep(u)
		if u < 1e-8 {
			l = z - u/2
		}
		*d = Deriv{L: l, E: -h * inv, A: -z * h, EE: (h - b) * inv * inv, EA: (h*(1+z) - b*z) * inv, AA: h*(z+z*z) - b*z*z}
	default:
		a, b := (o.Lo-eta)*inv, (o.Hi-eta)*inv
		w := (o.Hi - o.Lo) * inv
		u := math.Exp(a)
		var step, t float64 // D, and w / (exp w - 1)
		if w < 0.5 {
			e := math.Expm1(w)
			step, t = u*e, w/e
		} else {
			step = math.Exp(b) - u
			t = w * u / step
		}
		if !(step < far) {
			*d = Deriv{L: -u, E: u * inv, A: a * u, EE: -u * inv * inv, EA: -(u + a*u) * inv, AA: -(a + a*a) * u}
			return
		}
		l, h, q := hazardStep(step)
		m := b + t               // -dD/da / D
		n := b + b*b + t*(1+a+b) // d2D/da2 / D
		*d = Deriv{L: l - u, E: (u - h) * inv, A: a*u - h*m, EE: (h - q - u) * inv * inv,
			EA: (h*(1+m) - q*m - u - a*u) * inv, AA: h*n - q*m*m - (a+a*a)*u}
	}
}

// hazardStep gives log(1 - exp(-D)), h = D / (exp D - 1) and h (h + D), which are D and -D^2 times the first and second
// derivative of the first.
func hazardStep(step float64) (l, h, q float64) {
	if step < 0.1 {
		e := math.Expm1(step)
		h = step / e
		if step == 0 {
			h = 1
		}
		return math.Log(e) - step, h, h * (h + step)
	}
	e := math.Exp(-step)
	h = step * e / (1 - e)
	return math.Log(1 - e), h, h * (h + step)
}
