package survival

import (
	"math"
	"strconv"

	"lastsip/analysis/dataerr"
)

// GrayTest compares the cumulative incidence of one cause between k groups [T12], where a log-rank test of the cause would
// compare its hazard. With R_k = n_k (1 - F_k(t-))/S_k(t-) in place of the rows at risk, the events of the cause seen in a
// group less those expected, d R_k/sum R, are summed with the weight (1 - F(t-))^Rho; F_k and S_k are the group's incidence
// and curve of all causes, F the incidence of all groups together. The variance carries the errors of both to first order.
// The zero value works.
type GrayTest struct {
	Rho float64 // -10 to 10; above 0 early events count more
}

// Test compares the groups on one cause, numbered as in rows; group[i] is the group of row i, numbered from 0 without gaps.
// Observed and Expected of the result are of events of this cause while two groups were at risk. Errors as for LogRank, and
// no event of the cause, or a pooled incidence that passes 1 (one group ended early, by this cause), where the test has no
// value.
func (spec GrayTest) Test(rows []Caused, cause int, group []int) (*GroupTest, error) {
	return spec.TestStratified(rows, cause, group, nil)
}

// TestStratified is Test within strata, as LogRank.TestStratified.
func (spec GrayTest) TestStratified(rows []Caused, cause int, group, stratum []int) (*GroupTest, error) {
	g, bad := newGroups(len(rows), group, stratum)
	bad = append(bad, rhoFault(spec.Rho))
	events := 0
	stamps := make([]stamp, len(rows))
	for i, r := range rows {
		stamps[i] = newStamp(r.Time, r.Cause > 0, i)
		if r.Cause == cause {
			events++
		}
	}
	if cause <= 0 || events == 0 {
		bad = append(bad, &dataerr.Cell{Column: "cause", Value: strconv.Itoa(cause), Err: dataerr.ErrUnknown,
			Want: "no row ended by this cause; give the number, from 1 up, of one that is in the rows"})
	}
	if err := join(bad, []error{checkCaused(rows)}); err != nil {
		return nil, err
	}
	sums := newGraySums(g, spec.Rho)
	for _, part := range g.parts(sortStamps(stamps)) {
		if err := sums.stratum(part, rows, cause); err != nil {
			return nil, err
		}
	}
	return g.result()
}

// graySums holds the state of one stratum. Matrices are k by k, by rows.
//
// Under no difference F_r estimates F in every group r. To first order the score of group k is the sum over r of
// integral a_kr dF_r, a_kr = w R0_k (1{k = r} - R0_r/sum R0), R0 = n/S(t-), less what the factor 1 - F_r(t-) adds,
// integral F_r(t-) dc_kr, c_kr = integral a_kr dF/(1 - F(t-)). F_r in turn moves with the hazards of its group at s: by
// S_r(s-) at once and, as the curve of all causes falls, the less afterwards, (1 - F(s))/S_r(s) being what is lost of 1 -
// F_r. So the derivative of the score in the group's hazard of the cause at s is S_r(s-) (a_kr(s) + u (c_kr - c_kr(s))) with u =
// 1 - (1 - F(s))/S_r(s), c_kr without argument that at the end; in the hazard of the other causes, but for the sign,
// S_r(s-) u (c_kr - c_kr(s)) with u = (1 - F(s))/S_r(s). Squared and weighted with the hazards' variances, and with the square
// taken apart, they sum in one pass.
type graySums struct {
	g      *groups
	rho    float64
	risk   []float64 // rows at risk in each group
	s, f   []float64 // S_k and F_k just before now
	own    []float64 // events of the cause at this time
	other  []float64 // events of other causes
	next   []float64 // S_k from now on
	a, c   []float64
	cross  []float64 // sum of v u (a - u c) for score k and group r
	square []float64 // sum of v u^2 for group r
	pooled float64   // F just before now
}

func newGraySums(g *groups, rho float64) *graySums {
	k := len(g.n)
	row := func() []float64 { return make([]float64, k) }
	return &graySums{g: g, rho: rho, risk: row(), s: row(), f: row(), own: row(), other: row(), next: row(), square: row(),
		a: make([]float64, k*k), c: make([]float64, k*k), cross: make([]float64, k*k)}
}

