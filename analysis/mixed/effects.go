package mixed

import (
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// Effect is the conditional mode of a random effect: the expected deviation of a level given the data and the estimated
// variances (best linear unbiased prediction), shrunk towards 0.
type Effect struct {
	Level  string
	Column string // "intercept", "age"
	Value  float64
	SE     float64 // conditional standard deviation, given the fixed coefficients too, as ranef(condVar = TRUE) of lme4 gives it
}

// Effects lists the conditional modes of a grouping, level after level, column after column, terms of the same grouping one
// after the other. Predict gives standard errors that count the uncertainty of the fixed coefficients too. An unknown
// grouping is an error.
func (f *Fit) Effects(group string) ([]Effect, error) {
	var out []Effect
	var known []string
	for k, g := range f.groups {
		known = append(known, g.name)
		if g.name != group {
			continue
		}
		q := len(g.names)
		for level, name := range g.levels {
			for j, column := range g.names {
				v := f.modeCov[k][(level*q+j)*q+j]
				out = append(out, Effect{name, column, f.modes[k][level*q+j], f.sigma * math.Sqrt(math.Max(v, 0))})
			}
		}
	}
	if out == nil {
		return nil, &dataerr.Cell{Column: group, Err: dataerr.ErrUnknown, Want: "the groupings of the fit are " + list(known)}
	}
	return out, nil
}

// FittedMarginal gives X beta at the rows of the fit: what an average level would give.
func (f *Fit) FittedMarginal() []float64 {
	out := make([]float64, f.Rows())
	for j, c := range f.x {
		for i, v := range c {
			out[i] += v * f.beta[j]
		}
	}
	return out
}

// Fitted gives X beta + Z b at the rows of the fit.
func (f *Fit) Fitted() []float64 {
	out := f.FittedMarginal()
	for k, g := range f.groups {
		q := len(g.names)
		for i, level := range g.code {
			for j, z := range g.z {
				b := f.modes[k][level*q+j]
				if z != nil {
					b *= z[i]
				}
				out[i] += b
			}
		}
	}
	return out
}

// Residuals gives response less Fitted.
func (f *Fit) Residuals() []float64 { return f.less(f.Fitted()) }

// ResidualsMarginal gives response less FittedMarginal.
func (f *Fit) ResidualsMarginal() []float64 { return f.less(f.FittedMarginal()) }

func (f *Fit) less(fitted []float64) []float64 {
	out := slices.Clone(f.y)
	for i, v := range fitted {
		out[i] -= v
	}
	return out
}
