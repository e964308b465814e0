package lmm

import "math"

// dim is the share of information below which a direction is looked at, level the change of the criterion by a long step
// along it below which thetas count as not determined.
const dim, level = 1e-6, 1e-6

// flat looks for a direction along which the criterion does not change. It has next to no information beside what levels
// and rows could hold were nothing else fitted: for a theta in a column with diagonal v, levels with information w each
// hold about (2 v w / (1 + w v^2))^2. Few levels may leave a direction out of the average information all the same, so a
// step of the size of theta both ways decides. flat returns the theta that moves most in that direction, -1 when there is
// none. The state must be that of derive, and is that of theta afterwards.
func (m *minimiser) flat() int {
	m.s.inform(m.reml)
	m.free = m.free[:0]
	for i := range m.s.p.terms {
		t := &m.s.p.terms[i]
		k := t.theta
		t.each(func(r, c int) {
			if v := m.s.lambda[i][c*t.q+c]; v > 0 {
				m.free = append(m.free, k)
				m.trial[k] = 2 * v * t.weight / (1 + t.weight*v*v) * math.Sqrt(float64(t.Levels))
			}
			k++
		})
	}
	n := len(m.free)
	share := m.chol.x[:n*n]
	for a, i := range m.free {
		for b, j := range m.free {
			share[a*n+b] = m.s.info.at.at(i, j) / (m.trial[i] * m.trial[j])
		}
	}
	if n == 0 {
		return -1
	}
	m.eigen.factor(share, n)
	at := m.eigen.smallest()
	if m.eigen.values[at] >= dim {
		return -1
	}
	most := 0
	clear(m.step)
	for a, i := range m.free {
		if math.Abs(m.eigen.vectors.at(a, at)) > math.Abs(m.eigen.vectors.at(most, at)) {
			most = a
		}
		t := &m.s.p.terms[m.s.info.own[i]]
		m.step[i] = m.eigen.vectors.at(a, at) * math.Sqrt(float64(t.Levels)) / m.trial[i]
	}
	moves := false
	for _, way := range []float64{1, -1} {
		for k := range m.trial {
			m.trial[k] = m.theta[k] + way*m.step[k]
		}
		m.canonical(m.trial)
		moves = moves || !(math.Abs(m.value(m.trial)-m.f) < level)
	}
	m.derive()
	if moves {
		return -1
	}
	return m.free[most]
}
