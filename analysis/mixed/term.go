package mixed

import (
	"errors"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Term is a part of the fixed or random side of a model: Numeric, Factor, Polynomial, Spline, or an Interaction of them. It
// makes columns of the model matrix. What it learns from the data of a fit (levels, knots, centring) holds for prediction
// too.
type Term interface {
	String() string // as in the names of its columns
	learn(t *Table) (basis, error)
}

// basis makes the columns of a term that has seen the data.
type basis interface {
	names() []string
	values(t *Table) ([][]float64, error) // one column for each name
}

// learn guards against a nil term.
func learn(term Term, t *Table) (basis, error) {
	if term == nil {
		return nil, &dataerr.Cell{Column: "Spec", Err: dataerr.ErrMissing, Want: "a term is nil; give a Numeric, Factor, Polynomial, Spline or Interaction"}
	}
	return term.learn(t)
}

// Numeric is a column of numbers as it stands; its coefficient is a slope. Column name: "age".
type Numeric struct{ Name string }

func (n Numeric) String() string { return n.Name }

func (n Numeric) learn(t *Table) (basis, error) {
	_, err := t.numeric(n.Name)
	return n, err
}

func (n Numeric) names() []string { return []string{n.Name} }

func (n Numeric) values(t *Table) ([][]float64, error) {
	v, err := t.numeric(n.Name)
	return [][]float64{v}, err
}

// Polynomial is a polynomial in a column of numbers, without the constant. By default its columns are orthogonal to each
// other and to the constant over the rows of the fit, of length 1, with rising last powers, "poly(age)1", "poly(age)2"
// (three-term recurrence [8]); Raw: plain powers, "age", "age^2".
type Polynomial struct {
	Name   string
	Degree int // at least 1, below the number of distinct values
	Raw    bool
}

func (p Polynomial) String() string { return "poly(" + p.Name + ")" }

// polynomial holds the recurrence of orthogonal columns: P_0 = 1, P_k = (x - a_k) P_(k-1) - n_(k-1)/n_(k-2) P_(k-2).
type polynomial struct {
	Polynomial
	a, n []float64 // centre of step k; sum of squares of P_k, k from 0
}

func (p Polynomial) learn(t *Table) (basis, error) {
	x, err := t.numeric(p.Name)
	if err != nil {
		return nil, err
	}
	if p.Degree < 1 {
		return nil, &dataerr.Cell{Column: p.Name, Value: strconv.Itoa(p.Degree), Err: dataerr.ErrRange, Want: "give a degree of at least 1"}
	}
	if k := len(distinct(x)); k <= p.Degree {
		return nil, &dataerr.Cell{Column: p.Name, Value: strconv.Itoa(k) + " distinct values", Err: dataerr.ErrTooFew,
			Want: "a polynomial of degree " + strconv.Itoa(p.Degree) + " needs at least " + strconv.Itoa(p.Degree+1)}
	}
	learnt := polynomial{Polynomial: p}
	if p.Raw {
		return learnt, nil
	}
	before, now := make([]float64, len(x)), slices.Repeat([]float64{1}, len(x))
	learnt.n = []float64{float64(len(x))}
	for k := 1; k <= p.Degree; k++ {
		a := 0.0
		for i, v := range x {
			a += v * now[i] * now[i]
		}
		learnt.a = append(learnt.a, a/learnt.n[k-1])
		before, now = now, learnt.step(k, x, now, before)
		learnt.n = append(learnt.n, inner(now, now))
	}
	if last := learnt.n[p.Degree]; !(last > 0) || math.IsInf(last, 0) {
		return nil, &dataerr.Cell{Column: p.Name, Value: number(x[0]), Err: dataerr.ErrRange, Want: "its powers leave the range of numbers; use another unit"}
	}
	return learnt, nil
}

func (p polynomial) step(k int, x, now, before []float64) []float64 {
	out, r := make([]float64, len(x)), 0.0
	if k > 1 {
		r = p.n[k-1] / p.n[k-2]
	}
	for i, v := range x {
		out[i] = (v-p.a[k-1])*now[i] - r*before[i]
	}
	return out
}

func (p polynomial) names() []string {
	out := make([]string, p.Degree)
	for k := range out {
		switch {
		case !p.Raw:
			out[k] = p.String() + strconv.Itoa(k+1)
		case k == 0:
			out[k] = p.Name
		default:
			out[k] = p.Name + "^" + strconv.Itoa(k+1)
		}
	}
	return out
}

func (p polynomial) values(t *Table) ([][]float64, error) {
	x, err := t.numeric(p.Name)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, 0, p.Degree)
	before, now := make([]float64, len(x)), slices.Repeat([]float64{1}, len(x))
	for k := 1; k <= p.Degree; k++ {
		if p.Raw {
			now = product(now, x)
			out = append(out, now)
			continue
		}
		before, now = now, p.step(k, x, now, before)
		column, scale := slices.Clone(now), 1/math.Sqrt(p.n[k])
		for i := range column {
			column[i] *= scale
		}
		out = append(out, column)
	}
	return out, nil
}

// Interaction multiplies the columns of two or more terms, the first varying fastest: "style[stirred]:age". It adds no
// main effects and changes no coding; give those as terms of their own.
type Interaction struct{ Of []Term }

func (p Interaction) String() string {
	out := ""
	for i, term := range p.Of {
		if i > 0 {
			out += ":"
		}
		if term != nil {
			out += term.String()
		}
	}
	return out
}

type interaction []basis

func (p Interaction) learn(t *Table) (basis, error) {
	if len(p.Of) < 2 {
		return nil, &dataerr.Cell{Column: "Interaction", Value: p.String(), Err: dataerr.ErrTooFew, Want: "give at least two terms"}
	}
	var out interaction
	var bad []error
	for _, term := range p.Of {
		b, err := learn(term, t)
		out, bad = append(out, b), append(bad, err)
	}
	return out, errors.Join(bad...)
}

func (p interaction) names() []string {
	out := p[0].names()
	for _, b := range p[1:] {
		var next []string
		for _, name := range b.names() {
			for _, before := range out {
				next = append(next, before+":"+name)
			}
		}
		out = next
	}
	return out
}

func (p interaction) values(t *Table) ([][]float64, error) {
	out, err := p[0].values(t)
	bad := []error{err}
	for _, b := range p[1:] {
		columns, err := b.values(t)
		bad = append(bad, err)
		var next [][]float64
		if err == nil {
			for _, c := range columns {
				for _, before := range out {
					next = append(next, product(before, c))
				}
			}
		}
		out = next
	}
	return out, errors.Join(bad...)
}

func product(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i, v := range a {
		out[i] = v * b[i]
	}
	return out
}
