package survival

import "math"

// estimate fills in F, its two errors and the limits; free is the curve of all causes, on the same times.
func (c *IncidenceCurve) estimate(free *KaplanMeierFit) {
	var jack jackknife
	var aalen aalenVariance
	f, before := 0.0, 1.0 // F and S just before the step
	var share Share
	share.Upper = 1
	for k := range c.steps {
		step, all := &c.steps[k], &free.steps[k]
		own, n := step.Events, all.AtRisk
		f += before * own / n
		jack.add(f, before, own, all, free.stay(k))
		aalen.add(f, before, own, all)
		if all.Events > 0 {
			se := jack.error(f)
			share = newShare(f, se/f, free.Scale, free.z)
			share.SE = se
		}
		step.Share, step.AalenSE = share, aalen.error(f)
		before = all.Value
	}
}

// jackknife sums the squared derivatives of F(t) in the weights of the rows. With G(t) = sum_{s <= t} d_s/(n_s (n_s - d_s))
// the derivative of log S(s-) is G(s-) for a row still at risk at s. So that of F(t) is the same for all rows still at risk
// after t, B(t) = sum_{s <= t} S(s-) h_s (G(s-) - 1/n_s), h the hazard of the cause. A row that ended at x has a + b (F(t) -
// F(x)) from there on: a = B(x), and S(x-)/n_x more when it ended by the cause; b = G(x), and 1/(n_x - d_x) less when it ended
// by any. Sums of squares of that are a polynomial in F(t), and one pass over the times does for all of them.
type jackknife struct {
	g, b             float64 // G and B up to now
	after            float64 // rows still at risk after now
	square, mix, two float64 // sums over ended rows of (a - b F(x))^2, 2 b (a - b F(x)), b^2
}

// add takes the step with own events of the cause that brought F to f; s is S just before it, stay the rows that outlive it.
func (j *jackknife) add(f, s, own float64, all *Step, stay float64) {
	n, d := all.AtRisk, all.Events
	j.after = stay - all.Censored
	j.b += s * own / n * (j.g - 1/n)
	fall := 0.0
	if stay > 0 {
		j.g += d / n / stay
		fall = j.g - 1/stay
	} // else S is 0 from here on, and F stays as it is
	j.end(own, j.b+s/n, fall, f)
	j.end(d-own, j.b, fall, f)
	j.end(all.Censored, j.b, j.g, f)
}

// end adds rows whose derivative is a + b (F(t) - f) from now on.
func (j *jackknife) end(rows, a, b, f float64) {
	a -= b * f
	j.square += rows * a * a
	j.mix += rows * 2 * a * b
	j.two += rows * b * b
}

func (j *jackknife) error(f float64) float64 {
	return math.Sqrt(max(0, j.after*j.b*j.b+j.square+f*(j.mix+f*j.two)))
}

// aalenVariance is the delta method over the hazards of the times s <= t. The derivative of F(t) in the hazard of the cause at
// s is S(s-) (1 - (F(t) - F(s))/S(s)), in the hazard of the other causes together -S(s-) (F(t) - F(s))/S(s); both are a - b
// F(t), and their squares times the variances sum to a polynomial in F(t).
type aalenVariance struct{ square, mix, two float64 }

func (v *aalenVariance) add(f, s, own float64, all *Step) {
	n, other := all.AtRisk, all.Events-own
	r := 0.0
	if all.Value > 0 { // else F stays as it is
		r = s / all.Value
		v.hazard(r*f, r, hazardVariance(other, n))
	}
	v.hazard(s+r*f, r, hazardVariance(own, n))
}

func (v *aalenVariance) hazard(a, b, variance float64) {
	v.square += variance * a * a
	v.mix += variance * 2 * a * b
	v.two += variance * b * b
}

func (v *aalenVariance) error(f float64) float64 {
	return math.Sqrt(max(0, v.square-f*(v.mix-f*v.two)))
}

// hazardVariance is that of d/n, d events among n: hypergeometric where events are tied, Poisson for a single one.
func hazardVariance(d, n float64) float64 {
	if d <= 1 {
		return d / n / n
	}
	return d * (n - d) / (n - 1) / n / n
}
