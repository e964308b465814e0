package reply

import "math"

// End finds where a profile leaves {psi: 2 (max - profile(psi)) <= cut} on the way from at, where the maximum lies with
// parameters v, upward (way 1) or downward (way -1) to bound at most. It is the infinity of that way where the profile is still
// inside at bound. step > 0 is a first guess of the distance.
//
// On the scale of the signed root of 2 (max - profile) a profile is near a straight line, so Newton steps there find the end
// in a few evaluations; they are kept between the innermost point known to be outside and the outermost known to be inside.
// Just past an end found, the ascent is tried again from other places, since another hump may take over where one breaks off:
// where one of them lies inside, the walk goes on from there, and every point outside is doubted.
func (l *Line) End(at float64, v []float64, top, cut, step, bound, way float64) float64 {
	w := newWalker(l)
	defer l.p.spaces.Put(w.w)
	w.b = l.box()
	if math.IsInf(cut, 1) || (bound-at)*way <= 0 {
		return math.Inf(int(way))
	}
	y := make([]float64, len(w.y))
	l.drop(v, y)
	in, inY := at, append([]float64{}, y...)
	for range 6 {
		psi := w.leave(&in, inY, top, cut, way*step, bound)
		if math.IsInf(psi, 0) {
			return psi
		}
		past := psi + way*(1e-3*math.Abs(psi-at)+1e-5)
		if !w.again(past, inY, top, cut) {
			return psi
		}
		in, step, w.wary = past, max(step/4, 1e-2), true
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
	copy(w.y, inY)
	w.glance(*in, w.y)
	w.follow(step)
	for count := range 200 {
		if last := math.Abs(psi-*in) >= math.Abs(bound-*in); last && !bounded {
			psi = bound
		}
		value, slope, rest := w.glance(psi, w.y)
		if rest > 1e-5 && rest > math.Abs(top-value-cut/2)/20 {
			value, slope = w.profile(psi, w.y)
			rest = 0
		}
		if w.wary && 2*(top-value) > cut {
			copy(w.keep, w.y)
			if w.again(psi, inY, top, cut) {
				value, slope, rest = w.glance(psi, w.y)
			} else {
				copy(w.y, w.keep)
			}
		}
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
		if good && math.Abs(next-psi) < endTol*10 && math.Abs(root-r) < 1e-4 && rest < 1e-5 {
			if (next-*in)*step >= 0 || math.Abs(next-*in) < endTol*10 {
				return next
			}
		}
		if bounded && math.Abs(out-*in) < endTol {
			return *in + (out-*in)/2
		}
		before := psi
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
		if math.IsInf(value, -1) {
			copy(w.y, inY)
		}
		w.follow(psi - before)
	}
	return *in
}

// follow moves y along the tangent, no further than one step may go.
func (w *walker) follow(by float64) {
	scale := 1.0
	for i, t := range w.tangent {
		scale = min(scale, w.b.most[i]/max(math.Abs(t*by), 1e-300))
	}
	for i, t := range w.tangent {
		w.y[i] += scale * by * t
	}
	w.b.into(w.y)
}

// again tries other places at psi, past the seeming end of the set; true where one is inside by more than rounding, with w.y there.
func (w *walker) again(psi float64, y []float64, top, cut float64) bool {
	i, near := w.p.P-1, 4.0 // a hump is climbed from where the log-likelihood is this near
	if w.p.small() {
		near = 12
	}
	for _, s := range w.p.elsewhere(y[i], y[i+1], top-cut/2) {
		copy(w.y, y)
		w.y[i], w.y[i+1] = s[0], s[1]
		w.b.into(w.y)
		w.w.Rough = true
		v := w.eval(psi, w.y, nil, nil)
		w.w.Rough = false
		if !(v > top-cut/2-near) {
			continue
		}
		w.shun = y
		if !w.p.small() {
			w.need = top - cut/2
		}
		value, _ := w.profile(psi, w.y)
		w.shun, w.need = nil, math.Inf(-1)
		if 2*(top-value) < cut-1e-5 {
			return true
		}
	}
	return false
}

// elsewhere gives places (lambda, theta) where another hump of the likelihood may lie that reaches value: limits wide apart, no
// noise to much; in small panels larger and smaller spreads; and, where replies that do not depend on age are likely enough, those.
func (p *Problem) elsewhere(lambda, theta, value float64) [][2]float64 {
	wide := math.Log(p.scale())
	out := [][2]float64{{wide + 1, 0}, {wide + 5, 0}, {math.Log(min(p.gap, 1)) - 3, 0}}
	angles := []float64{0, 0.15, 0.7, 1.2}
	if p.small() {
		angles = []float64{0, 0.06, 0.15, 0.4, 0.8, 1.2, math.Pi / 2}
		out = append(out, [2]float64{lambda + 1, theta}, [2]float64{lambda - 1, theta}, [2]float64{wide + 1, 0.1}, [2]float64{wide, math.Pi / 2})
	}
	if p.Apart {
		angles = []float64{0, 0.6, 1.2}
	}
	for _, t := range angles {
		if math.Abs(t-theta) > 0.25 || p.small() {
			out = append(out, [2]float64{lambda, t})
		}
	}
	if p.ageless > value {
		out = append(out, [2]float64{wide + 1, 1.4}, [2]float64{wide + 3, 1.5}, [2]float64{wide + 5, 1.57})
	}
	return out
}

// smallPanel is the number of replies up to which more places are tried.
const smallPanel = 200

func (p *Problem) small() bool { return p.replies <= smallPanel && !p.Apart }
