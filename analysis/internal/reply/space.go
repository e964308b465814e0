package reply

import "slices"

// group are limits with one mean: subjects with one limit each and the same covariates.
type group struct {
	law    Law
	row    []float64 // covariates with the leading 1
	limits []*limit
	weight []float64
	age    []float64 // distinct log ages of all limits
	users  []int     // how many limits have that age
	dead   bool      // one limit at least has no cell of positive probability
}

// crowd is the largest number of replies of one limit within a window of log ages.
func (g *group) crowd(width float64) int {
	most := 1
	for _, l := range g.limits {
		most = max(most, l.crowd(width))
	}
	return most
}

// space is the memory of evaluations; not for concurrent use.
type space struct {
	rows                     []row // one per age that several limits share
	scratch                  row
	node, w                  []float64 // t_k = (m_k - mu)/sigma and the weight h phi(t_k)/sigma
	p, e, f                  []float64
	soft, soft1, soft2       []float64
	beta, lower, upper, dens []float64 // (age - mu)/S, and the normal law there
	zones                    []zone
	raw                      []raw // one per limit of the group
	todo                     []int // limits whose integral is not yet good enough
	own                      []zone
	half                     []float64 // by how much even and odd nodes disagree
}

// begin clears what is held per limit, and puts every limit on the list to do.
func (w *space) begin(g *group) {
	n := len(g.limits)
	if cap(w.raw) < n {
		w.raw, w.half, w.todo = make([]raw, n), make([]float64, n), make([]int, n)
	}
	w.raw, w.half, w.todo = w.raw[:n], w.half[:n], w.todo[:n]
	for i := range n {
		w.raw[i], w.half[i], w.todo[i] = raw{}, 0, i
	}
}

// nodes lays the nodes of a plan.
func (w *space) nodes(p *plan) {
	for _, s := range []*[]float64{&w.node, &w.w, &w.p, &w.e, &w.f, &w.soft, &w.soft1, &w.soft2} {
		if cap(*s) < p.n {
			*s = make([]float64, p.n, p.n+p.n/2)
		}
		*s = (*s)[:p.n]
	}
	step := p.h / p.sigma
	for k := range p.n {
		t := float64(p.first+k) * step
		w.node[k] = t
		w.w[k] = step * density(t)
	}
}

// product fills p with the probability of the replies of l on nodes [a, b), divided by exp(scale), e and f with the sums from
// which its derivatives in tau follow, and soft with the soft steps.
func (w *space) product(g *group, l *limit, p *plan, a, b int) {
	w.start(l, p, a, b)
	for j, at := range l.at {
		if j == len(l.at)/2 { // in two parts, so that a product of many slips neither under- nor overflows
			for k := a; k < b; k++ {
				w.p[k] *= l.half
			}
		}
		r := &w.scratch
		if g.users[l.slot[j]] > 1 {
			r = &w.rows[l.slot[j]]
		} else {
			r.fill(g.law, at, p, a, b, l.yes[j] > 0, l.no[j] > 0)
		}
		r.apply(g.law, l.yes[j], l.no[j], w, a, b, p.deriv)
		if p.soft {
			w.addSoft(r, l.cell[j], l.cell[j+1], a, b, p.deriv)
		}
	}
}

func (w *space) start(l *limit, p *plan, a, b int) {
	for k := a; k < b; k++ {
		w.p[k] = l.half
		w.e[k], w.f[k] = 0, 0
	}
	if p.soft {
		for k := a; k < b; k++ {
			w.soft[k], w.soft1[k], w.soft2[k] = l.cell[0], 0, 0
		}
	}
}

// addSoft adds the smoothed jump between two cells. Nodes past the age lie past all younger ones, so that the cell itself
// stands there: jumps up and down again would leave their rounding behind.
func (w *space) addSoft(r *row, before, after float64, a, b int, deriv bool) {
	jump := after - before
	from, to := min(max(r.from, a), b), min(max(r.to, a), b)
	for k := to; k < b; k++ {
		w.soft[k] = after
	}
	for k := from; k < to; k++ {
		w.soft[k] += jump * r.up[k]
	}
	if deriv {
		for k := from; k < to; k++ {
			w.soft1[k] += jump * r.up1[k]
			w.soft2[k] += jump * r.up2[k]
		}
	}
}

// newGroup joins limits and finds the ages they share.
func newGroup(law Law, row []float64, limits []*limit, weight []float64) *group {
	g := &group{law: law, row: row, limits: limits, weight: weight}
	for _, l := range limits {
		g.age = append(g.age, l.at...)
		g.dead = g.dead || l.dead
	}
	slices.Sort(g.age)
	g.age = slices.Compact(g.age)
	g.users = make([]int, len(g.age))
	for _, l := range limits {
		for j, at := range l.at {
			s, _ := slices.BinarySearch(g.age, at)
			l.slot[j] = s
			g.users[s]++
		}
	}
	return g
}
