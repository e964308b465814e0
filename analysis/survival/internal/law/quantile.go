package law

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Offset is a log quantile less the location eta, with its derivatives in a and q.
type Offset struct {
	V, A, Q, AA, AQ, QQ float64
}

// Quantile gives the offset at which a share p has ended, 0 < p < 1.
func (s *Shape) Quantile(p float64) Offset {
	z, z1, z2 := 0.0, 0.0, 0.0
	switch s.family {
	case Exponential:
		return Offset{V: math.Log(-math.Log1p(-p))}
	case Weibull:
		z = math.Log(-math.Log1p(-p))
	case LogNormal:
		z = distuv.UnitNormal.Quantile(p)
	case LogLogistic:
		z = math.Log(p) - math.Log1p(-p)
	default:
		z, z1, z2 = s.gg.quantile(p)
	}
	v := s.sigma * z
	off := Offset{V: v, A: v, AA: v, Q: s.sigma * z1, AQ: s.sigma * z1, QQ: s.sigma * z2}
	if s.family == Gamma {
		d := Deriv{E: 1, A: off.A, Q: off.Q, AA: off.AA, AQ: off.AQ, QQ: off.QQ}
		d.chain(s.sigma)
		return Offset{V: v + s.a, A: d.A, AA: d.AA}
	}
	return off
}

// quantile solves P(Z <= z) = p by Newton steps on the logarithm of the smaller tail, kept in a bracket, and gives the
// first two derivatives of z in Q.
func (g *gengamma) quantile(p float64) (z, z1, z2 float64) {
	upper := p > 0.5
	want := math.Log(p)
	if upper {
		want = math.Log1p(-p)
	}
	z = distuv.UnitNormal.Quantile(p)
	lo, hi := math.Inf(-1), math.Inf(1)
	var l, d1, d2, s, sz, sq float64
	for range 100 {
		l, d1, d2 = g.tail(z, upper)
		s, sz, _, sq, _ = g.at(z)
		slope := math.Exp(s - l) // of l in z, less for the upper tail
		gap := want - l
		if upper {
			gap = -gap
		}
		if gap > 0 {
			lo = max(lo, z)
		} else {
			hi = min(hi, z)
		}
		step := gap / slope
		if math.IsNaN(step) || math.Abs(step) > 5+math.Abs(z) {
			step = math.Copysign(2+math.Abs(z)/2, gap)
		}
		next := z + step
		if !(next >= lo && next <= hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-z) <= 1e-14*max(1, math.Abs(z)) {
			break
		}
		z = next
	}
	ratio := math.Exp(l - s) // tail over density
	if upper {
		ratio = -ratio
	}
	z1 = -d1 * ratio
	z2 = -(d2*ratio + 2*sq*z1 + sz*z1*z1)
	return z, z1, z2
}
