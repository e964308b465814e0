package mixed

import (
	"errors"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// Who says for whom a prediction holds.
type Who int

const (
	// Average: an average level of every grouping, X beta; the standard error is that of the fixed coefficients.
	Average Who = iota
	// Named: the levels that stand in the grouping columns of the table, X beta + Z b.
	Named
)

// Prediction is an expected response, without the residual of a single row.
type Prediction struct {
	Value float64
	SE    float64
}

// Predict gives the expected response at the rows of t. Average needs the columns of the fixed side only. Named needs the
// grouping columns too; a level that the fit did not see is an error at its row, as nothing is known of it but what Average
// says. The standard error of a named prediction is that of X beta + Z b less its estimate, with the uncertainty of both,
// given the estimated variances (Henderson's equations [3]).
func (f *Fit) Predict(t *Table, who Who) ([]Prediction, error) {
	switch who {
	case Average:
		return f.predict(t, nil)
	case Named:
		return f.predict(t, f.groups)
	}
	return nil, &dataerr.Cell{Column: "who", Err: dataerr.ErrUnknown, Want: "give Average or Named"}
}

// PredictNamed is Predict with named levels of the given groupings ("taster", "taster:style") and an average level of all
// others: this taster, any evening.
func (f *Fit) PredictNamed(t *Table, groups ...string) ([]Prediction, error) {
	var chosen []*grouping
	var known []string
	for _, g := range f.groups {
		known = append(known, g.name)
		if slices.Contains(groups, g.name) {
			chosen = append(chosen, g)
		}
	}
	var bad []error
	for _, name := range groups {
		if !slices.Contains(known, name) {
			bad = append(bad, &dataerr.Cell{Column: name, Err: dataerr.ErrUnknown, Want: "the groupings of the fit are " + list(known)})
		}
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	return f.predict(t, chosen)
}

// effectRow is a row of Z at new data: the random effects it touches and their multipliers.
type effectRow struct {
	at []int
	z  []float64
}

func (f *Fit) predict(t *Table, groups []*grouping) ([]Prediction, error) {
	x, err := f.DesignRow(t)
	if err != nil {
		return nil, err
	}
	rows, err := f.effectRows(t, groups)
	if err != nil {
		return nil, err
	}
	h := f.henderson(len(groups) > 0)
	out := make([]Prediction, t.rows)
	p := len(f.beta)
	d := make([]float64, p)
	for i := range out {
		copy(d, x.RawRowView(i))
		out[i].Value = inner(d, f.beta)
		random := 0.0
		for k, at := range rows[i].at {
			out[i].Value += rows[i].z[k] * h.modes[at]
		}
		if len(rows[i].at) > 0 {
			random = h.given(rows[i], d)
		}
		out[i].SE = math.Sqrt(math.Max(0, f.bilinear(d, d)+f.sigma*f.sigma*random))
	}
	return out, nil
}

// effectRows gives the rows of Z for the given groupings.
func (f *Fit) effectRows(t *Table, groups []*grouping) ([]effectRow, error) {
	out := make([]effectRow, t.rows)
	var bad []error
	for k, g := range f.groups {
		if !slices.Contains(groups, g) {
			continue
		}
		codes, codeErr := g.codes(t)
		z, zErr := g.values(t)
		if err := errors.Join(codeErr, zErr); err != nil {
			bad = append(bad, err)
			continue
		}
		offset, q := f.problem.Offset(k), len(g.names)
		for i, level := range codes {
			for j := range q {
				v := 1.0
				if z[j] != nil {
					v = z[j][i]
				}
				out[i].at, out[i].z = append(out[i].at, offset+level*q+j), append(out[i].z, v)
			}
		}
	}
	return out, errors.Join(bad...)
}
