package masses

import "math"

// newton holds the work arrays of the Newton step. Its nodes 1..k-1 are the values of F between the k sets with mass; row
// a of the envelope matrix is stored from column low[a] to a, at offset[a].
type newton struct {
	sets   []int32 // sets with mass
	node   []int32 // m+1: number of sets with mass before set j
	low    []int32
	offset []int
	h      []float64 // envelope
	grad   []float64 // gradient of l by node
	x      []float64 // step by node
}

func (w *newton) init(m int) {
	w.sets = make([]int32, 0, m)
	w.node = make([]int32, m+1)
	w.low = make([]int32, m+1)
	w.offset = make([]int, m+1)
	w.grad = make([]float64, m+1)
	w.x = make([]float64, m+1)
}

// newtonStep makes one Newton move over the sets that have mass. It reports whether another may help: false when l did not
// rise, when the rise promised was no more than rounding, or when only one set has mass.
func (s *solver) newtonStep() bool {
	w := &s.newton
	w.sets = w.sets[:0]
	for j, v := range s.p {
		w.node[j] = int32(len(w.sets))
		if v > 0 {
			w.sets = append(w.sets, int32(j))
		}
	}
	w.node[len(s.p)] = int32(len(w.sets))
	if len(w.sets) < 2 {
		return false
	}
	s.assemble()
	if !w.factor(len(w.sets)) {
		return false
	}
	w.solve(len(w.sets))
	return s.move()
}

// move goes by the Newton step, as far as no mass turns negative; the mass that ends it is set to exactly 0.
func (s *solver) move() bool {
	w := &s.newton
	k := len(w.sets)
	slope := 0.0 // of l along the step; half of it is the rise that the quadratic model promises
	for a := 1; a < k; a++ {
		slope += w.grad[a] * w.x[a]
	}
	w.x[0], w.x[k] = 0, 0
	longest, first := 1.0, -1
	for a, j := range w.sets {
		if step := w.x[a+1] - w.x[a]; step < 0 && -step*longest > s.p[j] {
			longest, first = s.p[j]/-step, a
		}
	}
	clear(s.trial)
	for a, j := range w.sets {
		s.trial[j] = max(s.p[j]+longest*(w.x[a+1]-w.x[a]), 0)
	}
	if first >= 0 {
		s.trial[w.sets[first]] = 0
		return s.search(longest * slope)
	}
	return s.search(slope) && slope > 1e-14*s.total
}

// assemble fills the envelope with minus the Hessian of l, and grad with its gradient.
func (s *solver) assemble() {
	w := &s.newton
	k := len(w.sets)
	for a := range k {
		w.low[a] = int32(a)
	}
	for _, r := range s.rows {
		if a, b := w.node[r.First], w.node[r.Last+1]; a > 0 && int(b) < k {
			w.low[b] = min(w.low[b], a)
		}
	}
	size := 0
	for a := 1; a < k; a++ {
		w.offset[a] = size - int(w.low[a])
		size += a - int(w.low[a]) + 1
	}
	if cap(w.h) < size {
		w.h = make([]float64, size)
	}
	w.h = w.h[:size]
	clear(w.h)
	clear(w.grad[:k])
	for i, r := range s.rows {
		a, b := int(w.node[r.First]), int(w.node[r.Last+1])
		v := r.Weight / s.prob[i]
		c := v / s.prob[i]
		if a > 0 {
			w.grad[a] -= v
			w.h[w.offset[a]+a] += c
		}
		if b < k {
			w.grad[b] += v
			w.h[w.offset[b]+b] += c
			if a > 0 {
				w.h[w.offset[b]+a] -= c
			}
		}
	}
}

// factor replaces the envelope by its Cholesky factor (row by row), false when it is not positive definite.
func (w *newton) factor(k int) bool {
	for i := 1; i < k; i++ {
		li := int(w.low[i])
		ri := w.h[w.offset[i]+li : w.offset[i]+i+1]
		for j := li; j < i; j++ {
			lj := max(int(w.low[j]), li)
			rj := w.h[w.offset[j]+lj : w.offset[j]+j+1]
			v := ri[j-li]
			for t, u := range ri[lj-li : j-li] {
				v -= u * rj[t]
			}
			ri[j-li] = v / rj[j-lj]
		}
		d := ri[i-li]
		for _, u := range ri[:i-li] {
			d -= u * u
		}
		if !(d > 0) || math.IsInf(d, 1) {
			return false
		}
		ri[i-li] = math.Sqrt(d)
	}
	return true
}

// solve fills x with the solution of (L L') x = grad.
func (w *newton) solve(k int) {
	copy(w.x[:k], w.grad[:k])
	for i := 1; i < k; i++ {
		row := w.h[w.offset[i]+int(w.low[i]) : w.offset[i]+i+1]
		v := w.x[i]
		for t, j := 0, int(w.low[i]); j < i; t, j = t+1, j+1 {
			v -= row[t] * w.x[j]
		}
		w.x[i] = v / row[len(row)-1]
	}
	for i := k - 1; i >= 1; i-- {
		row := w.h[w.offset[i]+int(w.low[i]) : w.offset[i]+i+1]
		w.x[i] /= row[len(row)-1]
		for t, j := 0, int(w.low[i]); j < i; t, j = t+1, j+1 {
			w.x[j] -= row[t] * w.x[i]
		}
	}
}