// stratum adds one stratum, its stamps in order of time.
func (y *graySums) stratum(stamps []stamp, rows []Caused, cause int) error {
	for k := range y.risk {
		y.risk[k], y.s[k], y.f[k], y.square[k] = 0, 1, 0, 0
	}
	clear(y.c)
	clear(y.cross)
	y.pooled = 0
	for _, s := range stamps {
		y.risk[y.g.of[s.row]]++
	}
	for i := 0; i < len(stamps) && y.together(); {
		clear(y.own)
		clear(y.other)
		end := i
		for ; end < len(stamps) && stamps[end].key == stamps[i].key&^1; end++ {
			if row := stamps[end].row; rows[row].Cause == cause {
				y.own[y.g.of[row]]++
			} else {
				y.other[y.g.of[row]]++
			}
		}
		if end > i {
			if err := y.events(); err != nil {
				return err
			}
		}
		for ; end < len(stamps) && stamps[end].key>>1 == stamps[i].key>>1; end++ {
			y.risk[y.g.of[stamps[end].row]]--
		}
		i = end
	}
	y.close()
	return nil
}

// together says whether two groups are still at risk; with one alone nothing is compared and nothing more is added.
func (y *graySums) together() bool {
	n := 0
	for _, r := range y.risk {
		if r > 0 {
			n++
		}
	}
	return n > 1
}

// roundedOff is how near to 1 a pooled incidence counts as 1.
const roundedOff = 1e-9

// events adds the events of one time and moves the curves past it.
func (y *graySums) events() error {
	d, whole, share := 0.0, 0.0, 0.0 // events of the cause; sums of R0 and of R
	for k, n := range y.risk {
		if n == 0 {
			continue
		}
		d += y.own[k]
		whole += n / y.s[k]
		share += n / y.s[k] * (1 - y.f[k])
		y.next[k] = y.s[k] * (n - y.own[k] - y.other[k]) / n
	}
	if y.pooled > 1-roundedOff {
		return &dataerr.Cell{Column: "group", Err: dataerr.ErrConflict,
			Want: "a group ended so early by this cause that the incidence of all groups together passes 1, and the test has no value; leave that group out"}
	}
	w := math.Pow(1-y.pooled, y.rho)
	y.score(w, d, whole, share)
	pooled := y.pooled + d/whole
	for r, n := range y.risk {
		if n > 0 {
			y.variances(r, d, whole, pooled)
		}
	}
	y.pooled = pooled
	for k, n := range y.risk {
		if n > 0 {
			y.f[k] += y.s[k] * y.own[k] / n
			y.s[k] = y.next[k]
			y.risk[k] = n - y.own[k] - y.other[k]
		}
	}
	return nil
}

// score adds to observed and expected, and to the a and c of this time.
func (y *graySums) score(w, d, whole, share float64) {
	clear(y.a)
	k := len(y.risk)
	for i, n := range y.risk {
		if n == 0 {
			continue
		}
		part := n / y.s[i]
		y.g.observed[i] += w * y.own[i]
		if d > 0 {
			y.g.expected[i] += w * d * part * (1 - y.f[i]) / share
		}
		for j, m := range y.risk {
			if m > 0 {
				y.a[i*k+j] = -w * part * (m / y.s[j]) / whole
			}
		}
		y.a[i*k+i] += w * part
	}
	for i, a := range y.a {
		y.c[i] += a * d / whole / (1 - y.pooled)
	}
}

// variances adds the hazards of group r at this time.
func (y *graySums) variances(r int, d, whole, pooled float64) {
	n, s, next := y.risk[r], y.s[r], y.next[r]
	lost := 0.0 // nothing follows where the curve has come to 0
	if next > 0 {
		lost = (1 - pooled) / next
	}
	if d > 0 {
		tie := 1.0
		if d > 1 {
			tie = 1 - (d-1)/(whole*s-1)
		}
		y.hazard(r, 1, 1-lost, tie*s*d/(whole*n))
	}
	if y.other[r] > 0 && next > 0 {
		y.hazard(r, 0, lost, s*s*hazardVariance(y.other[r], n))
	}
}

// hazard adds the variance v of a hazard of group r whose derivatives are direct a + u (c at the end - c now).
func (y *graySums) hazard(r int, direct, u, v float64) {
	k := len(y.risk)
	for i := range k {
		x := direct*y.a[i*k+r] - u*y.c[i*k+r]
		y.cross[i*k+r] += v * u * x
		for j := range i + 1 {
			y.g.variance[i*k+j] += v * x * (direct*y.a[j*k+r] - u*y.c[j*k+r])
		}
	}
	y.square[r] += v * u * u
}

// close adds what waited for the c at the end.
func (y *graySums) close() {
	k := len(y.risk)
	for i := range k {
		for j := range i + 1 {
			for r := range k {
				ci, cj := y.c[i*k+r], y.c[j*k+r]
				y.g.variance[i*k+j] += ci*y.cross[j*k+r] + cj*y.cross[i*k+r] + ci*cj*y.square[r]
			}
		}
	}
}
