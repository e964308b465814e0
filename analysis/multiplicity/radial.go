package multiplicity

import "math"

// radial is a group of any correlations seen from the origin: y = R u with u uniform on the sphere of its rank and R^2
// chi-square. With M(u) = max a_i'u (two-sided |a_i'u|) the largest exceeds w where R M(u) > w, so that
//
//	P = mean over u of P(R > w / M(u))      (w > 0)
//
// whatever the rank, and no matter that rows depend on each other [7]. M(u) has nothing to do with w: its law is worked out
// once, as masses on a grid, and serves every w.
type radial struct {
	rank, rows int
	both       bool
	at         []float64   // values of M
	mass       [][]float64 // by draws: masses of M; one row where M was integrated
	extra      [][]float64 // by draws: masses of all |a_i'u| less those of M; nil where M was integrated
	base       part        // law of a companion, whose masses are taken off those above; nil for none
	label      string
}

func (r *radial) clone() part {
	if r.base == nil {
		return r // exceed writes nothing that is shared
	}
	c := *r
	c.base = r.base.clone()
	return &c
}

func (r *radial) name() string { return r.label }

// One-sided and with w near 0, P(R x > w) is nearly a step at x = 0, which the grid follows less well.
const (
	closeToZero = 0.1
	steep       = 2e-4
)

// exceed is P(some Z_i > w), two-sided P(some |Z_i| > w).
func (r *radial) exceed(w float64) estimate {
	if r.both && w <= 0 {
		return estimate{1, 0}
	}
	single := above(w)
	if r.both {
		single *= 2
	}
	all := float64(r.rows) * single
	out := estimate{}
	if r.extra == nil {
		for k, x := range r.at {
			out.p += r.mass[0][k] * r.beyond(w, x)
		}
	} else if r.base == nil {
		out = r.drawn(w, all)
	} else {
		out = r.drawn(w, 0) // both have the same sum of single probabilities
		out.p += r.base.exceed(w).p
	}
	if !r.both && r.extra != nil && math.Abs(w) < closeToZero {
		out.within += steep
	}
	// No less than one alone, no more than all without overlap.
	out.p = max(single, min(out.p, all, 1))
	return out
}

// beyond is P(R x > w).
func (r *radial) beyond(w, x float64) float64 {
	switch {
	case w > 0 && x > 0:
		return radiusAbove(r.rank, w/x)
	case w > 0:
		return 0
	case x >= 0:
		return 1
	}
	return 1 - radiusAbove(r.rank, w/x)
}

// drawn estimates from the draws. The sum of all single probabilities (all) is known, so what the draws make of it serves as a
// control variate: the weight that leaves the least spread between draws, about 1 far out, where hardly two of the
// statistics are beyond w at once.
func (r *radial) drawn(w, all float64) estimate {
	var plain, sums [draws]float64
	for k, x := range r.at {
		v := r.beyond(w, x)
		for d := range r.mass {
			plain[d] += r.mass[d][k] * v
			sums[d] += (r.mass[d][k] + r.extra[d][k]) * v
		}
	}
	p, s := mean(plain[:]), mean(sums[:])
	var ss, ps float64
	for d := range draws {
		ss += (sums[d] - s) * (sums[d] - s)
		ps += (plain[d] - p) * (sums[d] - s)
	}
	weight := 0.0
	if ss > 0 {
		weight = ps / ss
	}
	squares := 0.0
	for d := range draws {
		e := plain[d] - p - weight*(sums[d]-s)
		squares += e * e
	}
	return estimate{p - weight*(s-all), 3 * math.Sqrt(squares/draws/(draws-2))}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
