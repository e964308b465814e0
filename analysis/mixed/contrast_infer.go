package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/multiplicity"
)

// Adjustment says how the p-values of a family of contrasts are adjusted for their number (package multiplicity).
type Adjustment int

const (
	None       Adjustment = iota
	MaxT                  // single step, by the law of the largest of the t statistics with their correlations; limits too
	Holm                  // no limits
	Bonferroni            // limits too
	Sidak                 // limits too
	Tukey                 // studentised range (Tukey-Kramer): for AllPairs only; limits too
)

func (a Adjustment) String() string {
	names := []string{"none", "max-t", "Holm", "Bonferroni", "Sidak", "Tukey"}
	if a < 0 || int(a) >= len(names) {
		return "Adjustment(" + strconv.Itoa(int(a)) + ")"
	}
	return names[a]
}

// ContrastOptions says how contrasts are tested. The zero value: degrees of freedom by Default, no adjustment, limits at 95 %.
type ContrastOptions struct {
	DF     DF
	Adjust Adjustment
	Level  float64 // of the limits, a fraction strictly between 0 and 1; 0 means 0.95
}

// Comparison is one contrast with its test of being 0.
type Comparison struct {
	Name       string
	Inference          // of this contrast alone: its P and limits are not adjusted
	Adjusted   float64 // adjusted p-value; P where there is no adjustment
	Joint      bool    // the adjustment has limits that hold for all contrasts at once:
	JointLower float64 // these (0 where Joint is false)
	JointUpper float64
}

// Comparisons is a family of contrasts, adjusted together.
type Comparisons struct {
	List     []Comparison
	Method   DF // what Default became
	Adjust   Adjustment
	Level    float64
	FamilyDF float64 // MaxT: degrees of freedom of the family, the smallest of all; else 0
	Critical float64 // MaxT: simultaneous limits are this many standard errors wide on either side; else 0
	Within   float64 // MaxT: bound on the numerical error of the adjusted p-values; else 0
	Notes    []string
}

// Contrasts tests each contrast of a list of being 0, two-sided, and adjusts the p-values for their number. Where MaxT meets
// contrasts of different degrees of freedom it takes the smallest for all, which errs on the careful side, and says so in
// Notes. Tukey and limits by Bonferroni and Sidak use each contrast's own. An error (joined *dataerr.Cell, row = 1-based
// contrast) names every contrast that is all 0, has no standard error or not as many numbers as there are coefficients.
func (f *Fit) Contrasts(of []Contrast, options ContrastOptions) (*Comparisons, error) {
	d, err := f.Degrees(options.DF)
	if err != nil {
		return nil, err
	}
	return d.Contrasts(of, options)
}

// Contrasts is Fit.Contrasts by Degrees that were made before; the DF of options counts for nothing.
func (d *Degrees) Contrasts(of []Contrast, options ContrastOptions) (*Comparisons, error) {
	level := options.Level
	if level == 0 {
		level = 0.95
	}
	if options.Adjust < None || options.Adjust > Tukey {
		return nil, &dataerr.Cell{Column: "Adjust", Value: options.Adjust.String(), Err: dataerr.ErrUnknown, Want: "give None, MaxT, Holm, Bonferroni, Sidak or Tukey"}
	}
	infer, err := d.inferAll(of, level)
	if err != nil {
		return nil, err
	}
	out := &Comparisons{Method: d.Method(), Adjust: options.Adjust, Level: level, Notes: d.Notes()}
	for i, c := range of {
		out.List = append(out.List, Comparison{Name: c.Name, Inference: infer[i], Adjusted: infer[i].P})
	}
	if err := out.adjust(d, of); err != nil {
		return nil, err
	}
	return out, nil
}

// inferAll is Infer for each contrast, all faults at once.
func (d *Degrees) inferAll(of []Contrast, level float64) ([]Inference, error) {
	if len(of) == 0 {
		return nil, &dataerr.Cell{Column: "contrast", Err: dataerr.ErrTooFew, Want: "give at least one contrast"}
	}
	if err := checkLevel(level); err != nil {
		return nil, err
	}
	out := make([]Inference, len(of))
	var bad []error
	for i, c := range of {
		var err error
		if out[i], err = d.Infer(c.L, level); err == nil {
			continue
		}
		var cell *dataerr.Cell
		if !errors.As(err, &cell) {
			return nil, err
		}
		named := *cell
		named.Row, named.Column = i+1, "contrast "+c.Name
		bad = append(bad, &named)
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	return out, nil
}

func (c *Comparisons) adjust(d *Degrees, of []Contrast) error {
	switch c.Adjust {
	case MaxT:
		return c.maxT(d, of)
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

func (c *Comparisons) maxT(d *Degrees, of []Contrast) error {
	t := make([]float64, len(of))
	smallest, largest := math.Inf(1), 0.0
	for i, one := range c.List {
		t[i] = one.T
		smallest, largest = min(smallest, one.DF), max(largest, one.DF)
	}
	if largest > 1.001*smallest {
		c.Notes = append(c.Notes, fmt.Sprintf("max-t takes %s degrees of freedom for all contrasts, the smallest; they have up to %s", short(smallest), short(largest)))
	}
	law, err := multiplicity.NewJoint(d.correlation(of), smallest, multiplicity.TwoSided)
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
