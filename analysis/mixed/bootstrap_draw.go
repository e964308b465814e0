package mixed

import (
	"math"
	"math/rand/v2"

	"lastsip/analysis/mixed/internal/lmm"
)

// settled fits from start and, where that search did not end well, from the data too. Two searches that end at one
// criterion have found it, whatever they say of the gradient on the way to a border.
func settled(space *lmm.Space, reml bool, start []float64) (lmm.Optimum, bool) {
	first := space.Fit(reml, start)
	if first.Converged {
		return first, true
	}
	second := space.Fit(reml, nil)
	agree := math.Abs(second.Deviance-first.Deviance) < 1e-7*(1+math.Abs(first.Deviance))
	if first.Deviance < second.Deviance {
		space.Deviance(first.Theta, reml)
		return first, agree
	}
	return second, agree || second.Converged
}

// sizes is the root mean square of each column of each random term.
func (f *Fit) sizes() [][]float64 {
	out := make([][]float64, len(f.groups))
	for k, g := range f.groups {
		for j := range g.names {
			out[k] = append(out[k], g.size(j))
		}
	}
	return out
}

// drawer is the work space of one goroutine.
type drawer struct {
	f       *Fit
	mean    []float64   // X b
	lambda  [][]float64 // sigma Lambda of each term
	effects []float64   // of one term
	u       []float64
	y       []float64
	space   *lmm.Space
	out     Refit
}

func (f *Fit) drawer() *drawer {
	d := &drawer{f: f, mean: make([]float64, f.Rows()), y: make([]float64, f.Rows()), space: f.problem.Space()}
	for j, c := range f.x {
		for i, v := range c {
			d.mean[i] += f.beta[j] * v
		}
	}
	most, q := 0, 0
	for _, g := range f.groups {
		l := f.lambda(g)
		for i := range l {
			l[i] *= f.sigma
		}
		d.lambda = append(d.lambda, l)
		most, q = max(most, len(g.levels)*len(g.names)), max(q, len(g.names))
	}
	d.effects, d.u = make([]float64, most), make([]float64, q)
	return d
}

// draw fills y: fixed part, random effects term after term and level after level, residuals.
func (d *drawer) draw(rng *rand.Rand) {
	copy(d.y, d.mean)
	for k, g := range d.f.groups {
		q, l := len(g.names), d.lambda[k]
		for level := range g.levels {
			for j := range q {
				d.u[j] = rng.NormFloat64()
			}
			for j := range q {
				d.effects[level*q+j] = inner(l[j*q:][:j+1], d.u)
			}
		}
		for j, z := range g.z {
			for i, level := range g.code {
				v := d.effects[level*q+j]
				if z != nil {
					v *= z[i]
				}
				d.y[i] += v
			}
		}
	}
	for i := range d.y {
		d.y[i] += d.f.sigma * rng.NormFloat64()
	}
}

// refit fits f's model to the response in space; false when the search did not end.
func (d *drawer) refit(space *lmm.Space, f *Fit, start []float64, sizes [][]float64) (*Refit, bool) {
	o, ok := settled(space, f.REML(), start)
	r := &d.out
	r.Theta, r.Deviance = append(r.Theta[:0], o.Theta...), o.Deviance
	if !ok || math.IsNaN(o.Deviance) || math.IsInf(o.Deviance, 0) {
		return r, false
	}
	r.Beta, r.Sigma = append(r.Beta[:0], space.Beta()...), space.Sigma(f.REML())
	r.Singular = f.singular(r.Theta, sizes)
	return r, true
}

// singular is whether Singular would name anything at theta.
func (f *Fit) singular(theta []float64, sizes [][]float64) bool {
	for k, g := range f.groups {
		q, at := len(g.names), g.first
		for c := range q {
			if g.independent {
				if math.Abs(theta[at])*sizes[k][c] < flatness {
					return true
				}
				at++
				continue
			}
			at += q - c
		}
		if g.independent {
			continue
		}
		for r := range q {
			square, own := 0.0, 0.0
			for c := range r + 1 {
				own = theta[g.first+c*q-c*(c-1)/2+r-c]
				square += own * own
			}
			if sd := math.Sqrt(square); sd*sizes[k][r] < flatness || r > 0 && math.Abs(own) < flatness*sd {
				return true
			}
		}
	}
	return false
}
