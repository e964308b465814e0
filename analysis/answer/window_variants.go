package answer

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/mixed"
)

// Methods of a prime window besides the curve's shape.
const (
	ownCurves     = "own_curves"
	bootstrapped  = "bootstrap"
	withoutAwares = "without_aware"
)

// variants answers again: the limit moved, the drop since fresh, other methods, other rows.
func (m *windowMaker) variants(out *PrimeWindow) error {
	add := func(words, method, variant, note string, w Window, s *scoreRows) {
		out.Variants = append(out.Variants, Variant{Words: words, Method: method, Variant: variant, Note: note, Window: w,
			Tasters: s.count(func(r *scoreRow) string { return r.taster }), Tastes: len(s.rows)})
	}
	shape := m.curve.shape
	for _, by := range []struct {
		words, name string
		up          float64
	}{{"limit one point stricter", "limit_up", limitShift}, {"limit one point laxer", "limit_down", -limitShift}} {
		w, err := m.band.find(m.limit + by.up)
		if err != nil {
			return err
		}
		add(by.words, shape, by.name, "", turnedWindow(w, m.data.sign), m.data)
	}
	if drop, asked := m.drop(); asked {
		w, err := m.since(drop)
		if err == nil {
			out.Drop, out.DropStated = Of(drop), m.in.Panel.Settings.PrimeDrop > 0
			add(fmt.Sprintf("less than %s lost since fresh", pointsWords(drop)), shape, "one_point", fmt.Sprintf("ages at which less than %s was lost since the youngest age step", pointsWords(drop)), w, m.data)
		} else if !errors.Is(err, errUnlimited) {
			return err
		}
	}
	if m.in.Brief {
		return nil
	}
	if own, n, ok := m.ownCurves(); ok {
		w, err := own.find(m.limit)
		if err != nil {
			return err
		}
		add("means of tasters' own curves", ownCurves, "", fmt.Sprintf("t on %d %ss less 1", n, m.data.unit), turnedWindow(w, m.data.sign), m.data)
	}
	if !m.in.Quick {
		w, note, err := m.bootstrap(windowDraws)
		if err != nil {
			return err
		}
		add("limits by drawing panels from the model", bootstrapped, "", note, turnedWindow(w, m.data.sign), m.data)
	}
	return m.withoutAware(out, add)
}

// since is the window of the drop since fresh: its limit is points lost, whichever way the scale runs.
func (m *windowMaker) since(drop float64) (Window, error) {
	b, err := bandOf(m.curve.lessFresh())
	if err != nil {
		return Window{}, err
	}
	w, err := b.find(-drop)
	w.Limit = drop
	return w, err
}

// drop is the drop since fresh that the window is also asked for, and whether it is: stated beforehand, or one point where
// fresh lies below, or less than half a point above the limit.
func (m *windowMaker) drop() (float64, bool) {
	if d := m.in.Panel.Settings.PrimeDrop; d > 0 {
		return d, true
	}
	return limitShift, m.band.grid[0].Mean < m.limit+nearFresh
}

// withoutAware answers without the rows of tasters who made or knew the drink.
func (m *windowMaker) withoutAware(out *PrimeWindow, add func(words, method, variant, note string, w Window, s *scoreRows)) error {
	if !slices.ContainsFunc(m.data.rows, func(r scoreRow) bool { return r.aware }) {
		return nil
	}
	s, why := m.in.scoreRowsOf(m.d, notAware)
	if why != "" || s.enough() != "" {
		out.Warnings = append(out.Warnings, "Without the rows of tasters who knew the drink too little is left to answer.")
		return nil
	}
	other, err := newWindowMaker(m.in, m.d, s)
	if err != nil {
		out.Warnings = append(out.Warnings, "Without the rows of tasters who knew the drink the model cannot be fitted.")
		return nil
	}
	w, err := other.band.find(other.limit)
	if err != nil {
		return err
	}
	add("without tasters who knew the drink", other.curve.shape, withoutAwares, "", turnedWindow(w, m.data.sign), s)
	return nil
}

