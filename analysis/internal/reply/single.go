package reply

import (
	"cmp"
	"math"
	"slices"
)

// Places of a likelihood L and of its derivatives in the mean mu, in lambda = log S and in theta; sigma = S cos(theta) is the
// spread of limits, tau = S sin(theta) that of replies. The likelihood of separate ages depends on sigma and tau through S
// alone where tau is small, so that these coordinates keep a ridge straight.
const (
	iL = iota
	iM
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

// derivatives are a likelihood and its derivatives.
type derivatives [parts]float64

// How an integral is cut up.
const (
	tailBound  = 1e-11 // share of a likelihood that may lie beyond the outermost nodes
	reachBound = 1e-9  // the same for smoothed steps cut off at some reach, times that reach
	halfBound  = 3e-5  // disagreement of every other node; the error of all of them is about its square, mostly less
	pace       = 0.85  // distance of nodes in widths of the narrowest feature
	firstSpan  = 8.0   // nodes reach this many sigma from the mean at first
	softReach  = 7.6   // standard deviations beyond which a reply is saturated
	stepReach  = 8.3   // the same where a cell may have probability 0
	hardReach  = 38.0  // the same where a likelihood may rest on tails alone
	direct     = 3.0   // up to this sigma/tau the whole integral is summed over nodes
	far        = 30.0  // above this sigma/tau soft steps serve in every tail
	pointlike  = 1e-4  // below this sigma/width the law of limits is a point with a variance
)

// spread are the scales at one point.
type spread struct{ s, sigma, tau float64 }

func newSpread(lambda, theta float64) spread {
	s := math.Exp(lambda)
	switch {
	case theta <= 0:
		return spread{s, s, 0}
	case theta >= math.Pi/2:
		return spread{s, 0, s}
	}
	sin, cos := math.Sincos(theta)
	return spread{s, s * cos, s * sin}
}

// plan is how the integrals of a group are taken at one point.
type plan struct {
	spread
	mu, m0, h float64
	first, n  int  // node k is m0 + k h = mu + (first + k) h
	soft      bool // soft steps in closed form, nodes for the rest
	deriv     bool
	reach     float64
	span      float64
	refined   int
}

// evaluate puts the parts of every limit of g with mean mu, divided by exp(scale), into w.parts. Parts after the first are
// zero without deriv.
func (w *space) evaluate(g *group, mu float64, sp spread, deriv bool) {
	w.ages(g, mu, sp.s)
	p := plan{spread: sp, mu: mu, deriv: deriv, span: firstSpan}
	if sp.tau == 0 {
		w.steps(g, &p)
		return
	}
	width := 1 / math.Hypot(1/sp.sigma, math.Sqrt(float64(g.crowd(2*sp.tau)))/sp.tau)
	if sp.sigma <= pointlike*width {
		w.begin(g)
		for i, l := range g.limits {
			w.point(g, l, &p, &w.parts[i])
		}
		return
	}
	p.soft = sp.sigma > direct*sp.tau
	p.h = pace * width
	p.reach = g.reach(p.soft)
	for range 20 {
		w.integrate(g, &p)
		if w.enough(g, &p) {
			return
		}
	}
}

// steps is evaluate at tau = 0.
func (w *space) steps(g *group, p *plan) {
	w.begin(g)
	for i, l := range g.limits {
		w.closed(l, p, &w.parts[i])
		if p.deriv && l.repeated {
			w.slope(g, l, p, &w.parts[i])
		}
	}
}

// integrate is evaluate with one plan.
func (w *space) integrate(g *group, p *plan) {
	w.begin(g)
	w.zones = append(w.zones[:0], zone{p.mu - p.span*p.sigma, p.mu + p.span*p.sigma})
	if p.soft {
		for i, l := range g.limits {
			w.closed(l, p, &w.parts[i])
		}
		w.zones = g.overlaps(w.zones[:0], p)
	}
	for _, z := range w.zones {
		w.lay(g, p, z)
		for i, l := range g.limits {
			a, b := 0, p.n
			if p.soft {
				a, b = p.part(l, z)
			}
			if len(l.at) == 0 {
				w.parts[i][iL] = l.cell[0]
			} else if a < b {
				w.half[i] += w.sum(g, l, p, a, b, &w.parts[i])
			}
		}
	}
}

// enough checks what integrate made, and changes the plan where that was too coarse or too narrow.
func (w *space) enough(g *group, p *plan) bool {
	coarse, narrow, short := false, false, false
	for i, l := range g.limits {
		v := w.parts[i][iL]
		coarse = coarse || v > 0 && !(math.Abs(w.half[i]) < halfBound*v)
		narrow = narrow || density(p.span)*l.top > tailBound*v
		short = short || p.soft && density(p.reach)*l.top > reachBound*v
	}
	if short && p.sigma < far*p.tau { // likelihoods that rest on the tails of replies: soft steps would cancel out
		p.soft, p.reach = false, g.reach(false)
		return false
	}
	if short {
		p.reach = min(hardReach, p.reach+3)
	}
	if coarse {
		p.h /= 1.5
		p.refined++
	}
	if narrow {
		p.span = min(hardReach, p.span+3)
	}
	return !(coarse && p.refined < 6 || narrow && p.span < hardReach || short && p.reach < hardReach)
}

// reach is how far in standard deviations of a reply it must be followed.
func (g *group) reach(soft bool) float64 {
	switch {
	case g.law.Floor > 0 && g.law.Ceiling < 1:
		return softReach
	case soft && !g.dead:
		return stepReach
	}
	return hardReach
}

// overlaps joins the zones of all limits, cut to the nodes' span.
func (g *group) overlaps(zones []zone, p *plan) []zone {
	for _, l := range g.limits {
		zones = l.overlaps(zones, p.reach*p.tau)
	}
	slices.SortFunc(zones, func(a, b zone) int { return cmp.Compare(a.lo, b.lo) })
	lo, hi := p.mu-p.span*p.sigma, p.mu+p.span*p.sigma
	out := zones[:0]
	for _, z := range zones {
		z = zone{max(z.lo, lo), min(z.hi, hi)}
		if k := len(out) - 1; z.lo >= z.hi {
			continue
		} else if k >= 0 && z.lo <= out[k].hi+p.tau {
			out[k].hi = max(out[k].hi, z.hi)
		} else {
			out = append(out, z)
		}
	}
	return out
}

// part gives the nodes of zone z that l needs.
func (p *plan) part(l *limit, z zone) (a, b int) {
	lo, hi := z.hi, z.lo
	var few [8]zone
	for _, own := range l.overlaps(few[:0], p.reach*p.tau) {
		if own.hi > z.lo && own.lo < z.hi {
			lo, hi = min(lo, own.lo), max(hi, own.hi)
		}
	}
	if lo >= hi {
		return 0, 0
	}
	return clamp(math.Floor((lo-p.m0)/p.h), p.n), clamp(math.Ceil((hi-p.m0)/p.h)+1, p.n)
}

// lay lays nodes on a zone and fills the rows of shared ages.
func (w *space) lay(g *group, p *plan, z zone) {
	p.first = int(math.Floor((z.lo - p.mu) / p.h))
	p.n = int(math.Ceil((z.hi-p.mu)/p.h)) - p.first + 1
	p.m0 = p.mu + float64(p.first)*p.h
	w.nodes(p)
	for s, at := range g.age {
		if g.users[s] > 1 {
			w.rows[s].fill(g.law, at, p)
		}
	}
}

// sum adds the integral over nodes [a, b) to o and tells by how much even and odd nodes disagree.
func (w *space) sum(g *group, l *limit, p *plan, a, b int, o *derivatives) (half float64) {
	w.product(g, l, p, a, b)
	var m0, m1, m2, m3, m4, n0, n1, n2, o0 float64
	sign := 1.0
	for k := a; k < b; k++ {
		q := w.p[k]
		v := w.w[k] * q
		if p.soft {
			v -= w.w[k] * w.soft[k]
		}
		half += sign * v
		sign = -sign
		m0 += v
		if !p.deriv {
			continue
		}
		t := w.node[k]
		vt := v * t
		vtt := vt * t
		m1 += vt
		m2 += vtt
		m3 += vtt * t
		m4 += vtt * t * t
		e, f := -q*w.e[k], q*(w.e[k]*w.e[k]+w.f[k])
		if p.soft {
			e -= w.soft1[k]
			f -= w.soft2[k]
		}
		e *= w.w[k]
		n0 += e
		n1 += e * t
		n2 += e * t * t
		o0 += f * w.w[k]
	}
	o[iL] += m0
	if p.deriv {
		s := p.sigma
		o.turn(moments{m: m1 / s, mm: (m2 - m0) / (s * s), a: m2 - m0, aa: m4 - 5*m2 + 2*m0, ma: (m3 - 3*m1) / s,
			b: n0, bb: o0, mb: n1 / s, ab: n2 - n0, tan: p.tau / s, cot: s / p.tau})
	}
	return half
}

// moments are derivatives of L: m by mu; a by log sigma, as sigma L_sigma, aa as sigma^2 L_sigma_sigma; b and bb the same for tau.
type moments struct{ m, mm, a, aa, ma, b, bb, mb, ab, tan, cot float64 }

// turn adds derivatives in sigma and tau as derivatives in lambda and theta.
func (o *derivatives) turn(d moments) {
	o[iM] += d.m
	o[iMM] += d.mm
	o[iS] += d.a + d.b
	o[iMS] += d.ma + d.mb
	o[iSS] += d.aa + 2*d.ab + d.bb + d.a + d.b
	angle := d.cot*d.b - d.tan*d.a
	o[iT] += angle
	o[iMT] += d.cot*d.mb - d.tan*d.ma
	o[iST] += d.cot*d.bb - d.tan*d.aa + (d.cot-d.tan)*d.ab + angle
	o[iTT] += d.tan*d.tan*d.aa - 2*d.ab + d.cot*d.cot*d.bb - d.a - d.b
}
