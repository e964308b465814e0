package multiplicity

import (
	"math"
	"slices"
)

// reach is how many standard deviations of a normal are integrated over: P(|Z| > 9) is 2e-19.
const reach = 9

// product is a group of statistics with correlations l_i l_j: Z_i = l_i X + sqrt(1 - l_i^2) E_i, X and E_i independent, as
// in comparisons with one control [5]. Given X they are independent, and one integral over X is left.
type product struct {
	load   []float64 // distinct l_i
	spread []float64 // sqrt(1 - l_i^2)
	times  []int     // how many statistics share the load
	both   bool      // two-sided
	step   float64   // of the trapezoidal rule; 0 where panels are better
	breaks []float64 // work space
}

// newProduct gathers equal loads. Two-sided, the sign of a load does not matter.
func newProduct(loads []float64, both bool) *product {
	p := &product{both: both}
	sorted := slices.Clone(loads)
	for i, l := range sorted {
		if both {
			sorted[i] = math.Abs(l)
		}
	}
	slices.Sort(sorted)
	for _, l := range sorted {
		if last := len(p.load) - 1; last >= 0 && l-p.load[last] < 1e-9 {
			p.times[last]++
			continue
		}
		p.load = append(p.load, l)
		p.spread = append(p.spread, math.Sqrt(max(0, 1-l*l)))
		p.times = append(p.times, 1)
	}
	// In x a factor has the width of its spread, and the transform of a product of n that of n transforms convolved.
	if least := slices.Min(p.spread); least > 0.15 {
		p.step = 0.9 * least / math.Sqrt(max(2, float64(len(loads))))
	}
	return p
}

func (p *product) clone() part {
	c := *p
	c.breaks = nil
	return &c
}

func (p *product) name() string { return "product" }

// exceed is P(some Z_i > w), two-sided P(some |Z_i| > w).
func (p *product) exceed(w float64) estimate {
	sum := 0.0
	if p.step > 0 {
		sum = p.even(w)
	} else {
		sum = p.panels(w)
	}
	if p.both {
		sum *= 2
	}
	return estimate{min(sum, 1), 0}
}

// even is the trapezoidal rule, exponentially good where no load is near 1 [8].
func (p *product) even(w float64) float64 {
	lo, hi := p.span(w)
	sum := 0.0
	if p.both {
		sum = p.step / 2 * phi(0) * p.given(0, w)
		lo = p.step
	}
	for x := lo; x < hi; x += p.step {
		sum += p.step * phi(x) * p.given(x, w)
	}
	return sum
}

// panels is for loads near 1, where a statistic is nearly a step in x: Gauss-Legendre rules between the cuts.
func (p *product) panels(w float64) float64 {
	sum := 0.0
	cuts := p.cuts(w)
	for k := 1; k < len(cuts); k++ {
		mid, half := (cuts[k]+cuts[k-1])/2, (cuts[k]-cuts[k-1])/2
		if half <= 0 {
			continue
		}
		for g, x := range gaussX {
			at := mid + half*x
			sum += half * gaussW[g] * phi(at) * p.given(at, w)
		}
	}
	return sum
}

// span is where the integral is not 0. Two-sided the integrand is even, and half of the line is enough.
func (p *product) span(w float64) (lo, hi float64) {
	least, most := min(0, p.load[0]), max(0, p.load[len(p.load)-1])
	far := max(w, 0)
	lo, hi = -reach+least*far, reach+most*far
	if p.both {
		lo = 0
	}
	return lo, hi
}

// given is the probability that some statistic exceeds w where X = x: the complement is built up without subtraction, so
// that small probabilities keep their digits.
func (p *product) given(x, w float64) float64 {
	out := 0.0
	for i, l := range p.load {
		var q float64
		switch s := p.spread[i]; {
		case s > 0:
			q = above((w - l*x) / s)
			if p.both {
				q += above((w + l*x) / s)
			}
		case l*x > w || p.both && -l*x > w:
			return 1
		}
		for range p.times[i] {
			out += q * (1 - out)
		}
	}
	return out
}

// cuts gives the ends of the panels: at most 2 wide, finer about steps.
func (p *product) cuts(w float64) []float64 {
	lo, hi := p.span(w)
	cuts := append(p.breaks[:0], lo)
	panels := math.Ceil((hi - lo) / 2)
	for k := 1.0; k <= panels; k++ {
		cuts = append(cuts, lo+(hi-lo)*k/panels)
	}
	for i, l := range p.load {
		if width := p.spread[i] / math.Abs(l); width < 0.9 {
			for _, d := range [...]float64{-8, -5, -3, -1.5, 0, 1.5, 3, 5, 8} {
				if x := w/l + d*width; x > lo && x < hi {
					cuts = append(cuts, x)
				}
			}
		}
	}
	slices.Sort(cuts)
	p.breaks = cuts
	return cuts
}
