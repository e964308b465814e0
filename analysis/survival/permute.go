package survival

import (
	"math"
	"math/rand/v2"
	"slices"

	"lastsip/analysis/internal/resample"
)

// relabelling deals labels 0 to k-1 anew inside blocks of values; each block keeps how many of each label it has. The
// statistic is a quadratic form in the k sums of values by label. Values are kept less the mean of their block, so that
// the sums are 0 on average over all relabellings, and all k sums together are 0 always.
type relabelling struct {
	k     int
	value []float64 // block by block; inside a block in order of label, the commonest label last
	deals []deal
	start []int // of each block in value; one more at the end
	first []int // of each block in deals; one more at the end
	sums  []float64
	cov   []float64 // k times k
	root  [][]float64

	mixed, tied int // blocks given that have more than one label; of these, those left out as their values are all alike
}

// deal is how many values of a block get a label.
type deal struct {
	label int32
	count int
}

// tieSlack is how near scores count as equal. They are of the size of 1, and known to about 1e-12.
const tieSlack = 1e-9

func newRelabelling(k int) *relabelling {
	return &relabelling{k: k, start: []int{0}, first: []int{0}, sums: make([]float64, k), cov: make([]float64, k*k)}
}

// block adds values whose labels may be exchanged. It is left out where nothing can change: one label, or values all alike.
func (p *relabelling) block(values []float64, labels []int32) {
	counts := make([]int, p.k)
	for _, l := range labels {
		counts[l]++
	}
	if slices.Max(counts) == len(labels) {
		return
	}
	p.mixed++
	if slices.Max(values)-slices.Min(values) <= tieSlack {
		p.tied++
		return
	}
	var order []deal
	for l, n := range counts {
		if n > 0 {
			order = append(order, deal{int32(l), n})
		}
	}
	slices.SortStableFunc(order, func(a, b deal) int { return a.count - b.count })
	mean, squares := 0.0, 0.0
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, d := range order {
		for i, l := range labels {
			if l == d.label {
				v := values[i] - mean
				p.value = append(p.value, v)
				p.sums[l] += v
				squares += v * v
			}
		}
	}
	p.deals = append(p.deals, order...)
	p.start, p.first = append(p.start, len(p.value)), append(p.first, len(p.deals))
	n := float64(len(values))
	for g, a := range counts { // sampling without replacement
		for h, b := range counts {
			p.cov[g*p.k+h] -= squares / (n - 1) * float64(a) * float64(b) / n
		}
		p.cov[g*p.k+g] += squares / (n - 1) * float64(a)
	}
}

// blocks is their number; deal and values of block b are at dealt(b), p.value[p.start[b]:p.start[b+1]].
func (p *relabelling) blocks() int            { return len(p.start) - 1 }
func (p *relabelling) dealt(b int) []deal     { return p.deals[p.first[b]:p.first[b+1]] }
func (p *relabelling) values(b int) []float64 { return p.value[p.start[b]:p.start[b+1]] }

// number of relabellings: the product of multinomial coefficients, exact while it is small. +Inf when too large.
func (p *relabelling) number() float64 {
	all := 1.0
	for b := range p.blocks() {
		left := p.start[b+1] - p.start[b]
		for _, d := range p.dealt(b) {
			all *= choose(left, d.count)
			left -= d.count
		}
	}
	return all
}

// choose is the binomial coefficient, +Inf when too large.
func choose(n, k int) float64 {
	k = min(k, n-k)
	c := 1.0
	for i := 1; i <= k && !math.IsInf(c, 1); i++ {
		c = math.Round(c * float64(n-k+i) / float64(i)) // whole at each step
	}
	return c
}

// slack is how much smaller a statistic may be and still count as equal to q, so that relabellings that are equal in exact
// arithmetic are not told apart by rounding.
func slack(q float64) float64 { return 1e-8 * (1 + q) }

// drawsAtOnce is how many draws share a child stream.
const drawsAtOnce = 250

// draw counts, among n random relabellings, those whose statistic is at least observed.
func (p *relabelling) draw(observed float64, n int, seed uint64) int {
	type space struct{ value, u []float64 }
	chunks := (n + drawsAtOnce - 1) / drawsAtOnce
	counts := make([]int, chunks)
	least := observed - slack(observed)
	resample.EachWith(chunks, seed, 0, func() space {
		return space{make([]float64, len(p.value)), make([]float64, p.k)}
	}, func(c int, rng *rand.Rand, s space) {
		copy(s.value, p.value) // a chunk knows nothing of those before it
		count := 0
		for range min(drawsAtOnce, n-c*drawsAtOnce) {
			p.deal(rng, s.value, s.u)
			if quadratic(p.root, s.u) >= least {
				count++
			}
		}
		counts[c] = count
	})
	sum := 0
	for _, c := range counts {
		sum += c
	}
	return sum
}

// deal shuffles the values of each block over its labels and sums them by label. The last label of a block gets what
// is left, which is what brings the block's sum to 0.
func (p *relabelling) deal(rng *rand.Rand, value, u []float64) {
	clear(u)
	for b := range p.blocks() {
		v := value[p.start[b]:p.start[b+1]]
		order := p.dealt(b)
		last := len(order) - 1
		at, all := 0, 0.0
		for _, d := range order[:last] {
			sum := 0.0
			for range d.count {
				j := at + rng.IntN(len(v)-at)
				v[at], v[j] = v[j], v[at]
				sum += v[at]
				at++
			}
			u[d.label] += sum
			all += sum
		}
		u[order[last].label] -= all
	}
}
