package multiplicity

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Bonferroni multiplies each p-value by their number. Errors as Holm.
func Bonferroni(p []float64) ([]float64, error) {
	return step(p, unrelated, func(_, m int) float64 { return float64(m) })
}

// Holm adjusts by the step-down procedure [1]. p holds one or more numbers in [0, 1]; it is not changed. Errors are joined
// *dataerr.Cell with the 1-based row of every p-value that is NaN or out of range, or ErrTooFew when there is none.
func Holm(p []float64) ([]float64, error) {
	return step(p, down, func(rank, m int) float64 { return float64(m - rank + 1) })
}

// Sidak gives 1 - (1 - p)^m, which holds where the statistics are independent, or normal or t and two-sided whatever their
// correlation [10]. Small p-values keep their digits. Errors as Holm.
func Sidak(p []float64) ([]float64, error) {
	if err := check(p); err != nil {
		return nil, err
	}
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = -math.Expm1(float64(len(p)) * math.Log1p(-v))
	}
	return out, nil
}

// Hochberg adjusts by the step-up procedure [2]. Errors as Holm.
func Hochberg(p []float64) ([]float64, error) {
	return step(p, upward, func(rank, m int) float64 { return float64(m - rank + 1) })
}

// BenjaminiHochberg adjusts for the false discovery rate [3]. Errors as Holm.
func BenjaminiHochberg(p []float64) ([]float64, error) {
	return step(p, upward, func(rank, m int) float64 { return float64(m) / float64(rank) })
}

// BenjaminiYekutieli adjusts for the false discovery rate whatever the dependence [4]. Errors as Holm.
func BenjaminiYekutieli(p []float64) ([]float64, error) {
	harmonic := 0.0
	for i := range p {
		harmonic += 1 / float64(i+1)
	}
	return step(p, upward, func(rank, m int) float64 { return float64(m) / float64(rank) * harmonic })
}

// direction says which values an adjusted one may not fall below or rise above.
type direction int

const (
	unrelated direction = iota
	down                // none below that of a smaller p-value
	upward              // none above that of a larger p-value
)

// step multiplies each p-value by the factor of its rank (1 the smallest) and keeps the order.
func step(p []float64, way direction, factor func(rank, m int) float64) ([]float64, error) {
	if err := check(p); err != nil {
		return nil, err
	}
	m := len(p)
	order := make([]int, m)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	out := make([]float64, m)
	for k, i := range order {
		out[i] = min(1, p[i]*factor(k+1, m))
		if way == down && k > 0 {
			out[i] = max(out[i], out[order[k-1]])
		}
	}
	for k := m - 2; k >= 0 && way == upward; k-- {
		out[order[k]] = min(out[order[k]], out[order[k+1]])
	}
	return out, nil
}

// check wants at least one p-value and every one in [0, 1].
func check(p []float64) error {
	if len(p) == 0 {
		return &dataerr.Cell{Column: "p", Err: dataerr.ErrTooFew, Want: "give at least one p-value"}
	}
	var bad []error
	for i, v := range p {
		if v >= 0 && v <= 1 {
			continue
		}
		err := dataerr.ErrRange
		if math.IsNaN(v) {
			err = dataerr.ErrNumber
		}
		bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "p", Value: strconv.FormatFloat(v, 'g', -1, 64), Err: err,
			Want: "a p-value lies between 0 and 1; leave out comparisons that have none"})
	}
	return errors.Join(bad...)
}
