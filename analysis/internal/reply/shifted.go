package reply

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Where kappa is small beside the width of what replies say of a limit, the integral over e takes few points: those of the
// Gauss-Hermite rule, places hermiteAt in kappa with weights hermiteWeight under the normal law.
const (
	hermitePoints = 10
	hermiteBelow  = 0.25 // kappa in widths up to which the rule serves
)

var hermiteAt, hermiteWeight [hermitePoints]float64

func init() {
	quad.Hermite{}.FixedLocations(hermiteAt[:], hermiteWeight[:], math.Inf(-1), math.Inf(1))
	for i, x := range hermiteAt {
		hermiteAt[i] = math.Sqrt2 * x
		hermiteWeight[i] /= math.Sqrt(math.Pi)
	}
}

// shifted sets the parts by the Gauss-Hermite rule: the nodes of u are moved by each of its points in turn.
func (in *inner) shifted(g *group, p *plan, mu0, h float64, n int) {
	in.reserve(g)
	q := *p
	q.h, q.n, q.soft = h, n, false
	for i, t := range hermiteAt {
		q.m0, q.mu, q.first = mu0+p.sigma*t, mu0+p.sigma*t, 0
		in.lay(g, &q, zone{q.m0, q.m0 + float64(n-1)*h})
		q.n = n
		for j, l := range g.limits {
			in.product(g, l, &q, 0, n)
			in.addShifted(p, hermiteWeight[i], t, len(l.at) == 0, in.raw[j*n:j*n+n])
		}
	}
}

// addShifted adds weight x of the point t to the parts of one limit.
func (in *inner) addShifted(p *plan, x, t float64, constant bool, out []raw) {
	s := p.sigma
	o, o3, o4 := t*t-1, (t*t*t-3*t)/s, t*t*t*t-5*t*t+2
	for k := range out {
		v := x * in.p[k]
		if constant {
			v = x
		}
		r := &out[k]
		r.l += v
		if !p.deriv || constant {
			continue
		}
		e := -v * in.e[k]
		r.m += v * t / s
		r.s += v * o
		r.t += e
		r.mm += v * o / (s * s)
		r.ms += v * o3
		r.mt += e * t / s
		r.ss += v * o4
		r.st += e * o
		r.tt += v * (in.e[k]*in.e[k] + in.f[k])
	}
}
