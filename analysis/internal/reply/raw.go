package reply

import "math"

// raw is a likelihood L, divided by exp(scale), with its derivatives in the mean mu of limits, their spread sigma and the noise
// tau of replies; those in sigma and tau are multiplied by sigma and tau, once for each time.
type raw struct {
	l          float64
	m, s, t    float64 // L_mu, sigma L_sigma, tau L_tau
	mm, ms, mt float64
	ss, st, tt float64
	edge       float64 // L_theta at tau = 0, beyond what s and t say
}

// spread are the scales at one point, S^2 = sigma^2 + tau^2. sigma is never quite 0 beside tau: a law that narrow is a point.
type spread struct{ s, sigma, tau float64 }

const nothing = 1e-9

func newSpread(lambda, theta float64) spread {
	s := math.Exp(lambda)
	switch {
	case theta <= 0:
		return spread{s, s, 0}
	case theta >= math.Pi/2:
		return spread{s, nothing * s, s}
	}
	sin, cos := math.Sincos(theta)
	return spread{s, s * max(cos, nothing), s * sin}
}

// addClosed adds a function of mu and S alone: its value and its derivatives in mu and log S.
func (r *raw) addClosed(sp spread, l, m, s, mm, ms, ss float64) {
	c := sp.sigma * sp.sigma / (sp.s * sp.s)
	d := 1 - c
	if sp.tau < sp.sigma {
		d = sp.tau * sp.tau / (sp.s * sp.s)
	}
	cross := 2 * c * d * s
	r.l += l
	r.m += m
	r.s += c * s
	r.t += d * s
	r.mm += mm
	r.ms += c * ms
	r.mt += d * ms
	r.ss += c*c*ss + cross - c*s
	r.st += c*d*ss - cross
	r.tt += d*d*ss + cross - d*s
}

// Places of the derivatives of a log-likelihood in mu, lambda = log S and theta; sigma = S cos(theta), tau = S sin(theta). The
// likelihood of separate ages depends on sigma and tau through S alone where tau is small, so that these coordinates keep a
// ridge straight.
const (
	iM = iota
	iS
	iT
	iMM
	iMS
	iMT
	iSS
	iST
	iTT
	parts
)

// derivatives of a log-likelihood.
type derivatives [parts]float64

// addLog adds weight times the derivatives of log L.
func (d *derivatives) addLog(r *raw, sp spread, weight float64) {
	tan, cot := sp.tau/sp.sigma, 0.0
	if sp.tau > 0 {
		cot = sp.sigma / sp.tau
	}
	v := 1 / r.l
	m, s, t := r.m*v, (r.s+r.t)*v, (cot*r.t-tan*r.s+r.edge)*v
	mt := (cot*r.mt - tan*r.ms) * v
	ss := (r.ss+2*r.st+r.tt)*v + s
	st := (cot*r.tt-tan*r.ss+(cot-tan)*r.st)*v + t - r.edge*v
	tt := (tan*tan*r.ss - 2*r.st + cot*cot*r.tt - r.s - r.t) * v
	d[iM] += weight * m
	d[iS] += weight * s
	d[iT] += weight * t
	d[iMM] += weight * (r.mm*v - m*m)
	d[iMS] += weight * ((r.ms+r.mt)*v - m*s)
	d[iMT] += weight * (mt - m*t)
	d[iSS] += weight * (ss - s*s)
	d[iST] += weight * (st - s*t)
	d[iTT] += weight * (tt - t*t)
}
