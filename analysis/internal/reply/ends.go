package reply

import "math"

// End finds where a profile leaves {psi: 2 (max - profile(psi)) <= cut} on the way from at, where the maximum lies with
// parameters v, upward (way 1) or downward (way -1) to bound at most. It is the infinity of that way where the profile is still
// inside at bound. step > 0 is a first guess of the distance.
//
// On the scale of the signed root of 2 (max - profile) a profile is near a straight line, so Newton steps there find the end
// in a few evaluations; they are kept between the innermost point known to be outside and the outermost known to be inside.
// At an end found, the ascent is tried again from other places: where one of them lies inside, the walk goes on from there.
func (l *Line) End(at float64, v []float64, top, cut, step, bound, way float64) float64 {
	w := newWalker(l)
	w.b = l.box()
	if math.IsInf(cut, 1) || (bound-at)*way <= 0 {
		return math.Inf(int(way))
	}
	y := make([]float64, len(w.y))
	l.drop(v, y)
	in, inY := at, append([]float64{}, y...)
	for range 4 {
		psi := w.leave(&in, inY, top, cut, way*step, bound)
		if math.IsInf(psi, 0) {
			return psi
		}
		if !w.again(psi, inY, top, cut) {
			return psi
		}
		in, step = psi, math.Abs(step)/4
		copy(inY, w.y)
	}
	return in
}

// endTol is how exactly an end is found, in the unit of psi.
const endTol = 1e-7

// leave walks from in (inside, with parameters inY; both follow the walk) until the set is left and closes in on the end.
func (w *walker) leave(in *float64, inY []float64, top, cut, step, bound float64) float64 {
	root := math.Sqrt(cut)
	out, bounded := bound, false
	psi := *in + step
	for count := range 200 {
		if last := math.Abs(psi-*in) >= math.Abs(bound-*in); last && !bounded {
			psi = bound
		}
		copy(w.y, inY)
		value, slope := w.profile(psi, w.y)
		r := math.Sqrt(2 * max(top-value, 0))
		next := psi + (root-r)/(-slope/r)
		if r <= root {
			if psi == bound {
				return math.Inf(int(math.Copysign(1, step)))
			}
			step = max(math.Abs(psi-*in), math.Abs(step)) * math.Copysign(1, step)
			*in = psi
			copy(inY, w.y)
		} else {
			out, bounded = psi, true
		}
		good := !math.IsInf(value, -1) && slope*step < 0 && !math.IsNaN(next)
		if good && math.Abs(next-psi) < endTol*10 && math.Abs(root-r) < 1e-4 {
			if (next-*in)*step >= 0 || math.Abs(next-*in) < endTol*10 {
				return next
			}
		}
		if bounded && math.Abs(out-*in) < endTol {
			return *in + (out-*in)/2
		}
		lo, hi := min(*in, out), max(*in, out)
		switch {
		case !bounded && (!good || math.Abs(next-psi) > 2*math.Abs(step)):
			psi = *in + 2*step
		case bounded && (!good || next <= lo || next >= hi || count%4 == 3):
			psi = *in + (out-*in)/2
		default:
			psi = next
		}
		if !bounded && (psi-*in)*step <= 0 {
			psi = *in + step
		}
	}
	return *in
}

// again tries other places at psi, where the set seems to end; true where one is inside by more than rounding, with w.y there.
func (w *walker) again(psi float64, y []float64, top, cut float64) bool {
	p := w.p
	i := p.P - 1
	lambda, theta := y[i], y[i+1]
	for _, s := range [][2]float64{{lambda, 0}, {lambda, 1.2}, {lambda + 1, theta}, {lambda - 1, theta}, {p.reachOf() + 1, 0.1}, {p.reachOf() + 5, 0}, {p.reachOf() + 1, 1.4}, {p.reachOf() + 5, 1.5}} {
		copy(w.y, y)
		w.y[i], w.y[i+1] = s[0], s[1]
		w.b.into(w.y)
		w.w.Rough = true
		v := w.eval(psi, w.y, nil, nil)
		w.w.Rough = false
		if !(v > top-cut/2-3) {
			continue
		}
		if value, _ := w.profile(psi, w.y); 2*(top-value) < cut-1e-5 {
			return true
		}
	}
	return false
}
