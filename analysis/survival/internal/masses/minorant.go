package masses

import "math"

// minorant holds the work arrays of the convex minorant step, over the inner nodes F_1..F_{m-1}.
type minorant struct {
	grad, curv []float64 // m+1: first derivative of l and minus its second, by F_k
	level      []float64 // blocks of the pooling: value, weight, first node
	weight     []float64
	start      []int32
}

func (w *minorant) init(m int) {
	work := make([]float64, 4*(m+1))
	n := m + 1
	w.grad, w.curv, w.level, w.weight = work[:n], work[n:2*n], work[2*n:3*n], work[3*n:]
	w.start = make([]int32, n)
}

// minorantStep maximises sum_k g_k (x_k - F_k) - c_k (x_k - F_k)^2 / 2 under 0 <= x_1 <= ... <= x_{m-1} <= 1, g and c the
// derivatives of l at F, and moves p towards x as far as l rises.
func (s *solver) minorantStep() {
	m, w := len(s.p), &s.icm
	if m < 2 {
		return
	}
	clear(w.grad)
	clear(w.curv)
	for i, r := range s.rows {
		v := r.Weight / s.prob[i]
		c := v / s.prob[i]
		w.grad[r.First] -= v
		w.curv[r.First] += c
		w.grad[r.Last+1] += v
		w.curv[r.Last+1] += c
	}
	blocks := 0
	for k := 1; k < m; k++ {
		x, c, from := s.f[k]+w.grad[k]/w.curv[k], w.curv[k], int32(k)
		for blocks > 0 && w.level[blocks-1] >= x {
			blocks--
			sum := w.weight[blocks] + c
			x += (w.level[blocks] - x) * (w.weight[blocks] / sum)
			c, from = sum, w.start[blocks]
		}
		w.level[blocks], w.weight[blocks], w.start[blocks] = x, c, from
		blocks++
	}
	// The masses of x: jumps where a block begins, so that pooled sets have exactly 0.
	clear(s.trial)
	at := 0.0
	for b := range blocks {
		x := min(max(w.level[b], 0), 1)
		if x > at {
			s.trial[w.start[b]-1] = x - at
			at = x
		}
	}
	s.trial[m-1] = 1 - at
	slope := 0.0 // of l along the way, from p to trial
	cumulate(s.trial, s.trialF)
	for k := 1; k < m; k++ {
		slope += w.grad[k] * (s.trialF[k] - s.f[k])
	}
	s.search(slope)
}

// search moves p towards trial: by the whole way if l rises enough, else by ever smaller shares of it. slope is the
// derivative of l along the way, > 0 unless p is the best. It reports whether p moved.
func (s *solver) search(slope float64) bool {
	if !(slope > 0) {
		return false
	}
	slack := 1e-15 * (math.Abs(s.ll) + s.total) // rounding of l: without it the last steps would be refused
	for share := 1.0; share > 1e-10; share /= 2 {
		if share < 1 {
			for j := range s.trial {
				s.trial[j] = (s.trial[j] + s.p[j]) / 2
			}
		}
		if ll := s.tryout(); ll >= s.ll+1e-4*share*slope-slack {
			s.accept(ll)
			return true
		}
	}
	return false
}
