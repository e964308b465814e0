package mixed

import (
	"errors"
	"strconv"

	"lastsip/analysis/dataerr"
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
	Within float64 // MaxT: numerical error of adjusted p-values up to 0.1 that is small enough; 0 means 2e-5
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
	if err := out.adjust(d, of, options.Within); err != nil {
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