// ownCurves fits the same curve to every taster alone by least squares and takes their mean with t limits over tasters.
func (m *windowMaker) ownCurves() (band, int, bool) {
	var keep []int
	for j := range m.curve.fit.Coefficients() {
		if !m.beside(j) {
			keep = append(keep, j)
		}
	}
	_, betas, err := m.curve.fit.Separate(unitColumn, keep)
	if err != nil || len(betas) < 3 {
		return band{}, 0, false
	}
	curve := func(age float64, row []float64) CurvePoint {
		values := make([]float64, len(betas))
		for i, b := range betas {
			for k, j := range keep {
				values[i] += row[j] * b[k]
			}
		}
		mean, half := likelihood.MeanLimits(values, Level)
		return CurvePoint{AgeMin: age, Mean: mean, Lower: mean - half, Upper: mean + half}
	}
	b := band{at: func(age float64) (CurvePoint, error) { return curve(age, m.curve.row(age)), nil }}
	for i, a := range m.curve.ages {
		b.grid = append(b.grid, curve(a, m.curve.rows[i]))
	}
	return b, len(betas), true
}

// beside tells that a coefficient belongs to evenings, batches or modes.
func (m *windowMaker) beside(j int) bool {
	for _, p := range m.curve.fit.Parts() {
		if slices.Contains(m.curve.model.fixed, p.Name) && slices.Contains(p.Coefficients, j) {
			return true
		}
	}
	return false
}

// bootstrap draws panels from the fitted model and takes percentiles of their windows' ends. A panel whose curve never
// falls below the limit has an open end; one that never reaches it has its end before the first age.
func (m *windowMaker) bootstrap(draws int) (Window, string, error) {
	w, err := m.band.find(m.limit)
	if err != nil {
		return w, "", err
	}
	drawn, err := m.curve.fit.Bootstrap(m.in.Seed, draws, m.endOf(0), m.endOf(1))
	if err != nil {
		return w, "", err
	}
	from, err := drawn.Percentiles(0, Level)
	if err != nil {
		return w, "", err
	}
	to, err := drawn.Percentiles(1, Level)
	if err != nil {
		return w, "", err
	}
	w.FromLower, w.FromUpper, w.ToLower, w.ToUpper, w.AtLeastUntil = orZero(from.Lower), orZero(from.Upper), orZero(to.Lower), orZero(to.Upper), Num{}
	if math.IsInf(from.Upper, -1) { // it has begun at the first age in nearly all of them
		w.FromUpper = Of(m.curve.ages[0])
	}
	note := fmt.Sprintf("percentiles of %d drawn panels, seed %d", draws, m.in.Seed)
	if drawn.Failed > 0 {
		note += fmt.Sprintf(", %d of them not fitted", drawn.Failed)
	}
	return w, note, nil
}

// endOf is the begin (0) or the end (1) of the window of a drawn panel.
func (m *windowMaker) endOf(k int) func(*mixed.Refit) float64 {
	return func(r *mixed.Refit) float64 { return m.curve.endsOf(r.Beta, m.limit)[k] }
}

// orZero writes -Inf, an end before the first age, as the open lower limit 0.
func orZero(x float64) Num {
	if math.IsInf(x, -1) {
		return Of(0)
	}
	return Of(x)
}

// endsOf is where the window of a curve with these coefficients begins and ends: +Inf, -Inf where it never reaches the limit;
// -Inf and +Inf where it begins or ends past the ages tasted.
func (c *scoreCurve) endsOf(beta []float64, limit float64) [2]float64 {
	value := func(i int) float64 {
		v := 0.0
		for j, x := range c.rows[i] {
			v += x * beta[j]
		}
		return v
	}
	n, top, at := len(c.rows), math.Inf(-1), 0
	values := make([]float64, n)
	for i := range values {
		if values[i] = value(i); values[i] > top {
			top, at = values[i], i
		}
	}
	if top < limit {
		return [2]float64{math.Inf(1), math.Inf(-1)}
	}
	cross := func(in, out int) float64 {
		w := (values[in] - limit) / (values[in] - values[out])
		return c.ages[in] + w*(c.ages[out]-c.ages[in])
	}
	ends := [2]float64{math.Inf(-1), math.Inf(1)}
	for i := at; i > 0; i-- {
		if values[i-1] < limit {
			ends[0] = cross(i, i-1)
			break
		}
	}
	for i := at; i < n-1; i++ {
		if values[i+1] < limit {
			ends[1] = cross(i, i+1)
			break
		}
	}
	return ends
}
