package likelihood

import "math"

// Objective gives a log-likelihood at theta and fills its gradient (m) and Hessian (m x m, by rows; the lower triangle is
// enough). -Inf or NaN marks a theta outside the domain.
type Objective func(theta, grad, hess []float64) float64

// Newton maximises an Objective of m parameters. Steps solve (-H + tau D) step = gradient, D = diag |H|, with the smallest
// tau of a ladder that makes the matrix positive definite, and are halved until the value rises. It holds the work space:
// one at a time, no allocation after the first use.
type Newton struct {
	Tol     float64   // stop when the squared Newton decrement g' (-H)^-1 g is no more; 0 means 1e-16
	MaxIter int       // 0 means 100
	MaxMove []float64 // largest move of each parameter in one step; nil or +Inf for none
	Finish  bool      // take the last step too, without evaluating it: theta is better, Grad and Hess are one step old
	Stop    func(theta []float64) bool

	Grad, Hess []float64 // at the last theta evaluated

	trial, step, scale, chol, grad, hess []float64
}

// Maximum is how a run of Newton ended.
type Maximum struct {
	Value      float64
	Decrement  float64 // squared Newton decrement at the end
	Iterations int     // Hessians used
	Converged  bool    // decrement within the tolerance, with a Hessian that is negative definite
	Stopped    bool    // by Stop
}

// ladder holds the damping tried in turn.
var ladder = [...]float64{0, 1e-6, 1e-4, 1e-2, 0.1, 1, 10, 100, 1e4, 1e8}

// Maximize improves theta in place, whose value must be finite.
func (n *Newton) Maximize(f Objective, theta []float64) Maximum {
	n.prepare(len(theta))
	tol, most := n.Tol, n.MaxIter
	if tol == 0 {
		tol = 1e-16
	}
	if most == 0 {
		most = 100
	}
	out := Maximum{Value: f(theta, n.Grad, n.Hess), Decrement: math.Inf(1)}
	if !finite(out.Value) {
		return out
	}
	for out.Iterations = 1; ; out.Iterations++ {
		tau, ok := n.solve()
		if !ok {
			return out
		}
		out.Decrement = dot(n.Grad, n.step)
		done := out.Decrement <= tol
		if done && tau == 0 {
			out.Converged = true
		}
		if done && n.Finish && tau == 0 {
			n.limit()
			for j, s := range n.step {
				theta[j] += s
			}
		}
		if done || out.Iterations >= most {
			return out
		}
		if n.Stop != nil && n.Stop(theta) {
			out.Stopped = true
			return out
		}
		n.limit()
		if !n.search(f, theta, &out) {
			out.Converged = tau == 0 && out.Decrement <= 1e-9*(1+math.Abs(out.Value)) // no rise left that a float can hold
			return out
		}
	}
}

// search walks along the step, halving it until the value rises by a fair share of what the gradient promises.
func (n *Newton) search(f Objective, theta []float64, out *Maximum) bool {
	slope := dot(n.Grad, n.step)
	slack := 1e-14 * (1 + math.Abs(out.Value)) // rounding of a sum of many rows
	for share := 1.0; share > 1e-10; share /= 2 {
		for j, s := range n.step {
			n.trial[j] = theta[j] + share*s
		}
		v := f(n.trial, n.grad, n.hess)
		if finite(v) && v >= out.Value+1e-4*share*slope-slack {
			copy(theta, n.trial)
			n.Grad, n.grad = n.grad, n.Grad
			n.Hess, n.hess = n.hess, n.Hess
			out.Value = v
			return true
		}
	}
	return false
}

// limit shortens the step to the largest moves allowed, in its own direction.
func (n *Newton) limit() {
	if n.MaxMove == nil {
		return
	}
	share := 1.0
	for j, s := range n.step {
		if over := math.Abs(s) / n.MaxMove[j]; over > 1/share {
			share = 1 / over
		}
	}
	for j := range n.step {
		n.step[j] *= share
	}
}

// solve finds the step, with the damping it took.
func (n *Newton) solve() (tau float64, ok bool) {
	m := len(n.Grad)
	for j := range m {
		n.scale[j] = math.Sqrt(math.Abs(n.Hess[j*m+j]))
		if n.scale[j] == 0 {
			n.scale[j] = 1
		}
	}
	for _, tau = range ladder {
		for i := range m {
			for j := range i + 1 {
				n.chol[i*m+j] = -n.Hess[i*m+j] / (n.scale[i] * n.scale[j])
			}
			n.chol[i*m+i] += tau
		}
		if Cholesky(n.chol, m) > 1e-13 {
			for j := range m {
				n.step[j] = n.Grad[j] / n.scale[j]
			}
			CholeskySolve(n.chol, m, n.step)
			for j := range m {
				n.step[j] /= n.scale[j]
			}
			return tau, finite(dot(n.Grad, n.step))
		}
	}
	return 0, false
}

func (n *Newton) prepare(m int) {
	if len(n.trial) == m {
		return
	}
	all := make([]float64, 5*m+3*m*m)
	cut := func(k int) (s []float64) { s, all = all[:k:k], all[k:]; return s }
	n.Grad, n.grad, n.trial, n.step, n.scale = cut(m), cut(m), cut(m), cut(m), cut(m)
	n.Hess, n.hess, n.chol = cut(m*m), cut(m*m), cut(m*m)
}

// Cholesky replaces the lower triangle of a symmetric matrix (m x m, by rows) by its factor and returns the smallest
// squared pivot as a share of the diagonal element it came from; 0 or less, or NaN, where the matrix is not positive definite.
func Cholesky(a []float64, m int) float64 {
	least := 1.0
	for i := range m {
		for j := range i + 1 {
			s, whole := a[i*m+j], a[i*m+j]
			for k := range j {
				s -= a[i*m+k] * a[j*m+k]
			}
			if i > j {
				a[i*m+j] = s / a[j*m+j]
				continue
			}
			if !(s > 0) || !(whole > 0) {
				return min(0, s)
			}
			least = min(least, s/whole)
			a[i*m+i] = math.Sqrt(s)
		}
	}
	return least
}

// CholeskySolve replaces b by the solution of L L' x = b.
func CholeskySolve(l []float64, m int, b []float64) {
	for i := range m {
		for k := range i {
			b[i] -= l[i*m+k] * b[k]
		}
		b[i] /= l[i*m+i]
	}
	for i := m - 1; i >= 0; i-- {
		for k := i + 1; k < m; k++ {
			b[i] -= l[k*m+i] * b[k]
		}
		b[i] /= l[i*m+i]
	}
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
