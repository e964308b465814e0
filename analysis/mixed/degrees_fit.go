package mixed

import (
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// Degrees prepares tests of fixed effects: covariance and degrees of freedom by the method asked for. Kenward and Roger's
// need a REML fit. A fit that did not converge is used as it stands, and said so in Notes.
func (f *Fit) Degrees(df DF) (*Degrees, error) {
	method, why, err := f.method(df)
	if err != nil {
		return nil, err
	}
	o := f.seen(method)
	var d *Degrees
	switch method {
	case KenwardRoger, KenwardRogerDropped:
		d = o.kenwardRoger(method == KenwardRogerDropped)
	case Satterthwaite:
		d = o.satterthwaite()
	default:
		d = o.degrees(Normal, nil)
	}
	if why != "" {
		d.notes = append([]string{why}, d.notes...)
	}
	if !f.converged {
		d.notes = append([]string{"not converged: " + f.why}, d.notes...)
	}
	return d, nil
}

// method resolves Default and refuses what cannot be done.
func (f *Fit) method(df DF) (method DF, why string, err error) {
	effects, wrong := f.problem.Effects(), ""
	switch {
	case !f.REML():
		wrong = "Kenward and Roger's method is for REML; fit with ML false"
	case effects > mostDense:
		wrong = "Kenward and Roger's method is for at most " + strconv.Itoa(mostDense) + " random effects, here are " + strconv.Itoa(effects)
	case f.Rows() > mostRows && df == Default:
		wrong = "Kenward and Roger's method is the default up to " + strconv.Itoa(mostRows) + " rows, here are " + strconv.Itoa(f.Rows())
	}
	switch df {
	case Default:
		if wrong != "" {
			return Satterthwaite, "Satterthwaite: " + wrong, nil
		}
		return KenwardRoger, "", nil
	case KenwardRoger, KenwardRogerDropped:
		if wrong != "" {
			return 0, "", &dataerr.Cell{Column: "DF", Value: df.String(), Err: dataerr.ErrRange, Want: wrong + "; or ask for Satterthwaite"}
		}
		return df, "", nil
	case Satterthwaite, Normal:
		return df, "", nil
	}
	return 0, "", &dataerr.Cell{Column: "DF", Value: df.String(), Err: dataerr.ErrUnknown, Want: "give Default, KenwardRoger, KenwardRogerDropped, Satterthwaite or Normal"}
}

// seen gathers what the degrees of freedom need, without what the method has no use for, from a work space of its own: other
// goroutines may use the fit.
func (f *Fit) seen(method DF) *optimum {
	space := f.problem.Space()
	space.Deviance(f.optimum.Theta, f.REML())
	o := &optimum{n: f.Rows(), p: len(f.beta), reml: f.REML(), sigma: f.sigma, beta: f.beta, unscaled: space.Unscaled(), singular: f.Singular()}
	for k, g := range f.groups {
		b := block{group: g.name, columns: g.names, levels: len(g.levels), at: f.problem.Offset(k), independent: g.independent, lambda: f.lambda(g)}
		for j := range g.names {
			size := g.size(j)
			b.scale = append(b.scale, size*size)
		}
		o.blocks = append(o.blocks, b)
	}
	k := f.problem.Effects()
	if k == 0 || method == Normal {
		return o
	}
	o.zx, o.zr = mat.NewDense(k, o.p, space.ZtHX()), space.ZtHr()
	if k <= mostDense {
		o.zz = space.ZtHZ()
		return o
	}
	o.gradient = func(theta, g []float64) { space.Gradient(theta, f.REML(), g) }
	return o
}

// Coefficient is a fixed effect with its test of being 0.
type Coefficient struct {
	Name string
	Inference
}

// Infer is Degrees.Infer for one combination at level 0.95. For several, make the Degrees once.
func (f *Fit) Infer(l []float64, df DF) (Inference, error) {
	d, err := f.Degrees(df)
	if err != nil {
		return Inference{}, err
	}
	return d.Infer(l, 0.95)
}

// Coef is the table of fixed effects with limits at level 0.95, in the order of Coefficients.
func (f *Fit) Coef(df DF) ([]Coefficient, error) {
	d, err := f.Degrees(df)
	if err != nil {
		return nil, err
	}
	out := make([]Coefficient, len(f.beta))
	l := make([]float64, len(f.beta))
	for j, name := range f.Coefficients() {
		clear(l)
		l[j] = 1
		one, err := d.Infer(l, 0.95)
		if err != nil {
			return nil, err
		}
		out[j] = Coefficient{name, one}
	}
	return out, nil
}
