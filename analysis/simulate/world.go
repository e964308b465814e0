package simulate

import (
	"math"
	"math/rand/v2"
	"strconv"
)

// The own limits of a Study. With z standard normal over tasters,
//
//	log-normal   log t = log Median + LogSD z
//	Weibull      t = Median (E/log 2)^(1/k), E = -log(1 - Phi(z)) exponential, k = pi/(sqrt(6) LogSD)
//
// The Weibull law has the same median and the same log-sd (that of its log is pi/(k sqrt 6), the sd of a Gumbel law over k), not
// the same one-in-ten: at log-sd 0.35 its tenth lies at 0.60 of the median, the log-normal's at 0.64.
//
// Two kinds: a taster is of the other kind with chance OtherShare, and then the limit is OtherRatio times what it would be, so that
// the limits are a mixture of two laws of one shape. Median is that of the first kind; TrueMedian that of all.
//
// A drink that improves first: to a taster in YoungShare it is not ready before YoungAge minutes, and they reject every glass younger
// than that (but for slips), whatever their limit, which is still the age beyond which they would leave the rest.
//
// A taster who repeats the own "no": once a glass was rejected, each later reply about it is "no" with chance RepeatNo, else
// judged anew. The limit is what it was.

// own is what a taster brings along.
type own struct {
	limit float64 // minutes, on a typical drink
	ready float64 // minutes; glasses younger than this are rejected; 0 none
}

// own makes a taster of the standard normal z.
func (s *Study) own(rng *rand.Rand, z float64) own {
	who := own{limit: s.limit(z)}
	s.kind(rng, &who)
	return who
}

// kind deals what a taster may have besides the limit. It draws nothing where the study has no such tasters.
func (s *Study) kind(rng *rand.Rand, to ...*own) {
	other := s.OtherShare > 0 && rng.Float64() < s.OtherShare
	young := s.YoungShare > 0 && rng.Float64() < s.YoungShare
	for _, who := range to {
		if other {
			who.limit *= s.OtherRatio
		}
		if young {
			who.ready = s.YoungAge
		}
	}
}

// limit is the limit of the first kind at a standard normal z.
func (s *Study) limit(z float64) float64 {
	if !s.Weibull || s.LogSD == 0 {
		return s.Median * math.Exp(s.LogSD*z)
	}
	return s.Median * math.Pow(-math.Log(normalCDF(-z))/math.Ln2, 1/s.shape())
}

// shape is that of the Weibull law with the study's log-sd.
func (s *Study) shape() float64 { return math.Pi / (math.Sqrt(6) * s.LogSD) }

// below is the share of the first kind whose limit is t minutes or less.
func (s *Study) below(t float64) float64 {
	switch x := t / s.Median; {
	case t <= 0:
		return 0
	case s.LogSD == 0 && x >= 1:
		return 1
	case s.LogSD == 0:
		return 0
	case s.Weibull:
		return -math.Expm1(-math.Ln2 * math.Pow(x, s.shape()))
	default:
		return normalCDF(math.Log(x) / s.LogSD)
	}
}

// TrueShare is the share of all tasters, a fraction, whose own limit on a typical drink is t minutes or less.
func (s Study) TrueShare(t float64) float64 {
	s = s.checked()
	return s.share(t)
}

// share is TrueShare of a study that has its defaults.
func (s *Study) share(t float64) float64 {
	return (1-s.OtherShare)*s.below(t) + s.OtherShare*s.below(t/s.OtherRatio)
}

// TrueMedian is the median over tasters of the own limit on a typical drink, minutes.
func (s Study) TrueMedian() float64 { return s.TrueQuantile(0.5) }

// TrueQuantile is the age in minutes by which a fraction p, strictly between 0 and 1, of all tasters have reached their own limit on a
// typical drink. Batch faults, reply noise, slips, youth and repeated replies do not move it. It panics at another p.
func (s Study) TrueQuantile(p float64) float64 {
	if !(p > 0 && p < 1) {
		panic("simulate: a quantile at " + strconv.FormatFloat(p, 'g', -1, 64) + ": give a fraction between 0 and 1")
	}
	s = s.checked()
	z := math.Sqrt2 * math.Erfinv(2*p-1)
	lo := s.limit(z) * min(1, s.OtherRatio)
	hi := s.limit(z) * max(1, s.OtherRatio)
	if s.OtherShare == 0 || lo == hi {
		return s.limit(z)
	}
	if s.OtherShare == 1 {
		return s.limit(z) * s.OtherRatio
	}
	// the mixture's quantile lies between those of the kinds: the least t with at least p below, to rounding
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if s.share(mid) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
