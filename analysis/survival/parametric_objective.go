package survival

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"lastsip/analysis/survival/internal/law"
)

// objective sums the log-likelihood of a sample over blocks of rows, several blocks at once where there are many. Sums are
// made within blocks and then over blocks in order, so that the result does not depend on the number of cores.
type objective struct {
	*design
	sample
	cores  int
	block  int // rows in a block
	shapes []law.Shape
	parts  []float64 // of each block: value, gradient, Hessian
}

// Rows in a block: so many that a block outlasts the start of a goroutine.
const (
	lightBlock = 2048
	heavyBlock = 64 // gamma families, whose rows are integrals
)

// newObjective; cores 0 means GOMAXPROCS.
func newObjective(d *design, s sample, cores int) *objective {
	o := &objective{design: d, sample: s, cores: cores, block: lightBlock, shapes: make([]law.Shape, len(d.labels))}
	if d.family >= Gamma {
		o.block = heavyBlock
	}
	if cores <= 0 {
		o.cores = runtime.GOMAXPROCS(0)
	}
	blocks := (len(s.rows) + o.block - 1) / o.block
	o.parts = make([]float64, blocks*o.size())
	return o
}

func (o *objective) size() int { return 1 + o.m + o.m*o.m }

// at is a likelihood.Objective.
func (o *objective) at(theta, grad, hess []float64) float64 {
	for g := range o.shapes {
		o.shapes[g] = o.shapeOf(theta, g)
	}
	size := o.size()
	blocks := len(o.parts) / size
	if cores := min(o.cores, blocks); cores > 1 {
		o.together(theta, cores, blocks)
	} else {
		for b := range blocks {
			o.sum(theta, b)
		}
	}
	clear(grad)
	clear(hess)
	value := 0.0
	for b := range blocks {
		part := o.parts[b*size : (b+1)*size]
		value += part[0]
		for j, v := range part[1 : 1+o.m] {
			grad[j] += v
		}
		for j, v := range part[1+o.m:] {
			hess[j] += v
		}
	}
	if math.IsNaN(value) {
		return math.Inf(-1)
	}
	return value
}

func (o *objective) together(theta []float64, cores, blocks int) {
	var next atomic.Int64
	var all sync.WaitGroup
	for range cores {
		all.Add(1)
		go func() {
			defer all.Done()
			for {
				b := int(next.Add(1)) - 1
				if b >= blocks {
					return
				}
				o.sum(theta, b)
			}
		}()
	}
	all.Wait()
}

// sum fills the part of block b.
func (o *objective) sum(theta []float64, b int) {
	p, m, size := o.p, o.m, o.size()
	part := o.parts[b*size : (b+1)*size]
	clear(part)
	grad, hess := part[1:1+m], part[1+m:]
	hasScale, hasShape := o.family.law().HasScale(), o.family.law().HasShape()
	coef := theta[:p]
	var d law.Deriv
	for i := b * o.block; i < min((b+1)*o.block, len(o.rows)); i++ {
		w := o.weight[i]
		if w == 0 {
			continue
		}
		x := o.x[i*p : (i+1)*p : (i+1)*p]
		eta := 0.0
		for j, v := range x {
			eta += v * coef[j]
		}
		g := int(o.stratum[i])
		o.shapes[g].Row(&o.rows[i], eta, &d)
		part[0] += w * d.L
		for j, v := range x {
			grad[j] += w * d.E * v
			t := w * d.EE * v
			row := hess[j*m : j*m+j+1]
			for k := range row {
				row[k] += t * x[k]
			}
		}
		if hasScale {
			a := p + g
			grad[a] += w * d.A
			hess[a*m+a] += w * d.AA
			for k, v := range x {
				hess[a*m+k] += w * d.EA * v
			}
			if hasShape {
				q := m - 1
				grad[q] += w * d.Q
				hess[q*m+q] += w * d.QQ
				hess[q*m+a] += w * d.AQ
				for k, v := range x {
					hess[q*m+k] += w * d.EQ * v
				}
			}
		}
	}
}
