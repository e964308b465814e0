package reply

import (
	"cmp"
	"math"
	"slices"
)

// How an integral is cut up.
const (
	pace       = 0.8   // distance of nodes in widths of the narrowest feature
	roughPace  = 1.4   // the same where a likelihood is only compared roughly
	halfBound  = 5e-5  // disagreement of every other node; the error of all of them is about its square, mostly less
	tailBound  = 1e-11 // share of a likelihood that may lie beyond the outermost nodes
	reachBound = 1e-9  // the same for smoothed steps cut off at some reach, times that reach
	thin       = 1e-13 // nodes are left out where the integrand is this small beside its largest
	stride     = 4     // nodes between two at which that is tried
	firstSpan  = 8.0   // nodes reach this many sigma from the mean at first
	softReach  = 7.6   // standard deviations beyond which a reply is saturated
	stepReach  = 8.3   // the same where a cell may have probability 0
	hardReach  = 38.0  // the same where a likelihood may rest on tails alone
	direct     = 3.0   // up to this sigma/tau the whole integral is summed over nodes
	far        = 30.0  // above this sigma/tau soft steps serve in every tail
	pointlike  = 1e-4  // below this sigma, in widths of what replies say of m, the law of limits is a point with a variance
	refinings  = 6     // most times nodes are set denser
)

// plan is how the integrals of a group are taken at one point.
type plan struct {
	spread
	mu, m0, h   float64
	first, n    int  // node k is m0 + k h = mu + (first + k) h
	soft        bool // soft steps in closed form, nodes for the rest
	deriv       bool
	rough       bool
	reach, span float64
	refined     int
	trifle      float64 // disagreement that is none, beside a largest value about 1
}

// pace is the distance of nodes in widths.
func (p *plan) pace() float64 {
	if p.rough {
		return roughPace
	}
	return pace
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

// zones are the parts of the line of m that need nodes: all within the span, or with soft steps the overlaps of all limits there.
func (g *group) zones(zones []zone, p *plan, todo []int) []zone {
	lo, hi := p.mu-p.span*p.sigma, p.mu+p.span*p.sigma
	if !p.soft {
		return append(zones, zone{lo, hi})
	}
	for _, i := range todo {
		zones = g.limits[i].overlaps(zones, p.reach*p.tau)
	}
	return merge(zones, lo, hi, p.tau)
}

// merge sorts zones, cuts them to [lo, hi] and joins those closer than gap.
func merge(zones []zone, lo, hi, gap float64) []zone {
	slices.SortFunc(zones, func(a, b zone) int { return cmp.Compare(a.lo, b.lo) })
	out := zones[:0]
	for _, z := range zones {
		z = zone{max(z.lo, lo), min(z.hi, hi)}
		if k := len(out) - 1; z.lo >= z.hi {
			continue
		} else if k >= 0 && z.lo <= out[k].hi+gap {
			out[k].hi = max(out[k].hi, z.hi)
		} else {
			out = append(out, z)
		}
	}
	return out
}

// lay lays nodes on a zone and fills the rows of shared ages.
func (w *space) lay(g *group, p *plan, z zone) {
	p.first = int(math.Floor((z.lo - p.mu) / p.h))
	p.n = int(math.Ceil((z.hi-p.mu)/p.h)) - p.first + 1
	p.m0 = p.mu + float64(p.first)*p.h
	w.nodes(p)
	for s, at := range g.age {
		if g.users[s] > 1 {
			w.rows[s].fill(g.law, at, p, 0, p.n, true, true)
		}
	}
}

// part gives the nodes that l needs: with soft steps those of its own overlaps within the zone, else those where its integrand
// is not thin beside its largest value, which every stride-th node tells.
func (w *space) part(g *group, l *limit, p *plan, z zone) (a, b int) {
	if !p.soft {
		return w.thick(g, l, p)
	}
	lo, hi := z.hi, z.lo
	w.own = l.overlaps(w.own[:0], p.reach*p.tau)
	for _, own := range w.own {
		if own.hi > z.lo && own.lo < z.hi {
			lo, hi = min(lo, own.lo), max(hi, own.hi)
		}
	}
	if lo >= hi {
		return 0, 0
	}
	return clamp(math.Floor((lo-p.m0)/p.h), p.n), clamp(math.Ceil((hi-p.m0)/p.h)+1, p.n)
}

// thick is part without soft steps.
func (w *space) thick(g *group, l *limit, p *plan) (a, b int) {
	if p.n < 8*stride {
		return 0, p.n
	}
	values := w.soft[:(p.n+stride-1)/stride]                   // not in use without soft steps
	start := clamp((l.guess-p.m0)/(p.h*stride), len(values)-1) // a good one first, so that others end early
	top := w.thin(g, l, p, start*stride, 0)
	values[start] = top
	for i := range values {
		if i != start {
			values[i] = w.thin(g, l, p, i*stride, top)
			top = max(top, values[i])
		}
	}
	first, last := len(values), -1
	for i, v := range values {
		if v >= thin*top {
			first, last = min(first, i), i
		}
	}
	if last < 0 {
		return 0, p.n
	}
	return max((first-1)*stride, 0), min((last+1)*stride+1, p.n)
}

// thin is the integrand of l at node k, or less where it is thin beside top.
func (w *space) thin(g *group, l *limit, p *plan, k int, top float64) float64 {
	v := w.w[k] * l.half * l.half
	m := p.m0 + float64(k)*p.h
	for j, at := range l.at {
		if v < thin*top {
			break
		}
		var yes, no float64
		if s := l.slot[j]; g.users[s] > 1 {
			yes, no = w.rows[s].at(g.law, k)
		} else {
			yes, no = g.law.at((at-m)/p.tau, p.reach)
		}
		if l.no[j] == 0 && l.yes[j] == 1 {
			v *= yes
		} else {
			v *= power(yes, l.yes[j]) * power(no, l.no[j])
		}
	}
	return v
}

// at gives P(yes) and P(no) at z, saturated beyond reach.
func (w Law) at(z, reach float64) (yes, no float64) {
	switch {
	case z > reach:
		return w.Ceiling, 1 - w.Ceiling
	case z < -reach:
		return w.Floor, 1 - w.Floor
	}
	lower, upper, _ := both(z)
	c := w.Ceiling - w.Floor
	return w.Floor + c*lower, 1 - w.Ceiling + c*upper
}
