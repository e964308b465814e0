package likelihood

import "math"

// Profile is a profile log-likelihood of a scalar: the maximum over all other parameters with psi held, finite or -Inf.
type Profile func(psi float64) float64

// endTol is how exactly an end of a profile interval is found, in the unit of psi.
const endTol = 1e-7

// Ends finds the set {psi: 2 (max - f(psi)) <= cut} around at, where f(at) is the maximum max. It works on the signed root
// sqrt(2 (max - f)) - sqrt(cut), which is nearly straight in psi: outward from at by step, then to where the root seems to
// be (between 1.3 and 4 times as far) until the set is left, then it closes in (regula falsi with bisection). An end at
// which floor (ceiling) is still inside is open: -Inf (+Inf). f should have one hump; at another crossing further out it
// does not look. step > 0, floor <= at <= ceiling, both finite.
func Ends(f Profile, at, max, cut, step, floor, ceiling float64) (lower, upper float64) {
	if math.IsInf(cut, 1) {
		return math.Inf(-1), math.Inf(1)
	}
	return end(f, at, max, cut, -step, floor), end(f, at, max, cut, step, ceiling)
}

// end walks from at towards bound.
func end(f Profile, at, max, cut, step, bound float64) float64 {
	half := math.Sqrt(cut)
	over := func(psi float64) float64 { return math.Sqrt(math.Max(2*(max-f(psi)), 0)) - half } // <= 0 inside
	in, fin := at, -half
	for {
		out := at + step
		last := math.Abs(step) >= math.Abs(bound-at)
		if last {
			out = bound
		}
		fout := over(out)
		if fout > 0 {
			return cross(over, in, fin, out, fout)
		}
		if last {
			return math.Inf(int(math.Copysign(1, step)))
		}
		in, fin = out, fout
		grow := 4.0
		if fout > -half {
			grow = math.Min(math.Max(1.05*half/(fout+half), 1.3), 4)
		}
		step *= grow
	}
}

// cross finds where over changes its sign between in (<= 0) and out (> 0, maybe +Inf): regula falsi, in which an end that
// stands for a second time is halved (Illinois), and bisection where that does not halve the bracket in three steps.
func cross(over Profile, in, fin, out, fout float64) float64 {
	width, slow, side, mid := math.Abs(out-in), 0, 0, math.NaN()
	for range 200 {
		was := mid
		mid = in + (out-in)*fin/(fin-fout)
		if math.IsInf(fout, 1) || slow >= 3 || !(mid > math.Min(in, out) && mid < math.Max(in, out)) {
			mid, slow, was = in+(out-in)/2, 0, math.NaN()
		}
		tol := endTol * math.Max(1, math.Abs(mid))
		if math.Abs(out-in) <= tol || math.Abs(mid-was) <= tol/10 {
			break
		}
		switch v := over(mid); {
		case math.Abs(v) < 1e-10:
			return mid
		case v <= 0:
			in, fin = mid, v
			if side < 0 {
				fout /= 2
			}
			side = -1
		default:
			out, fout = mid, v
			if side > 0 {
				fin /= 2
			}
			side = 1
		}
		if w := math.Abs(out - in); w > width/2 {
			slow++
		} else {
			width, slow = w, 0
		}
	}
	return mid
}
