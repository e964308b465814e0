package mixed

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// DF says how degrees of freedom of tests about fixed effects are found.
type DF int

const (
	Default             DF = iota // Kenward-Roger up to 5,000 rows and 2,000 random effects of a REML fit, else Satterthwaite
	KenwardRoger                  // adjusted covariance and degrees of freedom of Kenward & Roger (1997), by expected information; REML only
	Satterthwaite                 // Satterthwaite (1946), by observed information
	Normal                        // infinite
	KenwardRogerDropped           // as KenwardRoger, with covariances that stand on their boundary held there
)

// Up to these Default takes Kenward-Roger. Beyond mostDense random effects no dense matrix of them is made.
const (
	mostRows  = 5000
	mostDense = 2000
)

func (d DF) String() string {
	switch d {
	case Default:
		return "default"
	case KenwardRoger:
		return "Kenward-Roger"
	case KenwardRogerDropped:
		return "Kenward-Roger, boundary held"
	case Satterthwaite:
		return "Satterthwaite"
	case Normal:
		return "normal"
	}
	return "DF(" + strconv.Itoa(int(d)) + ")"
}

// Degrees answers questions about linear combinations of the fixed effects of one fit. What is common to all of them is
// worked out once; a combination then costs of the order of p*p for each variance parameter. It never changes and may be
// used by several goroutines.
type Degrees struct {
	method DF
	beta   []float64
	plain  []float64   // C = s^2 U, p*p
	cov    []float64   // that of the standard errors: C, or the adjusted one of Kenward and Roger
	slopes [][]float64 // dC by each variance parameter
	spread []float64   // covariance of the variance parameters, m*m
	notes  []string
}

// degrees starts a Degrees with dC by log s^2 and by dirs.
func (o *optimum) degrees(method DF, dirs []direction) *Degrees {
	s2 := o.sigma * o.sigma
	d := &Degrees{method: method, beta: slices.Clone(o.beta), plain: make([]float64, o.p*o.p)}
	for i, u := range o.unscaled {
		d.plain[i] = s2 * u
	}
	d.cov = d.plain
	d.slopes = append(d.slopes, d.plain)
	for _, dir := range dirs {
		slope := o.slope(dir)
		slope.Scale(s2, slope)
		d.slopes = append(d.slopes, slope.RawMatrix().Data)
	}
	return d
}

// Method is what was done; never Default.
func (d *Degrees) Method() DF { return d.method }

// Notes are caveats to print beside the numbers: what stands on its boundary, what the data do not tell.
func (d *Degrees) Notes() []string { return slices.Clone(d.notes) }

// Covariance is that of the standard errors, p*p: Kenward and Roger's adjusted one, else the fit's.
func (d *Degrees) Covariance() *mat.SymDense {
	return mat.NewSymDense(len(d.beta), slices.Clone(d.cov))
}

// Inference is about one linear combination of fixed effects being 0, in the response's unit.
type Inference struct {
	Estimate, SE float64
	DF           float64 // > 0; +Inf: normal
	T, P         float64 // estimate over standard error, two-sided p
	Lower, Upper float64 // two-sided limits at the level asked for
}

// Infer is about l'b, l one number for each fixed effect in the order of the fit's Coefficients, at a level strictly
// between 0 and 1. The degrees of freedom are 2 (l'Cl)^2 / var(l'Cl). A combination that is 0, whose standard error is 0,
// or l that is not p finite numbers, is an error.
func (d *Degrees) Infer(l []float64, level float64) (Inference, error) {
	if err := checkLevel(level); err != nil {
		return Inference{}, err
	}
	if err := d.check(l, 0); err != nil {
		return Inference{}, err
	}
	out := Inference{Estimate: inner(l, d.beta), DF: math.Inf(1)}
	variance := quadratic(l, d.cov)
	if !(variance > 0) {
		return Inference{}, &dataerr.Cell{Column: "contrast", Value: number(variance), Err: dataerr.ErrRange, Want: "its variance is not above 0: the combination is not one to test"}
	}
	out.SE = math.Sqrt(variance)
	if d.method != Normal {
		out.DF = d.of(l)
	}
	if !(out.DF > 0) {
		return Inference{}, &dataerr.Cell{Column: "contrast", Value: number(out.DF), Err: dataerr.ErrRange, Want: "its degrees of freedom are not above 0: the variances are not told by these data"}
	}
	out.T = out.Estimate / out.SE
	out.P = studentP(out.T, out.DF)
	half := studentQuantile(level, out.DF) * out.SE
	out.Lower, out.Upper = out.Estimate-half, out.Estimate+half
	return out, nil
}

// of is 2 v^2 / g'Wg with v = l'Cl, g its derivatives and W their covariance.
func (d *Degrees) of(l []float64) float64 {
	var room [16]float64
	g := room[:0]
	for _, s := range d.slopes {
		g = append(g, quadratic(l, s))
	}
	v := quadratic(l, d.plain)
	return 2 * v * v / quadratic(g, d.spread)
}

// quadratic is l'Ml.
func quadratic(l, m []float64) float64 {
	sum, p := 0.0, len(l)
	for i, v := range l {
		if v == 0 {
			continue
		}
		row := 0.0
		for j, w := range m[i*p:][:p] {
			row += w * l[j]
		}
		sum += v * row
	}
	return sum
}

// check wants p finite numbers, not all 0.
func (d *Degrees) check(l []float64, row int) error {
	if len(l) != len(d.beta) {
		return &dataerr.Cell{Row: row, Column: "contrast", Value: strconv.Itoa(len(l)) + " numbers", Err: dataerr.ErrConflict, Want: fmt.Sprintf("give one for each of the %d fixed effects", len(d.beta))}
	}
	some := false
	for j, v := range l {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return &dataerr.Cell{Row: row, Column: "contrast, number " + strconv.Itoa(j+1), Value: number(v), Err: dataerr.ErrNumber, Want: "give a finite number"}
		}
		some = some || v != 0
	}
	if !some {
		return &dataerr.Cell{Row: row, Column: "contrast", Value: "all 0", Err: dataerr.ErrRange, Want: "give at least one fixed effect a number other than 0"}
	}
	return nil
}

func checkLevel(level float64) error {
	if level > 0 && level < 1 {
		return nil
	}
	return &dataerr.Cell{Column: "level", Value: number(level), Err: dataerr.ErrRange, Want: "give a level strictly between 0 and 1, such as 0.95"}
}
