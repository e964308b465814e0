package reply

import "math"

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
		good = good && (p.rough || math.Abs(half) < halfBound*r.l || math.Abs(half) < p.trifle)
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
		good = good && (p.rough || math.Abs(even-odd) < halfBound*r.l || math.Abs(even-odd) < p.trifle)
	}
	return good
}
