package answer

import (
	"errors"
	"math"

	"lastsip/analysis/endpoint"
)

// WindowRecovered is a prime window by its methods, without words.
type WindowRecovered struct {
	Main, Own, Drawn          Window
	Stepped                   Window // of a joined curve: limits and "at least until" moved outwards to the next age step
	Polynomial                Window // of one mean per step: a polynomial through the means instead of lines
	HasOwn, HasDrawn, IsSteps bool
	Singular                  bool
	Converged                 bool
}

// RecoverWindow is the core of NewPrimeWindow; draws 0 leaves out the bootstrap.
func RecoverWindow(in Input, d endpoint.Drink, draws int) (out WindowRecovered, err error) {
	s, why := in.scoreRowsOf(d, nil)
	if why != "" {
		return out, errors.New(why)
	}
	m, err := newWindowMaker(in, d, s)
	if err != nil {
		return out, err
	}
	out.Singular, out.Converged = len(m.curve.fit.Singular()) > 0, m.curve.fit.Converged()
	if out.Main, err = m.band.find(m.limit); err != nil {
		return out, err
	}
	if out.IsSteps = m.curve.shape == shapeJoined; out.IsSteps {
		out.Stepped = stepped(out.Main, s.steps)
		if out.Polynomial, err = m.polynomial(); err != nil {
			return out, err
		}
	}
	if own, _, ok := m.ownCurves(); ok {
		out.HasOwn = true
		if out.Own, err = own.find(m.limit); err != nil {
			return out, err
		}
	}
	if draws > 0 {
		out.HasDrawn = true
		out.Drawn, _, err = m.bootstrap(draws)
	}
	return out, err
}

// polynomial is the window of the same model with the means joined by the one polynomial through them (Lagrange).
func (m *windowMaker) polynomial() (Window, error) {
	c, steps := *m.curve, m.data.steps
	order := make([]int, len(steps))
	for i := range order {
		order[i] = i
	}
	at, err := c.design(steps, order)
	if err != nil {
		return Window{}, err
	}
	c.rows = make([][]float64, len(c.ages))
	for i, age := range c.ages {
		c.rows[i] = make([]float64, len(at[0]))
		for k, own := range steps {
			w := 1.0
			for _, other := range steps {
				if other != own {
					w *= (age - other) / (own - other)
				}
			}
			for j, x := range at[k] {
				c.rows[i][j] += w * x
			}
		}
	}
	b, err := bandOf(&c)
	if err != nil {
		return Window{}, err
	}
	return b.find(m.limit)
}

// stepped widens limits that were read off between two age steps to these steps: what a curve does between them was not tasted.
func stepped(w Window, steps []float64) Window {
	down := func(x Num) Num {
		if !x.Finite() {
			return x
		}
		at := 0.0
		for _, a := range steps {
			if a <= x.Float() {
				at = a
			}
		}
		return Of(at)
	}
	up := func(x Num) Num {
		if !x.Finite() {
			return x
		}
		for _, a := range steps {
			if a >= x.Float() {
				return Of(a)
			}
		}
		return Of(math.Inf(1))
	}
	w.FromLower, w.FromUpper, w.ToLower, w.ToUpper, w.AtLeastUntil = down(w.FromLower), up(w.FromUpper), down(w.ToLower), up(w.ToUpper), down(w.AtLeastUntil)
	return w
}
