package reply

import (
	"math"
	"slices"
	"sync"
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

// Problem is a log-likelihood of the coefficients, lambda = log S and theta, and where subjects have several limits alpha (see
// derivatives and three), ready to be evaluated by several goroutines, each with a Space of its own.
type Problem struct {
	Law              Law
	P                int      // coefficients
	Apart            bool     // some subject has several limits: alpha is a parameter
	Sharp            bool     // theta is held at 0: limits without noise of replies
	groups           []*group // limits of subjects that have one
	nested           nested   // the others
	youngest, oldest float64  // log ages, without age 0
	gap              float64  // smallest distance of two log ages
	base             float64  // sum of weight times scale
	replies          int
	spaces           sync.Pool // memory of evaluations made before
	ageless          float64   // no replies that depend on the limit alone, not on age, have a larger log-likelihood
}

// Space is the memory of one goroutine's evaluations.
type Space struct {
	space
	nest  nestSpace
	Rough bool // values right to about 1e-3 are enough
}

// borrow gives a Space, used before or new; what it held has no say in what is evaluated with it.
func (p *Problem) borrow() *Space {
	if w, ok := p.spaces.Get().(*Space); ok {
		return w
	}
	return &Space{}
}

// lots gathers limits by covariates.
type lots struct{ groups []*group }

// add puts a limit where its covariates are, and tells where.
func (s *lots) add(row []float64, l *limit, weight float64) member {
	k := slices.IndexFunc(s.groups, func(g *group) bool { return slices.Equal(g.row, row) })
	if k < 0 {
		k = len(s.groups)
		s.groups = append(s.groups, &group{row: row})
	}
	g := s.groups[k]
	g.limits, g.weight = append(g.limits, l), append(g.weight, weight)
	return member{k, len(g.limits) - 1}
}

func (s *lots) done(law Law) (out []*group) {
	for _, g := range s.groups {
		out = append(out, newGroup(law, g.row, g.limits, g.weight))
	}
	return out
}

// New gathers subjects; every row has the same length.
func New(law Law, subjects []Subject) *Problem {
	p := &Problem{Law: law, P: len(subjects[0].Units[0].Row), youngest: math.Inf(1), oldest: math.Inf(-1), gap: math.Inf(1)}
	p.nested.law = law
	var single, several lots
	for _, s := range subjects {
		var c cluster
		for _, u := range s.Units {
			l := newLimit(law, u.At, u.Yes)
			p.base += s.Weight * l.scale
			p.ageless += s.Weight * l.ageless(law)
			p.replies += len(u.At)
			if len(s.Units) == 1 {
				single.add(u.Row, l, s.Weight)
			} else {
				c.members = append(c.members, several.add(u.Row, l, s.Weight))
			}
		}
		if c.weight = s.Weight; c.members != nil {
			p.nested.clusters = append(p.nested.clusters, c)
		}
	}
	p.groups, p.nested.groups = single.done(law), several.done(law)
	p.Apart = len(p.nested.clusters) > 0
	ages := p.Ages()
	for i, a := range ages {
		p.youngest, p.oldest = min(p.youngest, a), max(p.oldest, a)
		if i > 0 {
			p.gap = min(p.gap, a-ages[i-1])
		}
	}
	return p
}

// Dim is the number of parameters: coefficients, lambda, theta, and alpha.
func (p *Problem) Dim() int {
	if p.Apart {
		return p.P + 3
	}
	return p.P + 2
}

// all are the groups of all limits; one row of covariates may stand in two.
func (p *Problem) all() []*group { return append(slices.Clone(p.groups), p.nested.groups...) }

// Eval gives the log-likelihood at v and, where g is not nil, its gradient and Hessian (by rows, symmetric). -Inf where a reply is
// impossible; the derivatives are zero there.
func (p *Problem) Eval(w *Space, v, g, h []float64) float64 {
	clear(g)
	clear(h)
	sp := newSpread(v[p.P], v[p.P+1])
	sum := p.base
	for _, gr := range p.groups {
		w.evaluate(gr, dot(gr.row, v), sp, g != nil, w.Rough)
		var d derivatives
		for i := range w.raw {
			r := &w.raw[i]
			sum += gr.weight[i] * math.Log(max(r.l, 0))
			if g != nil && r.l > 0 {
				d.addLog(r, sp, gr.weight[i])
			}
		}
		if g != nil {
			p.spreadOut(&d, gr.row, g, h)
		}
	}
	if p.Apart {
		t := newThree(v[p.P], v[p.P+1], v[p.P+2])
		w.nest.evaluate(&p.nested, v[:p.P], t, g != nil, w.Rough)
		for i, c := range p.nested.clusters {
			j := &w.nest.jets[i]
			sum += c.weight * math.Log(max(j.l, 0))
			if g != nil && j.l > 0 {
				j.addTo(t, c.weight, g, h)
			}
		}
	}
	if math.IsInf(sum, -1) || math.IsNaN(sum) {
		clear(g)
		clear(h)
		return math.Inf(-1)
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
