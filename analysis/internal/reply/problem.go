package reply

import (
	"math"
	"slices"
)

// Unit holds the replies about one own limit.
type Unit struct {
	Row []float64 // covariates of the log limit's mean with the leading 1
	At  []float64 // log ages; -Inf for age 0
	Yes []bool    // the reply that becomes likelier with age, one per age
}

// Subject has one or more limits that share a part of their deviation.
type Subject struct {
	Weight float64 // > 0
	Units  []Unit
}

// Problem is a log-likelihood of the coefficients, lambda = log S and theta (see Law and derivatives), ready to be evaluated
// by several goroutines, each with a Space of its own.
type Problem struct {
	Law              Law
	P                int  // coefficients
	Sharp            bool // theta is held at 0: limits without noise of replies
	groups           []*group
	youngest, oldest float64 // log ages, without age 0
	gap              float64 // smallest distance of two log ages
	base             float64 // sum of weight times scale
	Rows             [][]float64
}

// Space is the memory of one goroutine's evaluations.
type Space struct {
	space
	Rough bool // values right to about 1e-3 are enough
}

// New gathers subjects; every row has the same length.
func New(law Law, subjects []Subject) *Problem {
	p := &Problem{Law: law, P: len(subjects[0].Units[0].Row), youngest: math.Inf(1), oldest: math.Inf(-1), gap: math.Inf(1)}
	type lot struct {
		limits []*limit
		weight []float64
	}
	var lots []lot
	var all []float64
	for _, s := range subjects {
		u := s.Units[0]
		k := slices.IndexFunc(p.Rows, func(r []float64) bool { return slices.Equal(r, u.Row) })
		if k < 0 {
			k = len(p.Rows)
			p.Rows, lots = append(p.Rows, u.Row), append(lots, lot{})
		}
		l := newLimit(law, u.At, u.Yes)
		lots[k].limits, lots[k].weight = append(lots[k].limits, l), append(lots[k].weight, s.Weight)
		p.base += s.Weight * l.scale
		all = append(all, l.at...)
	}
	for k, l := range lots {
		p.groups = append(p.groups, newGroup(law, p.Rows[k], l.limits, l.weight))
	}
	slices.Sort(all)
	all = slices.Compact(all)
	for i, a := range all {
		p.youngest, p.oldest = min(p.youngest, a), max(p.oldest, a)
		if i > 0 {
			p.gap = min(p.gap, a-all[i-1])
		}
	}
	return p
}

// Dim is the number of parameters: coefficients, lambda, theta.
func (p *Problem) Dim() int { return p.P + 2 }

// Eval gives the log-likelihood at v and, where g is not nil, its gradient and Hessian (by rows, symmetric). -Inf where a reply is
// impossible; the derivatives are zero there.
func (p *Problem) Eval(w *Space, v, g, h []float64) float64 {
	clear(g)
	clear(h)
	sp := newSpread(v[p.P], v[p.P+1])
	sum := p.base
	for _, gr := range p.groups {
		mu := 0.0
		for j, x := range gr.row {
			mu += x * v[j]
		}
		w.evaluate(gr, mu, sp, g != nil, w.Rough)
		var d derivatives
		for i := range w.raw {
			r := &w.raw[i]
			if !(r.l > 0) {
				clear(g)
				clear(h)
				return math.Inf(-1)
			}
			sum += gr.weight[i] * math.Log(r.l)
			if g != nil {
				d.addLog(r, sp, gr.weight[i])
			}
		}
		if g != nil {
			p.spreadOut(&d, gr.row, g, h)
		}
	}
	return sum
}

// spreadOut carries derivatives in the mean over to the coefficients.
func (p *Problem) spreadOut(d *derivatives, row, g, h []float64) {
	n, s, t := p.Dim(), p.P, p.P+1
	g[s] += d[iS]
	g[t] += d[iT]
	h[s*n+s] += d[iSS]
	h[s*n+t] += d[iST]
	h[t*n+s] += d[iST]
	h[t*n+t] += d[iTT]
	for j, x := range row {
		g[j] += x * d[iM]
		for k, y := range row {
			h[j*n+k] += x * y * d[iMM]
		}
		h[j*n+s] += x * d[iMS]
		h[s*n+j] += x * d[iMS]
		h[j*n+t] += x * d[iMT]
		h[t*n+j] += x * d[iMT]
	}
}
