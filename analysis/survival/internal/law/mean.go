package law

import (
	"math"
	"slices"
)

// Mean gives the integral of S from 0 to tau, tau = exp(logTau), at location eta, with its derivatives in eta, a and q. The
// integral of S(t) dt = tau S exp(v) dv, v = log(t / tau) <= 0, runs over panels that end where the law bends (few sigma
// about its centre) and where exp(v) has fallen by a fixed factor.
func (s *Shape) Mean(logTau, eta float64) (value, e, a, q float64) {
	const lowest = -40 // exp(-40) of tau is left out
	var ends []float64
	for _, v := range []float64{0, -1.5, -3, -5, -8, -12, -18, -26, lowest} {
		ends = append(ends, v)
	}
	centre := eta + s.Centre()
	for _, z := range []float64{-32, -16, -8, -5, -3, -2, -1, -0.5, 0, 0.5, 1, 2, 3, 5, 8, 16, 32} {
		if v := centre + s.sigma*z - logTau; v > lowest && v < 0 {
			ends = append(ends, v)
		}
	}
	slices.Sort(ends)
	var d Deriv
	for i := 1; i < len(ends); i++ {
		half, mid := (ends[i]-ends[i-1])/2, (ends[i]+ends[i-1])/2
		for k, x := range node {
			v := mid + half*x
			s.Survival(logTau+v, eta, &d)
			if math.IsInf(d.L, -1) {
				continue
			}
			f := weight[k] * half * math.Exp(v+d.L)
			value += f
			e += f * d.E
			a += f * d.A
			q += f * d.Q
		}
	}
	tau := math.Exp(logTau)
	return (value + math.Exp(lowest)) * tau, e * tau, a * tau, q * tau
}
