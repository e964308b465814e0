package mixed

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/multiplicity"
)

// adjust fills in adjusted p-values and, where there are some, limits for all at once.
func (c *Comparisons) adjust(d *Degrees, of []Contrast, within float64) error {
	switch c.Adjust {
	case MaxT:
		return c.maxT(d, of, within)
	case Tukey:
		return c.tukey(of)
	case Holm:
		return c.fromP(multiplicity.Holm)
	case Bonferroni:
		c.limits(1 - (1-c.Level)/float64(len(of)))
		return c.fromP(multiplicity.Bonferroni)
	case Sidak:
		c.limits(math.Pow(c.Level, 1/float64(len(of))))
		return c.fromP(multiplicity.Sidak)
	}
	return nil
}

// fromP adjusts by the p-values alone.
func (c *Comparisons) fromP(method func([]float64) ([]float64, error)) error {
	p := make([]float64, len(c.List))
	for i, one := range c.List {
		p[i] = one.P
	}
	adjusted, err := method(p)
	if err != nil {
		return err
	}
	for i, v := range adjusted {
		c.List[i].Adjusted = v
	}
	return nil
}

// limits gives every contrast limits at a higher level, by its own degrees of freedom.
func (c *Comparisons) limits(level float64) {
	for i := range c.List {
		one := &c.List[i]
		one.between(studentQuantile(level, one.DF))
	}
}

// between sets the simultaneous limits, t standard errors away.
func (c *Comparison) between(t float64) {
	c.Joint, c.JointLower, c.JointUpper = true, c.Estimate-t*c.SE, c.Estimate+t*c.SE
}

func (c *Comparisons) maxT(d *Degrees, of []Contrast, within float64) error {
	if within == 0 {
		within = multiplicity.JointWithin
	}
	t := make([]float64, len(of))
	smallest, largest := math.Inf(1), 0.0
	for i, one := range c.List {
		t[i] = one.T
		smallest, largest = min(smallest, one.DF), max(largest, one.DF)
	}
	if largest > 1.001*smallest {
		c.Notes = append(c.Notes, fmt.Sprintf("max-t takes %s degrees of freedom for all contrasts, the smallest; they have up to %s", short(smallest), short(largest)))
	}
	law, err := multiplicity.NewJointWithin(d.correlation(of), smallest, multiplicity.TwoSided, within)
	if err != nil {
		return err
	}
	adjusted, err := law.Adjust(t)
	if err != nil {
		return err
	}
	critical, err := law.Critical(c.Level)
	if err != nil {
		return err
	}
	c.FamilyDF, c.Critical, c.Within = smallest, critical.Value, adjusted.Within
	for i := range c.List {
		one := &c.List[i]
		one.Adjusted = max(adjusted.P[i], one.P) // never below that of one alone, whatever the rounding
		one.between(critical.Value)
	}
	return nil
}

// correlation is that of the estimates of the contrasts, by the covariance that gives their standard errors.
func (d *Degrees) correlation(of []Contrast) *mat.SymDense {
	n, p := len(of), len(d.beta)
	times := make([][]float64, n) // cov l
	for i, c := range of {
		times[i] = make([]float64, p)
		for j := range p {
			times[i][j] = inner(d.cov[j*p:][:p], c.L)
		}
	}
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i {
			r := inner(of[i].L, times[j]) / math.Sqrt(inner(of[i].L, times[i])*inner(of[j].L, times[j]))
			out.SetSym(i, j, max(-1, min(1, r)))
		}
		out.SetSym(i, i, 1)
	}
	return out
}

// tukey takes the studentised range of as many means as the pairs need.
func (c *Comparisons) tukey(of []Contrast) error {
	k, ok := pairsOf(of)
	if !ok {
		return &dataerr.Cell{Column: "Adjust", Value: Tukey.String(), Err: dataerr.ErrConflict,
			Want: "Tukey's adjustment is for all differences of some means, in the order of AllPairs; for other contrasts use MaxT"}
	}
	laws := map[float64]*multiplicity.Joint{}
	critical := map[float64]float64{}
	for i := range c.List {
		one := &c.List[i]
		df := near(one.DF)
		if laws[df] == nil {
			law, err := multiplicity.NewRange(k, df)
			if err != nil {
				return err
			}
			at, err := law.Critical(c.Level)
			if err != nil {
				return err
			}
			laws[df], critical[df] = law, at.Value
		}
		p, _, err := laws[df].Tail(one.T)
		if err != nil {
			return err
		}
		one.Adjusted = max(p, one.P)
		one.between(critical[df])
	}
	return nil
}

// near rounds degrees of freedom to nine digits, so that contrasts which differ by rounding share one law.
func near(df float64) float64 {
	if math.IsInf(df, 0) {
		return df
	}
	unit := math.Pow(10, math.Floor(math.Log10(df))-8)
	return math.Round(df/unit) * unit
}

// pairsOf finds k such that the list is AllPairs of k contrasts: ij = 1j - 1i.
func pairsOf(of []Contrast) (k int, ok bool) {
	for k = 2; k*(k-1)/2 < len(of); k++ {
	}
	if k*(k-1)/2 != len(of) {
		return 0, false
	}
	at := k - 1
	for i := 1; i < k; i++ {
		for j := i + 1; j < k; j++ {
			want := less(of[j-1], of[i-1]).L
			if !slices.EqualFunc(want, of[at].L, func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(a)) }) {
				return 0, false
			}
			at++
		}
	}
	return k, true
}
