package answer

import (
	"errors"
	"math"
	"slices"

	"lastsip/analysis/mixed"
)

// Shapes of the age curve.
const (
	shapeSpline = "spline"
	shapeJoined = "joined"
)

// splineFrom is the number of age steps from which the curve is a spline; fineFrom that of tasters from which it has a
// fourth degree of freedom.
const (
	splineFrom = 5
	fineFrom   = 20
)

// gridStep is how closely a curve is looked at before its crossings are searched for, minutes.
const gridStep = 0.1

// scoreCurve is the expected score of an average taster by age, from a mixed model.
type scoreCurve struct {
	model   *scoreModel
	shape   string
	knots   []float64
	fit     *mixed.Fit
	degrees *mixed.Degrees
	ages    []float64   // grid, from the first age step to the last
	rows    [][]float64 // per grid age the combination of coefficients that is the curve
	base    []float64   // taken off every row: nil, or the row of fresh
}

// errApart says that evenings, batches or modes leave no room for age.
var errApart = errors.New(whyApart)

// newScoreCurve fits the curve: a natural cubic spline in age with 3 degrees of freedom (4 from 20 tasters) from five age
// steps up, else one mean per step joined by lines.
func newScoreCurve(m *scoreModel) (c *scoreCurve, err error) {
	s := m.data
	c = &scoreCurve{model: m, shape: shapeJoined}
	term := mixed.Term(mixed.Factor{Name: stepColumn})
	if n := len(s.steps); n >= splineFrom {
		c.shape = shapeSpline
		at := []float64{1. / 3, 2. / 3}
		if s.units >= fineFrom {
			at = []float64{0.25, 0.5, 0.75}
		}
		for _, p := range at {
			c.knots = append(c.knots, type7(s.steps, p))
		}
		term = mixed.Spline{Name: ageColumn, Knots: c.knots, Boundary: [2]float64{s.steps[0], s.steps[n-1]}}
	}
	if c.fit, err = m.fit(term); err != nil {
		return nil, err
	}
	if len(c.fit.Aliased()) > 0 {
		return nil, errApart
	}
	if c.degrees, err = c.fit.Degrees(mixed.Default); err != nil {
		return nil, err
	}
	c.ages = gridOf(s.steps)
	c.rows, err = c.combinations(c.ages)
	return c, err
}

// gridOf lists ages from the first step to the last, every step among them, at most a tenth of a minute apart.
func gridOf(steps []float64) []float64 {
	out := []float64{steps[0]}
	for k := 1; k < len(steps); k++ {
		from, wide := steps[k-1], steps[k]-steps[k-1]
		n := max(1, int(math.Ceil(wide/gridStep-1e-9)))
		for i := 1; i < n; i++ {
			out = append(out, from+wide*float64(i)/float64(n))
		}
		out = append(out, steps[k])
	}
	return out
}

// combinations gives, per age, the combination of coefficients that is the expected score of an average taster at the mean
// of the evenings, batches and modes that are fixed: these have sum contrasts, so their columns are zero.
func (c *scoreCurve) combinations(ages []float64) ([][]float64, error) {
	if c.shape == shapeJoined {
		return c.joined(ages)
	}
	return c.design(ages, make([]int, len(ages)))
}

// joined mixes the two steps around each age.
func (c *scoreCurve) joined(ages []float64) ([][]float64, error) {
	steps := c.model.data.steps
	order := make([]int, len(steps))
	for i := range order {
		order[i] = i
	}
	at, err := c.design(steps, order)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(ages))
	for i, a := range ages {
		k, _ := slices.BinarySearch(steps, a)
		k = min(max(k, 1), len(steps)-1)
		w := (a - steps[k-1]) / (steps[k] - steps[k-1])
		out[i] = make([]float64, len(at[0]))
		for j := range out[i] {
			out[i][j] = (1-w)*at[k-1][j] + w*at[k][j]
		}
	}
	return out, nil
}

// design asks the fit for rows of its design, with zeros for what is fixed beside age.
func (c *scoreCurve) design(ages []float64, steps []int) ([][]float64, error) {
	n := len(ages)
	s := c.model.data
	first := func(of func(*scoreRow) string) []string { return slices.Repeat([]string{of(&s.rows[0])}, n) }
	names := make([]string, n)
	for i, k := range steps {
		names[i] = stepLevel(k)
	}
	table, err := mixed.NewTable(mixed.Numbers(ageColumn, ages), mixed.Labels(stepColumn, names),
		mixed.Labels("evening", first(func(r *scoreRow) string { return r.session })),
		mixed.Labels("mode", first(func(r *scoreRow) string { return r.mode })),
		mixed.Labels("batch", slices.Repeat([]string{stepLevel(0)}, n)))
	if err != nil {
		return nil, err
	}
	x, err := c.fit.DesignRow(table)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, n)
	for i := range out {
		out[i] = slices.Clone(x.RawRowView(i))
		for _, part := range c.fit.Parts() {
			if slices.Contains(c.model.fixed, part.Name) {
				for _, j := range part.Coefficients {
					out[i][j] = 0
				}
			}
		}
	}
	return out, nil
}

// lessFresh is the same curve less its value at the youngest age step: the drop since fresh.
func (c *scoreCurve) lessFresh() *scoreCurve {
	out := *c
	out.base = c.rows[0]
	return &out
}

// at is the curve at one age, with its pointwise limits: between neighbours of the grid the combination is mixed in
// proportion, which moves a crossing by less than a thousandth of a minute.
func (c *scoreCurve) at(age float64) (CurvePoint, error) { return c.infer(age, c.row(age)) }

// row is the combination of coefficients at one age.
func (c *scoreCurve) row(age float64) []float64 {
	k, _ := slices.BinarySearch(c.ages, age)
	k = min(max(k, 1), len(c.ages)-1)
	w := (age - c.ages[k-1]) / (c.ages[k] - c.ages[k-1])
	row := make([]float64, len(c.rows[k]))
	for j := range row {
		row[j] = (1-w)*c.rows[k-1][j] + w*c.rows[k][j]
	}
	return row
}

// points is the curve over its grid.
func (c *scoreCurve) points() ([]CurvePoint, error) {
	out := make([]CurvePoint, len(c.ages))
	for i, row := range c.rows {
		var err error
		if out[i], err = c.infer(c.ages[i], row); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (c *scoreCurve) infer(age float64, row []float64) (CurvePoint, error) {
	if c.base != nil {
		row = slices.Clone(row)
		zero := true
		for j, b := range c.base {
			row[j] -= b
			zero = zero && row[j] == 0
		}
		if zero { // fresh against itself
			return CurvePoint{AgeMin: age}, nil
		}
	}
	f, err := c.degrees.Infer(row, Level)
	if err != nil {
		return CurvePoint{}, err
	}
	return CurvePoint{AgeMin: age, Mean: f.Estimate, Lower: f.Lower, Upper: f.Upper}, nil
}
