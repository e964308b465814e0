package survival

import "math"

// LogRank compares the times of k groups of independent rows by the weighted log-rank test of Harrington and Fleming [T7]:
// at each time of an event, with d events among n at risk and n_g of them in group g, the events seen in g less those
// expected, d n_g/n, times the weight S(t-)^Rho, S the product-limit curve of all groups together just before t. The
// variance is that of the hypergeometric law. Rho 0 is the log-rank test [T8], Rho 1 Peto and Peto's form of the Wilcoxon
// test, which looks more at early events. The zero value works.
type LogRank struct {
	Rho float64 // -10 to 10; below 0 late events count more
}

// Test compares the groups; group[i] is the group of row i, numbered from 0 without gaps. Errors are joined *dataerr.Cell:
// faulty rows, a group without a row, less than two groups, no time at which an event happened while two groups were at risk.
func (spec LogRank) Test(rows []Timed, group []int) (*GroupTest, error) {
	return spec.TestStratified(rows, group, nil)
}

// TestStratified is Test within strata: stratum[i] is any number, rows are compared only with rows of their stratum, and
// events seen, expected and variance are summed over strata. nil: one stratum.
func (spec LogRank) TestStratified(rows []Timed, group, stratum []int) (*GroupTest, error) {
	g, bad := newGroups(len(rows), group, stratum)
	if err := join(append(bad, rhoFault(spec.Rho)), []error{checkTimed(rows, nil)}); err != nil {
		return nil, err
	}
	stamps := make([]stamp, len(rows))
	for i, r := range rows {
		stamps[i] = newStamp(r.Time, r.Event, i)
	}
	for _, part := range g.parts(sortStamps(stamps)) {
		spec.sum(g, part)
	}
	return g.result()
}

// sum adds one stratum, its stamps in order of time.
func (spec LogRank) sum(g *groups, stamps []stamp) {
	k := len(g.n)
	risk, events := g.workspace()
	for _, s := range stamps {
		risk[g.of[s.row]]++
	}
	left, curve := float64(len(stamps)), 1.0
	for i := 0; i < len(stamps); {
		time := stamps[i].key >> 1
		d, end := 0.0, i
		for ; end < len(stamps) && stamps[end].key == time<<1; end++ {
			events[g.of[stamps[end].row]]++
			d++
		}
		if d > 0 {
			weight := 1.0
			if spec.Rho != 0 {
				weight = math.Pow(curve, spec.Rho)
			}
			g.add(risk, events, d, left, weight)
			curve *= (left - d) / left
			for j := range k {
				risk[j] -= events[j]
				events[j] = 0
			}
			left -= d
		}
		for ; end < len(stamps) && stamps[end].key>>1 == time; end++ {
			risk[g.of[stamps[end].row]]--
			left--
		}
		i = end
	}
}

// add adds the events of one time: d among n at risk.
func (g *groups) add(risk, events []float64, d, n, weight float64) {
	spread := 0.0
	if n > 1 {
		spread = weight * weight * d * (n - d) / (n - 1) / (n * n)
	}
	k := len(risk)
	for a, at := range risk {
		g.observed[a] += weight * events[a]
		g.expected[a] += weight * d * at / n
		if at == 0 || at == n {
			continue
		}
		g.variance[a*k+a] += spread * at * (n - at)
		for b := range a {
			g.variance[a*k+b] -= spread * at * risk[b]
		}
	}
}
