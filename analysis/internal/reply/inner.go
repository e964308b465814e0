package reply

import "math"

// inner are the likelihoods of single limits given u, at nodes of u: of every limit of one group its raw parts on every node,
// limit by limit.
type inner struct {
	space
	raw        []raw
	weight     []float64 // of node j of m at node k of u, from[k] on
	place      []float64 // (m_j - mu_k)/kappa
	from       []int
	step       int // how many weights a node of u has at most
	laid       layout
	store      []part
	parts      []part // of the nodes of u that each limit needs; nil for all
	v0, v1, v2 []float64
}

// part is a range of nodes.
type part struct{ a, b int }

// layout is what the weights depend on.
type layout struct {
	mu0, h, m0, step, sigma, span float64
	n, nodes                      int
}

// fill computes the parts for means mu0 + k h, k < n, with spreads kappa and tau, not both 0.
func (in *inner) fill(g *group, mu0, h float64, n int, t three, span float64, deriv, rough bool) {
	size := n * len(g.limits)
	if cap(in.raw) < size {
		in.raw = make([]raw, size, size+size/2)
	}
	in.raw = in.raw[:size]
	clear(in.raw)
	p := plan{spread: spread{t.inner, t.kappa, t.tau}, deriv: deriv, rough: rough, span: span}
	noise := t.tau / math.Sqrt(float64(g.crowd(2*t.tau)))
	switch {
	case t.tau == 0:
		in.closedOn(g, &p, mu0, h, n)
	case t.kappa <= pointlike*noise:
		for k := range n {
			p.mu = mu0 + float64(k)*h
			for i, l := range g.limits {
				g.law.point(l, &p, &in.raw[i*n+k])
			}
		}
	case t.kappa <= hermiteBelow*noise:
		p.reach = g.reach(false)
		in.shifted(g, &p, mu0, h, n)
	default:
		p.soft = t.kappa > far*t.tau || t.kappa > direct*t.tau && g.reach(false) == softReach // without slips tails count
		p.reach = g.reach(p.soft)
		if p.trifle = 1e-9; g.reach(false) != softReach {
			p.trifle = 1e-18
		}
		p.h = p.pace() / math.Hypot(1/t.kappa, 1/noise)
		for range refinings {
			if p.soft {
				in.closedOn(g, &p, mu0, h, n)
			}
			if in.sums(g, &p, mu0, h, n) {
				return
			}
			clear(in.raw)
			p.h /= 1.5
		}
	}
}

// closedOn sets the parts by soft steps, or exact ones at tau = 0.
func (in *inner) closedOn(g *group, p *plan, mu0, h float64, n int) {
	for k := range n {
		mu := mu0 + float64(k)*h
		in.ages(g, mu, p.s)
		for i, l := range g.limits {
			in.closed(l, p, &in.raw[i*n+k])
			if p.tau == 0 && p.deriv && l.repeated {
				q := *p
				q.mu = mu
				in.raw[i*n+k].edge = in.slope(g, l, &q)
				in.ages(g, mu, p.s)
			}
		}
	}
}

// sums adds integrals over nodes of m; false where they turn out too coarse.
func (in *inner) sums(g *group, p *plan, mu0, h float64, n int) bool {
	lo, hi := mu0-p.span*p.sigma, mu0+float64(n-1)*h+p.span*p.sigma
	in.zones = append(in.zones[:0], zone{lo, hi})
	if p.soft {
		in.zones = in.zones[:0]
		for _, l := range g.limits {
			in.zones = l.overlaps(in.zones, p.reach*p.tau)
		}
		in.zones = merge(in.zones, lo, hi, p.tau)
	}
	good := true
	for _, z := range in.zones {
		p.mu = z.lo
		in.reserve(g)
		in.lay(g, p, z)
		if l := (layout{mu0, h, p.m0, p.h, p.sigma, p.span, n, p.n}); l != in.laid {
			in.weights(p, mu0, h, n)
			in.laid = l
		}
		for i, l := range g.limits {
			a, b := 0, p.n
			if p.soft {
				a, b = in.part(g, l, p, z)
			}
			if a < b && len(l.at) > 0 {
				in.values(g, l, p, a, b)
				good = in.moments(p, a, b, in.needed(i, n), in.raw[i*n:i*n+n]) && good
			} else if !p.soft {
				for k := range n {
					in.raw[i*n+k].l = l.cell[0]
				}
			}
		}
	}
	return good
}

func (in *inner) reserve(g *group) {
	if len(in.rows) < len(g.age) {
		in.rows = append(in.rows, make([]row, len(g.age)-len(in.rows))...)
	}
}
