package survival

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/survival/internal/law"
)

// Why a likelihood has no finite maximum. Each is the cause of a *NoMaximumError, for errors.Is.
var (
	ErrNoEvent   = errors.New("no row has ended, so that the likelihood rises for ever with the lifetime")
	ErrAllOver   = errors.New("every row was over by its first look, so that the likelihood rises for ever as the lifetime shrinks")
	ErrNoSpread  = errors.New("one lifetime agrees with every row, so that the likelihood rises as the scale shrinks to 0")
	ErrNoOrder   = errors.New("later looks did not find more rows over than earlier ones, so that the likelihood rises as the scale grows without end")
	ErrSeparated = errors.New("the rows that a covariate tells apart are all right-censored or all over by the first look, so that its coefficient grows without end")
	ErrShape     = errors.New("the likelihood rises as the shape runs to its end, so that a law with fewer parameters is the limit")
)

// NoMaximumError says that the likelihood of a family has no finite maximum on these rows, and why.
type NoMaximumError struct {
	Family  Family
	Err     error // one of the sentinels above
	Column  int   // ErrSeparated: 0-based covariate of x whose coefficient moves most; else -1
	Stratum *int  // label of the stratum whose scale it is, where there are several; else nil
}

func (e *NoMaximumError) Error() string {
	where := ""
	if e.Column >= 0 {
		where = " (covariate " + covariateName(e.Column) + ")"
	}
	if e.Stratum != nil {
		where = fmt.Sprintf(" (stratum %d)", *e.Stratum)
	}
	return fmt.Sprintf("%s lifetimes cannot be fitted%s: %v", e.Family, where, e.Err)
}

// Unwrap gives the sentinel.
func (e *NoMaximumError) Unwrap() error { return e.Err }

func (d *design) noMaximum(err error, stratum int) error {
	e := &NoMaximumError{Family: d.family, Err: err, Column: -1}
	if stratum >= 0 && len(d.labels) > 1 {
		label := d.labels[stratum]
		e.Stratum = &label
	}
	return e
}

// impossible tells from the rows alone that there is no maximum, in the common cases [P3]: no row ended, none was seen
// unended, or one time lies in all rows.
func (d *design) impossible(s sample) error {
	ended, begun := false, false
	last, first := math.Inf(-1), math.Inf(1)
	for i, o := range s.rows {
		if s.weight[i] == 0 {
			continue
		}
		ended = ended || !math.IsInf(o.Hi, 1)
		begun = begun || !math.IsInf(o.Lo, -1)
		last, first = max(last, o.Lo), min(first, o.Hi)
	}
	switch {
	case !ended:
		return d.noMaximum(ErrNoEvent, -1)
	case !begun:
		return d.noMaximum(ErrAllOver, -1)
	case last <= first && d.family.law().HasScale():
		return d.noMaximum(ErrNoSpread, -1)
	}
	return nil
}

// diagnose looks at where the search ended. It returns the cause where the likelihood has no maximum, and notes in
// r.singular whether the information is singular. Where names is false (resamples) separation is not looked for by column.
func (r *solver) diagnose(names bool) error {
	if r.family.law().HasScale() {
		if g := r.collapsed(); g >= 0 {
			return r.noMaximum(ErrNoSpread, g)
		}
		for g := range r.labels {
			if s := r.shapeOf(r.theta, g); s.Scale() > 0.1*r.widest() {
				return r.noMaximum(ErrNoOrder, g)
			}
		}
	}
	copy(r.info, r.newton.Hess)
	r.unit(r.info)
	copy(r.work, r.info)
	r.singular = !(likelihood.Cholesky(r.work, r.m) > 0)
	for j := range r.m {
		r.singular = r.singular || !(r.work[j*r.m+j] > 3e-5) // squared: what one row of an ordinary fit tells, times 1e-9
	}
	if r.family.law().HasShape() {
		q := math.Abs(r.theta[r.m-1])
		if q >= farthestShape || q > farShape && (r.singular || !r.max.Converged) {
			return r.noMaximum(ErrShape, -1)
		}
	}
	if names && (r.singular || !r.max.Converged) {
		return r.separated()
	}
	return nil
}

// collapsed finds a stratum in which the lifetime that the law is centred on lies inside every row: with the scale
// shrinking to 0 their probability rises to 1, so the fit is not at a maximum [P3]. -1 for none.
func (r *solver) collapsed() int {
	for g := range r.labels {
		s := r.shapeOf(r.theta, g)
		slack := 0.0
		if s.Scale() < 1e-6*r.spread { // the search has gone there, so the edge of a row counts as inside
			slack = 30 * s.Scale()
		}
		inside := true
		for i, o := range r.rows {
			if int(r.stratum[i]) != g || r.weight[i] == 0 {
				continue
			}
			c := inner(r.x[i*r.p:(i+1)*r.p], r.theta[:r.p]) + s.Centre()
			if !(o.Lo < c+slack && c-slack < o.Hi) {
				inside = false
				break
			}
		}
		if inside {
			return g
		}
	}
	return -1
}

// unit turns a Hessian into an information without units: each parameter is measured by what one row of an ordinary fit
// tells of it, so that elements near 0 mean that nothing is known.
func (r *solver) unit(h []float64) {
	scale := r.coefScale
	clear(scale)
	for i := range r.rows {
		if w := r.weight[i]; w > 0 {
			g := int(r.stratum[i])
			inv := 1 / r.shapes[g].Scale()
			for j := range r.p {
				v := r.x[i*r.p+j] * inv
				scale[j] += w * v * v
			}
			if r.family.law().HasScale() {
				scale[r.p+g] += w
			}
			if r.family.law().HasShape() {
				scale[r.m-1] += w
			}
		}
	}
	for j := range r.m {
		for k := range r.m {
			if k <= j {
				h[j*r.m+k] /= -math.Sqrt(scale[j] * scale[k])
			}
		}
	}
}

// separated looks along the direction of least information for rows that are all better the further the coefficients go:
// rows that it raises right-censored, rows that it lowers over by the first look, all others unmoved [P3].
func (r *solver) separated() error {
	if r.p == 1 {
		return nil
	}
	sym := mat.NewSymDense(r.m, nil)
	for j := range r.m {
		for k := range j + 1 {
			sym.SetSym(j, k, r.info[j*r.m+k])
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, true) {
		return nil
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	direction := make([]float64, r.p)
	for j := range r.p {
		direction[j] = vectors.At(j, 0) / math.Sqrt(r.coefScale[j])
	}
	for _, sign := range []float64{1, -1} {
		if r.rises(direction, sign) {
			e := &NoMaximumError{Family: r.family, Err: ErrSeparated}
			most := 0.0
			for j := 1; j < r.p; j++ {
				if v := math.Abs(vectors.At(j, 0)); v > most {
					most, e.Column = v, j-1
				}
			}
			return e
		}
	}
	return nil
}

func (r *solver) rises(direction []float64, sign float64) bool {
	most := 0.0
	for i := range r.rows {
		if r.weight[i] > 0 {
			most = max(most, math.Abs(inner(r.x[i*r.p:(i+1)*r.p], direction)))
		}
	}
	for i, o := range r.rows {
		if r.weight[i] == 0 {
			continue
		}
		move := sign * inner(r.x[i*r.p:(i+1)*r.p], direction) / most
		free := o.Kind == law.Nothing || o.Kind == law.Right && move > 0 || o.Kind == law.Left && move < 0
		if !free && math.Abs(move) > 1e-4 {
			return false
		}
	}
	return true
}
