package reply

import "math"

// row holds what one age contributes at nodes m_k, z = (log age - m)/tau; slices of one length, filled on a part of the nodes.
type row struct {
	from, to        int       // nodes outside [from, to) are saturated
	yes, eYes, fYes []float64 // P(yes); e = z d log P/dz; f = e (2 - z^2 - e)
	no, eNo, fNo    []float64 // the same of a no
	up, up1, up2    []float64 // the soft step Phi(-z), and tau, tau^2 times its derivatives in tau
}

func (r *row) grow(n int) {
	for _, s := range []*[]float64{&r.yes, &r.eYes, &r.fYes, &r.no, &r.eNo, &r.fNo, &r.up, &r.up1, &r.up2} {
		if cap(*s) < n {
			*s = make([]float64, n, n+n/2)
		}
		*s = (*s)[:n]
	}
}

// fill computes the row of an age on nodes [a, b) of a plan, for yes or no replies or both.
func (r *row) fill(law Law, at float64, p *plan, a, b int, yes, no bool) {
	r.grow(p.n)
	r.from = max(clamp(math.Ceil((at-p.reach*p.tau-p.m0)/p.h), b), a)
	r.to = max(clamp(math.Floor((at+p.reach*p.tau-p.m0)/p.h)+1, b), r.from)
	step, z0 := p.h/p.tau, (at-p.m0)/p.tau
	c, miss := law.Ceiling-law.Floor, 1-law.Ceiling
	for k := r.from; k < r.to; k++ {
		z := z0 - float64(k)*step
		x := math.Abs(z)
		var lower, upper, d float64
		if x < edge { // both, written out: most of the time goes by here
			i := int(x/pitch + 0.5)
			u, c := x-float64(i)*pitch, &tails[i]
			q := c[7]
			d = q
			q = q*u + c[6]
			d = d*u + q
			q = q*u + c[5]
			d = d*u + q
			q = q*u + c[4]
			d = d*u + q
			q = q*u + c[3]
			d = d*u + q
			q = q*u + c[2]
			d = d*u + q
			q = q*u + c[1]
			d = -(d*u + q)
			q = q*u + c[0]
			lower, upper = q, 1-q
			if z > 0 {
				lower, upper = upper, lower
			}
		} else {
			lower, upper, d = both(z)
		}
		zz, zd := z*z, z*d
		if yes {
			q := law.Floor + c*lower
			r.yes[k] = q
			if p.deriv {
				e := c * zd / q
				r.eYes[k], r.fYes[k] = e, e*(2-zz-e)
			}
		}
		if no {
			q := miss + c*upper
			r.no[k] = q
			if p.deriv {
				e := -c * zd / q
				r.eNo[k], r.fNo[k] = e, e*(2-zz-e)
			}
		}
		if p.soft {
			r.up[k], r.up1[k], r.up2[k] = upper, zd, zd*(zz-2)
		}
	}
}

func clamp(x float64, n int) int {
	if !(x > 0) {
		return 0
	}
	return int(min(x, float64(n)))
}

// apply multiplies yes and no replies of this age into the products of w on nodes [a, b), and adds their e and f.
func (r *row) apply(law Law, yes, no int, w *space, a, b int, deriv bool) {
	p, e, f := w.p, w.e, w.f
	below := power(law.Ceiling, yes) * power(1-law.Ceiling, no)
	above := power(law.Floor, yes) * power(1-law.Floor, no)
	from, to := min(max(r.from, a), b), min(max(r.to, a), b)
	for k := a; k < from; k++ {
		p[k] *= below
	}
	for k := to; k < b; k++ {
		p[k] *= above
	}
	if yes > 0 {
		multiply(r.yes, r.eYes, r.fYes, yes, p, e, f, from, to, deriv)
	}
	if no > 0 {
		multiply(r.no, r.eNo, r.fNo, no, p, e, f, from, to, deriv)
	}
}

// multiply is apply for count like replies on nodes that are not saturated.
func multiply(q, qe, qf []float64, count int, p, e, f []float64, from, to int, deriv bool) {
	q, qe, qf, p, e, f = q[from:to], qe[from:to], qf[from:to], p[from:to], e[from:to], f[from:to]
	if count == 1 && deriv {
		for k, v := range q {
			p[k] *= v
			e[k] += qe[k]
			f[k] += qf[k]
		}
		return
	}
	for range count {
		for k, v := range q {
			p[k] *= v
		}
	}
	if !deriv {
		return
	}
	n := float64(count)
	for k, v := range qe {
		e[k] += n * v
		f[k] += n * qf[k]
	}
}

// at gives P(yes) and P(no) at node k, z its place.
func (r *row) at(law Law, k int) (yes, no float64) {
	switch {
	case k < r.from:
		return law.Ceiling, 1 - law.Ceiling
	case k >= r.to:
		return law.Floor, 1 - law.Floor
	}
	return r.yes[k], r.no[k]
}

func power(x float64, n int) float64 {
	v := 1.0
	for ; n > 0; n-- {
		v *= x
	}
	return v
}
