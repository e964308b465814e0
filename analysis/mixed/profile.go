package mixed

import (
	"math"
	"math/rand/v2"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed/internal/lmm"
)

// Limits are profile likelihood limits of one parameter: the ends of the set where the deviance, minimised over all other
// parameters, lies no more than the cut above its minimum.
type Limits struct {
	Name                 string // "age"; "residual SD"; "SD of age over taster"; "correlation of intercept and age over taster"
	Estimate             float64
	Lower, Upper         float64
	OpenLower, OpenUpper bool   // the profile does not reach the cut: the limit is the end of the parameter's range
	Why                  string // what went wrong, "" for nothing; the limits are then doubtful, or NaN
}

// Profile holds profile limits of all parameters.
type Profile struct {
	Level  float64
	Cut    float64  // the quantile of chi-square on 1 at Level
	Limits []Limits // standard deviations and correlations term after term, the residual's, the fixed effects
	Notes  []string
}

// Profile gives limits of every parameter at level (strictly between 0 and 1) from the likelihood [15]; a fit by REML is fitted
// by ML first, which Notes say. Standard deviations range from 0, correlations from -1 to 1. Parameters go to all cores.
func (f *Fit) Profile(level float64) (*Profile, error) {
	if err := checkLevel(level); err != nil {
		return nil, err
	}
	out := &Profile{Level: level, Cut: likelihood.ChiSquareCut(level)}
	if f.REML() {
		out.Notes = append(out.Notes, "limits are by maximum likelihood, to which the model was fitted again")
	}
	top, err := f.top()
	if err != nil {
		return nil, err
	}
	if !top.best.Converged {
		out.Notes = append(out.Notes, "not converged: "+top.best.Why)
	}
	tasks := top.tasks()
	out.Limits = make([]Limits, len(tasks))
	resample.Each(len(tasks), 0, 0, func(i int, _ *rand.Rand) { out.Limits[i] = tasks[i].limits(out.Cut) })
	return out, nil
}

// top is the ML fit that profiles start from.
type top struct {
	f         *Fit
	terms     []lmm.Term
	best      lmm.Optimum
	deviance  float64
	sigma     float64
	beta, err []float64   // coefficients and standard errors
	size      [][]float64 // root mean square of each column of each term
}

func (f *Fit) top() (*top, error) {
	t := &top{f: f}
	space := f.problem.Space()
	t.best = space.Fit(false, f.optimum.Theta)
	t.deviance = space.Deviance(t.best.Theta, false)
	t.sigma, t.beta = space.Sigma(false), space.Beta()
	if math.IsNaN(t.deviance) || math.IsInf(t.deviance, 0) || !(t.sigma > 0) {
		return nil, &dataerr.Cell{Column: f.spec.Response, Value: number(t.sigma), Err: ErrExact, Want: "the likelihood has no maximum, and there are no limits; look for a term that holds the response itself"}
	}
	u, p := space.Unscaled(), len(t.beta)
	for j := range p {
		t.err = append(t.err, t.sigma*math.Sqrt(u[j*p+j]))
	}
	for _, g := range f.groups {
		t.terms = append(t.terms, g.kernel())
		size := make([]float64, len(g.names))
		for j := range size {
			size[j] = g.size(j)
		}
		t.size = append(t.size, size)
	}
	return t, nil
}

// task is the profile of one parameter, on a scale u where it is nearly normal.
type task struct {
	name         string
	estimate     float64
	step         float64                                  // a standard error on the scale of u, roughly
	to, from     func(float64) float64                    // parameter to u and back
	least, most  float64                                  // range of the parameter
	start        float64                                  // u to start from where the estimate has none
	begin        func() func(psi float64) (float64, bool) // makes the profile deviance; false: the search did not end
	base         float64                                  // deviance at the top
	whyUndefined string
}

// limits finds both ends.
func (k *task) limits(cut float64) Limits {
	out := Limits{Name: k.name, Estimate: k.estimate, Lower: math.NaN(), Upper: math.NaN()}
	if k.whyUndefined != "" {
		out.Why = k.whyUndefined
		out.Lower, out.Upper, out.OpenLower, out.OpenUpper = k.least, k.most, true, true
		return out
	}
	for _, side := range []float64{-1, 1} {
		end := k.least
		if side > 0 {
			end = k.most
		}
		s := search{profile: k.begin(), task: k, cut: cut, side: side}
		v, open := s.end(end)
		if s.why != "" {
			out.Why = s.why
		}
		if side < 0 {
			out.Lower, out.OpenLower = v, open
		} else {
			out.Upper, out.OpenUpper = v, open
		}
	}
	return out
}
