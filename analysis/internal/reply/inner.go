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
		p.soft, p.reach = t.kappa > direct*t.tau, g.reach(t.kappa > direct*t.tau)
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

// weights computes the normal weights of the nodes of m about every node of u.
func (in *inner) weights(p *plan, mu0, h float64, n int) {
	in.step = min(int(2*p.span*p.sigma/p.h)+2, p.n)
	size := n * in.step
	if cap(in.weight) < size {
		in.weight, in.place = make([]float64, size, size+size/2), make([]float64, size, size+size/2)
	}
	if cap(in.from) < n {
		in.from = make([]int, n, 2*n)
	}
	in.weight, in.place, in.from = in.weight[:size], in.place[:size], in.from[:n]
	step := p.h / p.sigma
	fall := math.Exp(-step * step)
	for k := range n {
		mu := mu0 + float64(k)*h
		first := clamp(math.Ceil((mu-p.span*p.sigma-p.m0)/p.h), p.n-in.step)
		in.from[k] = first
		t0 := (p.m0 + float64(first)*p.h - mu) / p.sigma
		w, at := in.weight[k*in.step:(k+1)*in.step], in.place[k*in.step:(k+1)*in.step]
		// phi(t + step) = phi(t) r, r = exp(-t step - step^2/2), which falls by the same factor at each step.
		v, r := step*density(t0), math.Exp(-t0*step-step*step/2)
		for j := range w {
			at[j] = t0 + float64(j)*step
			w[j] = v
			v *= r
			r *= fall
		}
	}
}

// values puts the integrand's P, tau P_tau and tau^2 P_tau_tau, less soft steps, into v0, v1, v2.
func (in *inner) values(g *group, l *limit, p *plan, a, b int) {
	for _, s := range []*[]float64{&in.v0, &in.v1, &in.v2} {
		if cap(*s) < p.n {
			*s = make([]float64, p.n, p.n+p.n/2)
		}
		*s = (*s)[:p.n]
		clear(*s)
	}
	in.product(g, l, p, a, b)
	for k := a; k < b; k++ {
		q := in.p[k]
		in.v0[k] = q
		if p.deriv {
			in.v1[k], in.v2[k] = -q*in.e[k], q*(in.e[k]*in.e[k]+in.f[k])
		}
		if p.soft {
			in.v0[k] -= in.soft[k]
			in.v1[k] -= in.soft1[k]
			in.v2[k] -= in.soft2[k]
		}
	}
}

// needed are the nodes of u at which limit i is wanted.
func (in *inner) needed(i, n int) part {
	if in.parts == nil {
		return part{0, n}
	}
	return in.parts[i]
}

// moments adds, for the nodes of u in need, the integral over m to out; false where even and odd nodes disagree too much.
func (in *inner) moments(p *plan, a, b int, need part, out []raw) bool {
	if !p.deriv {
		return in.values0(p, a, b, need, out)
	}
	good, s := true, p.sigma
	for k := need.a; k < need.b; k++ {
		lo, hi := max(a, in.from[k]), min(b, in.from[k]+in.step)
		if lo >= hi {
			continue
		}
		base := k*in.step - in.from[k]
		w, at := in.weight[base+lo:base+hi], in.place[base+lo:base+hi]
		v0, v1, v2 := in.v0[lo:hi], in.v1[lo:hi], in.v2[lo:hi]
		var m0, m1, m2, m3, m4, n0, n1, n2, o0, half float64
		sign := 1.0
		for j, x := range w {
			v := x * v0[j]
			half += sign * v
			sign = -sign
			m0 += v
			t := at[j]
			vt := v * t
			vtt := vt * t
			m1 += vt
			m2 += vtt
			m3 += vtt * t
			m4 += vtt * t * t
			e := x * v1[j]
			n0 += e
			n1 += e * t
			n2 += e * t * t
			o0 += x * v2[j]
		}
		r := &out[k]
		r.l += m0
		good = good && (p.rough || math.Abs(half) < halfBound*r.l || math.Abs(half) < 1e-9)
		r.m += m1 / s
		r.s += m2 - m0
		r.t += n0
		r.mm += (m2 - m0) / (s * s)
		r.ms += (m3 - 3*m1) / s
		r.mt += n1 / s
		r.ss += m4 - 5*m2 + 2*m0
		r.st += n2 - n0
		r.tt += o0
	}
	return good
}

// values0 is moments without derivatives.
func (in *inner) values0(p *plan, a, b int, need part, out []raw) bool {
	good := true
	for k := need.a; k < need.b; k++ {
		lo, hi := max(a, in.from[k]), min(b, in.from[k]+in.step)
		if lo >= hi {
			continue
		}
		base := k*in.step - in.from[k]
		w, v0 := in.weight[base+lo:base+hi], in.v0[lo:hi]
		even, odd := 0.0, 0.0
		for j := 1; j < len(w); j += 2 {
			even += w[j-1] * v0[j-1]
			odd += w[j] * v0[j]
		}
		if j := len(w) - 1; j%2 == 0 {
			even += w[j] * v0[j]
		}
		r := &out[k]
		r.l += even + odd
		good = good && (p.rough || math.Abs(even-odd) < halfBound*r.l || math.Abs(even-odd) < 1e-9)
	}
	return good
}
