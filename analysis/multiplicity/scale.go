package multiplicity

import "math"

// estimate is a probability and a bound on its numerical error, about three standard errors where points were drawn.
type estimate struct{ p, within float64 }

// smallestDF is where the integral over the scale would need thousands of points.
const smallestDF = 0.5

// farOut is the logarithm of the density, over that at its peak, where it ends.
const farOut = -33

// mix turns P(largest of the normals > w) into P(largest of the t > c): t = z/s with df s^2 chi-square, so the
// probability is the mean of normal(c s) over s. The trapezoidal rule in log s, where the density is nearly Gaussian with
// standard deviation 1/sqrt(2 df) however far in the tail c lies, converges exponentially [8]. The same rule gives the
// density's own integral, which takes the place of its constant.
func mix(df, c float64, normal func(w float64) estimate) estimate {
	if math.IsInf(df, 1) {
		return normal(c)
	}
	step := min(0.8/math.Sqrt(2*df), 0.1)
	logDensity := func(v float64) float64 { return df * (v - math.Expm1(2*v)/2) }
	top := 1.0
	for logDensity(top*step) > farOut {
		top++
	}
	// The integrand has its peak between 0 and the peak of s^df exp(-(df + c^2) s^2/2).
	peak := -math.Log1p(c*c/df) / 2
	var out estimate
	norm := 0.0
	for j := top; ; j-- {
		v := j * step
		log := logDensity(v)
		f := math.Exp(log)
		norm += f
		z := normal(c * math.Exp(v))
		out.p += f * z.p
		out.within += f * z.within
		if v < peak && log < farOut && f*z.p <= 1e-14*out.p {
			break
		}
	}
	return estimate{min(out.p/norm, 1), out.within / norm}
}
