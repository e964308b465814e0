package survival

import (
	"math"
	"slices"
)

// relabelled sums up all relabellings.
type relabelled struct {
	all, extreme int     // relabellings; those whose statistic is at least the observed one
	most         float64 // the largest statistic
	atMost       int     // how many reach it
}

// enumerate goes through every relabelling.
func (p *relabelling) enumerate(observed float64) relabelled {
	e := enumeration{p: p, left: make([]int, len(p.deals)), rest: make([]float64, len(p.value)), u: make([]float64, p.k), least: observed - slack(observed)}
	for i, d := range p.deals {
		e.left[i] = d.count
	}
	for b := range p.blocks() {
		sum := 0.0
		for i := p.start[b+1] - 1; i >= p.start[b]; i-- {
			sum += p.value[i]
			e.rest[i] = sum
		}
	}
	e.from(0, 0)
	return e.relabelled
}

type enumeration struct {
	p     *relabelling
	left  []int     // of each deal: labels not yet given
	rest  []float64 // of each value: the sum of its block from there on
	u     []float64
	least float64
	relabelled
}

// from gives a label to value i of block b in every way that is left, and goes on with the next value; where one label
// alone is left in the block, all the rest of it gets that.
func (e *enumeration) from(i, b int) {
	p := e.p
	if i == len(p.value) {
		e.count(quadratic(p.root, e.u))
		return
	}
	for k := p.first[b]; k < p.first[b+1]; k++ {
		if e.left[k] == 0 {
			continue
		}
		l, n, end := p.deals[k].label, e.left[k], p.start[b+1]
		before := e.u[l] // kept, as adding and taking away again would leave rounding behind
		if n == end-i {
			e.u[l] += e.rest[i]
			e.from(end, b+1)
		} else {
			e.left[k]--
			e.u[l] += p.value[i]
			e.from(i+1, b)
			e.left[k]++
		}
		e.u[l] = before
	}
}

func (e *enumeration) count(q float64) {
	e.all++
	if q >= e.least {
		e.extreme++
	}
	switch s := slack(e.most); {
	case q > e.most+s:
		e.most, e.atMost = q, 1
	case q >= e.most-s:
		e.most = max(e.most, q)
		e.atMost++
	}
}

// smallest is the least p-value of a test of two labels: the share of relabellings that reach the largest |sum|. Every
// block gives one label its largest values, or every block its smallest; values that tie at the border can be chosen in
// several ways.
func (p *relabelling) smallest() float64 {
	top, topShare := p.end(1)
	bottom, bottomShare := p.end(-1)
	switch diff := top - bottom; {
	case math.Abs(diff) <= tieSlack*(1+top):
		return math.Exp(topShare) + math.Exp(bottomShare)
	case diff > 0:
		return math.Exp(topShare)
	}
	return math.Exp(bottomShare)
}

// end gives the largest sum of sign times value for label 0, and the log share of relabellings that reach it.
func (p *relabelling) end(sign float64) (sum, logShare float64) {
	for b := range p.blocks() {
		v := slices.Clone(p.values(b))
		for i := range v {
			v[i] *= sign
		}
		slices.Sort(v)
		slices.Reverse(v)
		take := p.dealt(b)[0].count
		if p.dealt(b)[0].label != 0 {
			take = len(v) - take
		}
		border, ties, taken := v[take-1], 0, 0
		for i, x := range v {
			if i < take {
				sum += x
			}
			if math.Abs(x-border) <= tieSlack {
				ties++
				if i < take {
					taken++
				}
			}
		}
		logShare += logChoose(ties, taken) - logChoose(len(v), take)
	}
	return sum, logShare
}

func logChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}
