package mixed

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
)

// Slope is a slope with its standard error, in units of the response over that of the column.
type Slope struct{ Estimate, SE float64 }

// Bend is a fitted broken stick. It does not change; methods return copies.
type Bend struct {
	At       float64 // psi of the largest likelihood, in the unit of the column
	From, To float64 // range searched
	AtEdge   bool    // psi lies at From or To: the likelihood may rise beyond

	// Slopes are those of Fit: given psi, so that their errors leave out its own.
	Before, After, Change Slope

	// F is the largest over psi of Wald's F of the change of slope, on 1 and DF degrees of freedom: its square over its
	// variance at the ML variances for that psi, with residual variance r^2/DF; in least squares the usual F. As psi was
	// chosen it does not follow an F distribution [21]: Bootstrap draws its law.
	F, FAt float64 // and its psi
	DF     int     // rows less coefficients

	Deviance float64 // -2 log-likelihood (ML) at At
	Straight float64 // of the same model without bend
	Cut      float64

	fit      *Fit
	stick    *stick
	set      []Piece
	warnings []string
}

// Set gives the profile set {psi: 2 (l_max - l(psi)) <= Cut}, in rising order; it may have several pieces, and open ends
// where it reaches From or To. No law of large samples gives the cut: the profile has kinks at the steps. In
// simulated panels 4.9 covered 94 to 96 % with five tasters (93 to 94 with three), 4.7 covered 95 to 96 % with twelve; the
// usual 3.84 covered 90 to 93 % (testdata/mixed/onset.md). In least squares the cut
// n log(1 + F/(n-4)), F the point of the F distribution on 1 and n-4, makes it {psi: RSS <= RSS_min (1 + F/(n-4))}.
func (b *Bend) Set() []Piece { return slices.Clone(b.set) }

// Fit gives the model with the bend at At, fitted by Spec's own criterion; its last column is "hinge(NAME)".
func (b *Bend) Fit() *Fit { return b.fit }

// Line gives the model without bend, fitted by Spec's own criterion.
func (b *Bend) Line() *Fit { return b.stick.straight }

// Warnings gives what to print beside the numbers, those of Fit among it.
func (b *Bend) Warnings() []string { return slices.Clone(b.warnings) }

// Profile gives 2 (l_max - l(psi)) at places of a bend within From and To, NaN where the search over the variances did not end.
func (b *Bend) Profile(psi ...float64) ([]float64, error) {
	out := make([]float64, len(psi))
	for i, v := range psi {
		if !(v >= b.From && v <= b.To) {
			return nil, &dataerr.Cell{Row: i + 1, Column: b.stick.name, Value: number(v), Err: dataerr.ErrRange,
				Want: "the range searched is from " + number(b.From) + " to " + number(b.To)}
		}
		out[i] = math.NaN()
		if p := b.stick.at(v); p.ok {
			out[i] = max(0, p.deviance-b.Deviance)
		}
	}
	return out, nil
}

// bend searches and puts the answer together.
func (s *stick) bend(b BrokenStick, spec Spec, place int) (*Bend, error) {
	points := s.survey()
	lost := 0
	points = slices.DeleteFunc(points, func(p point) bool {
		if !p.ok {
			lost++
		}
		return !p.ok
	})
	if len(points) == 0 {
		return nil, &dataerr.Cell{Column: b.Name, Err: errFinite, Want: "with a bend the search over the variances ends nowhere; use fewer random terms"}
	}
	best := slices.MinFunc(points, func(a, b point) int { return cmp.Compare(a.deviance, b.deviance) })
	spec.Fixed = append(slices.Clip(spec.Fixed), Hinge{b.Name, best.psi})
	fit, err := spec.Fit(s.straight.table)
	if err != nil {
		return nil, err
	}
	out := &Bend{At: best.psi, From: s.places[0], To: s.places[len(s.places)-1], Deviance: best.deviance, Straight: s.line, Cut: b.Cut,
		DF: len(s.v) - len(fit.beta), fit: fit, stick: s, warnings: fit.Warnings()}
	out.AtEdge = out.At == out.From || out.At == out.To
	out.slopes(place)
	top := s.largestF(points)
	out.F, out.FAt = top.ratio*top.ratio, top.psi
	var sure bool
	out.set, sure = s.set(points, best.deviance, b.Cut)
	out.doubt(lost, sure)
	return out, nil
}

// slopes reads them off the fit, Name's part being number place.
func (b *Bend) slopes(place int) {
	i, j := b.fit.Parts()[place].Coefficients[0], len(b.fit.beta)-1
	c := b.fit.covariance
	b.Before = Slope{b.fit.beta[i], math.Sqrt(c.At(i, i))}
	b.Change = Slope{b.fit.beta[j], math.Sqrt(c.At(j, j))}
	b.After = Slope{b.fit.beta[i] + b.fit.beta[j], math.Sqrt(max(0, c.At(i, i)+2*c.At(i, j)+c.At(j, j)))}
}

// largestF gives the point of the largest F. In least squares that is where the deviance is least.
func (s *stick) largestF(points []point) point {
	k := 0
	for i, p := range points {
		if math.Abs(p.ratio) > math.Abs(points[k].ratio) {
			k = i
		}
	}
	if len(s.terms) == 0 {
		return points[k]
	}
	from, to := points[max(k-1, 0)].psi, points[min(k+1, len(points)-1)].psi
	if p := s.golden(from, to, func(p point) float64 { return -math.Abs(p.ratio) }); p.ok && math.Abs(p.ratio) > math.Abs(points[k].ratio) {
		return p
	}
	return points[k]
}

// doubt adds what the search itself has to say.
func (b *Bend) doubt(lost int, sure bool) {
	say := func(format string, args ...any) { b.warnings = append(b.warnings, fmt.Sprintf(format, args...)) }
	if lost > 0 {
		say("at %d of the places looked at the search over the variances did not end; they are left out", lost)
	}
	if !sure {
		say("an end of the set is doubtful: the search over the variances did not end near it")
	}
	if !b.stick.lineOK || !b.stick.straight.converged {
		say("not converged: the straight line, from which Bootstrap draws")
	}
	if b.AtEdge {
		say("the bend lies at %s, the edge of the range searched", short(b.At))
	}
}
