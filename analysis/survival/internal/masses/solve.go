package masses

import "math"

const (
	// polish is the gap, as a share of N, that Solve aims at once tol is met: about what rounding allows.
	polish = 1e-13
	// patience is how many steps below tol may pass without a smaller gap, despair how many above it: then rounding,
	// as with weights of very different size, keeps the gap from falling further.
	patience, despair = 2, 500
	// newtons is the most Newton moves within one step.
	newtons = 8
	// negligible is the mass below which the last step tries whether a set can do without.
	negligible = 1e-9
)

// solver holds the state of one Solve. p, f and prob always belong together.
type solver struct {
	rows  []Row
	total float64   // N
	p     []float64 // m masses
	f     []float64 // m+1 cumulated masses
	prob  []float64 // P_i
	d     []float64 // m
	ll    float64

	trial, trialF []float64 // m, m+1: candidate of a line search
	icm           minorant
	newton        newton
}

// Solve maximises l. It stops when the gap is below tol (in units of l) and no longer falls, or after maxIter steps.
func Solve(pr Problem, tol float64, maxIter int) Result {
	s := newSolver(pr)
	best, stale, steps := math.Inf(1), 0, 0
	var kept []float64
	for {
		gap := s.gradient()
		if gap < best {
			best, stale = gap, 0
			if gap < tol {
				kept = append(kept[:0], s.p...)
			}
		} else {
			stale++
		}
		if steps >= maxIter || best <= polish*s.total || (best < tol && stale >= patience) || stale >= despair {
			break
		}
		steps++
		s.step()
	}
	if kept != nil {
		copy(s.trial, kept)
		s.accept(s.tryout())
		best = s.gradient()
	}
	if g, ok := s.prune(max(best, tol/16)); ok {
		best = g
	}
	if kept == nil {
		best = s.gradient()
	}
	return Result{Mass: s.p, LogLik: s.ll, Gap: best, Iterations: steps}
}

func newSolver(pr Problem) *solver {
	m, n := pr.Sets, len(pr.Rows)
	work := make([]float64, 5*m+2+n)
	cut := func(k int) []float64 { c := work[:k:k]; work = work[k:]; return c }
	s := &solver{rows: pr.Rows, p: cut(m), f: cut(m + 1), prob: cut(n), d: cut(m), trial: cut(m), trialF: cut(m + 1)}
	for _, r := range pr.Rows {
		s.total += r.Weight
	}
	for j := range s.trial {
		s.trial[j] = 1 / float64(m)
	}
	s.icm.init(m)
	s.newton.init(m)
	s.accept(s.normalise())
	return s
}

// step is EM, convex minorant, Newton. d must belong to p; it does not afterwards.
func (s *solver) step() {
	for j, d := range s.d {
		s.trial[j] = s.p[j] * d / s.total
	}
	if ll := s.normalise(); !math.IsInf(ll, -1) {
		s.accept(ll)
	}
	s.minorantStep()
	for range newtons {
		if !s.newtonStep() {
			break
		}
	}
}

// normalise scales trial to sum 1, cumulates it and returns l there: -Inf where that is no distribution under which each
// row can be.
func (s *solver) normalise() float64 {
	sum := 0.0
	for _, v := range s.trial {
		sum += v
	}
	for j := range s.trial {
		s.trial[j] /= sum
	}
	return s.tryout()
}

// tryout cumulates trial and returns l there, as normalise.
func (s *solver) tryout() float64 {
	cumulate(s.trial, s.trialF)
	return s.loglik(s.trial, s.trialF)
}

// accept makes trial, of which ll is the finite log-likelihood, the state.
func (s *solver) accept(ll float64) {
	s.p, s.trial, s.f, s.trialF, s.ll = s.trial, s.p, s.trialF, s.f, ll
	for i, r := range s.rows {
		s.prob[i] = probability(s.p, s.f, r)
	}
}

// loglik is l at masses p with their cumulated f, -Inf where some row has no mass.
func (s *solver) loglik(p, f []float64) float64 {
	ll := 0.0
	for _, r := range s.rows {
		v := probability(p, f, r)
		if !(v > 0) {
			return math.Inf(-1)
		}
		ll += r.Weight * math.Log(v)
	}
	return ll
}

// cumulate fills f with the running sums of p.
func cumulate(p, f []float64) {
	sum := 0.0
	f[0] = 0
	for j, v := range p {
		sum += v
		f[j+1] = sum
	}
}

// probability of a row. A difference of cumulated masses has lost digits where it is small: there the masses are added.
func probability(p, f []float64, r Row) float64 {
	v := f[r.Last+1] - f[r.First]
	if v < 1e-5 {
		v = 0
		for _, m := range p[r.First : r.Last+1] {
			v += m
		}
	}
	return v
}

// gradient fills d and returns the gap.
func (s *solver) gradient() float64 {
	clear(s.d)
	for i, r := range s.rows {
		v := r.Weight / s.prob[i]
		s.d[r.First] += v
		if int(r.Last)+1 < len(s.d) {
			s.d[r.Last+1] -= v
		}
	}
	sum, top := 0.0, math.Inf(-1)
	for j := range s.d {
		sum += s.d[j]
		s.d[j] = sum
		top = max(top, sum)
	}
	return top - s.total
}

// prune tries to do without all sets whose mass is negligible and keeps the result if its gap is at most bound.
func (s *solver) prune(bound float64) (float64, bool) {
	found := false
	copy(s.trial, s.p)
	for j, v := range s.trial {
		if v > 0 && v < negligible {
			s.trial[j], found = 0, true
		}
	}
	if !found {
		return 0, false
	}
	old := append([]float64(nil), s.p...)
	if ll := s.normalise(); !math.IsInf(ll, -1) {
		s.accept(ll)
		for range newtons {
			if !s.newtonStep() {
				break
			}
		}
		if g := s.gradient(); g <= bound {
			return g, true
		}
	}
	copy(s.trial, old)
	s.accept(s.tryout())
	return 0, false
}
