package mixed

import (
	"fmt"
	"math"
)

// search looks for one end of a profile.
type search struct {
	profile func(psi float64) (float64, bool)
	task    *task
	cut     float64
	side    float64 // -1: lower, 1: upper
	why     string
}

// farthest is how many rough standard errors away a limit is looked for.
const farthest = 1e6

// height is the signed root of the deviance above the top, less that of the cut: nearly a straight line in u.
func (s *search) height(u float64) float64 { return s.above(s.task.from(u)) }

func (s *search) above(psi float64) float64 {
	d, ok := s.profile(psi)
	if !ok && s.why == "" {
		s.why = fmt.Sprintf("at %s the search over the other parameters did not end", number(psi))
	}
	over := d - s.task.base
	if over < -1e-5*(1+math.Abs(s.task.base)) {
		s.why = fmt.Sprintf("at %s the likelihood is above that of the fit, which is not its maximum", number(psi))
	}
	return math.Sqrt(max(over, 0)) - math.Sqrt(s.cut)
}

// end gives the limit, open when the profile stays below the cut as far as end.
func (s *search) end(end float64) (limit float64, open bool) {
	if end == s.task.estimate {
		return end, true
	}
	if !math.IsInf(end, 0) && s.above(end) <= 0 {
		return end, true
	}
	u := s.task.to(s.task.estimate)
	if math.IsInf(u, 0) || math.IsNaN(u) {
		u = s.task.start
	}
	in, low := u, -math.Sqrt(s.cut)
	step := s.task.step * math.Sqrt(s.cut)
	for {
		out := in + s.side*step
		if math.Abs(out-u) > farthest*s.task.step || s.task.from(out) == end {
			return end, true
		}
		high := s.height(out)
		if math.IsNaN(high) {
			s.why = fmt.Sprintf("at %s the likelihood is not a number", number(s.task.from(out)))
			return math.NaN(), false
		}
		if high > 0 {
			return s.task.from(s.between(in, low, out, high)), false
		}
		grown := 4.0 // as far as a straight line says, a little more
		if high > low {
			grown = min(4, max(0.2, -1.1*high/(high-low)))
		}
		step *= grown
		in, low = out, high
		if step < s.task.step {
			step = s.task.step
		}
	}
}

// between narrows a change of sign down by the Illinois rule.
func (s *search) between(in, low, out, high float64) float64 {
	last := 0
	for range 60 {
		u := (in*high - out*low) / (high - low)
		if math.IsInf(high, 1) {
			u = (in + out) / 2
		}
		if math.Abs(out-in) < 1e-9*(math.Abs(in)+s.task.step) {
			return u
		}
		h := s.height(u)
		switch {
		case math.IsNaN(h):
			s.why = fmt.Sprintf("at %s the likelihood is not a number", number(s.task.from(u)))
			return math.NaN()
		case math.Abs(h) < 1e-8:
			return u
		case h > 0:
			out, high = u, h
			if last == 1 {
				low /= 2
			}
			last = 1
		default:
			in, low = u, h
			if last == -1 {
				high /= 2
			}
			last = -1
		}
	}
	return (in + out) / 2
}
