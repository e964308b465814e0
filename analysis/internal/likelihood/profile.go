package likelihood

import "math"

// Profile is a profile log-likelihood of a scalar: the maximum over all other parameters with psi held, finite or -Inf.
type Profile func(psi float64) float64

// endTol is how exactly an end of a profile interval is found, in the unit of psi.
const endTol = 1e-7

// Ends finds the set {psi: 2 (max - f(psi)) <= cut} around at, where f(at) is the maximum max. It steps outward from at by
// step, doubling, until the set is left, then closes in (regula falsi with bisection). An end at which floor (ceiling) is
// still inside is open: -Inf (+Inf). f should have one hump; at another crossing further out it does not look. step > 0,
// floor <= at <= ceiling, both finite.
func Ends(f Profile, at, max, cut, step, floor, ceiling float64) (lower, upper float64) {
	if math.IsInf(cut, 1) {
		return math.Inf(-1), math.Inf(1)
	}
	return end(f, at, max, cut, -step, floor), end(f, at, max, cut, step, ceiling)
}

// end walks from at towards bound.
func end(f Profile, at, max, cut, step, bound float64) float64 {
	over := func(psi float64) float64 { return 2*(max-f(psi)) - cut } // <= 0 inside
	in, out := at, at
	fin, fout := -cut, 0.0
	for {
		out = in + step
		last := math.Abs(out-at) >= math.Abs(bound-at)
		if last {
			out = bound
		}
		if fout = over(out); fout > 0 {
			break
		}
		if last {
			return math.Inf(int(math.Copysign(1, step)))
		}
		in, fin = out, fout
		step *= 2
	}
	return cross(over, in, fin, out, fout)
}

// cross finds where over changes its sign between in (<= 0) and out (> 0, maybe +Inf): regula falsi, whose stale end is
// halved (Illinois), and bisection where that does not halve the bracket in three steps.
func cross(over Profile, in, fin, out, fout float64) float64 {
	width, slow := math.Abs(out-in), 0
	for range 200 {
		if math.Abs(out-in) <= endTol*math.Max(1, math.Abs(in)) {
			break
		}
		mid := in + (out-in)*fin/(fin-fout)
		if math.IsInf(fout, 1) || slow >= 3 || !(mid > math.Min(in, out) && mid < math.Max(in, out)) {
			mid, slow = in+(out-in)/2, 0
		}
		switch v := over(mid); {
		case math.Abs(v) < 1e-10:
			return mid
		case v <= 0:
			in, fin = mid, v
			fout /= 2
		default:
			out, fout = mid, v
			fin /= 2
		}
		if w := math.Abs(out - in); w > width/2 {
			slow++
		} else {
			width, slow = w, 0
		}
	}
	return in + (out-in)/2
}
