package survival

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/internal/reply"
)

// How far out, in ranges of log age, an end of a limit is looked for before it is called open; and the same for shares, in
// standard deviations.
const (
	replyFar    = 30.0
	replyShares = 8.3
)

// plateauCut is the drop of twice the log-likelihood that still counts as none.
const plateauCut = 1e-6

// checkRow wants n finite covariates.
func checkRow(x []float64, n int) error {
	if len(x) != n {
		return &dataerr.Cell{Column: "x", Value: strconv.Itoa(len(x)) + " covariates", Err: dataerr.ErrConflict,
			Want: "the fit has " + strconv.Itoa(n)}
	}
	for j, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return &dataerr.Cell{Column: "x[" + strconv.Itoa(j) + "]", Value: number(v), Err: sentinel(v), Want: "a covariate is a finite number"}
		}
	}
	return nil
}

// Quantile is the age in minutes by which a share p of own limits at covariates x has been passed: exp(x'b + z_p sigma k),
// k = sqrt(n/(n-1)) with n subjects (1 for n = 1), since sigma estimated from few is too small. The limits are profile limits
// at the small-panel cut with the same k. For p = 0.5 it is the median exp(x'b).
func (f *ReplyFit) Quantile(x []float64, p float64) (ReplyEstimate, error) {
	row, err := f.row(x)
	if err != nil {
		return ReplyEstimate{}, err
	}
	if err := checkFraction("p", p, "give a fraction such as 0.5"); err != nil {
		return ReplyEstimate{}, err[0]
	}
	z := 0.0
	if p != 0.5 {
		z = distuv.UnitNormal.Quantile(p)
	}
	line := f.problem.Quantile(row, z, f.k)
	at := line.Psi(f.top.V)
	youngest, oldest, unit := f.problem.Range()
	bounds := [2]float64{youngest - replyFar*unit, oldest + replyFar*unit}
	step := math.Sqrt((1 + z*z/2) / float64(f.Subjects))
	e := f.ends(line, at, f.infinite(row, z), step, bounds)
	if f.Kind == ReplyDivided {
		e.from, e.to = f.divided(row, z)
	}
	out := ReplyEstimate{math.Exp(e.from), math.Exp(e.to), math.Exp(e.lower), math.Exp(e.upper), f.model.Level}
	if f.Kind == ReplyPlateau {
		out.From, out.To = f.snap(out.From), f.snap(out.To)
	}
	return out, nil
}

// Estimate is Quantile without its limits, which cost most of it: Lower is 0, Upper +Inf and Level 0. On a plateau it is Quantile.
func (f *ReplyFit) Estimate(x []float64, p float64) (ReplyEstimate, error) {
	row, err := f.row(x)
	if err != nil {
		return ReplyEstimate{}, err
	}
	if err := checkFraction("p", p, "give a fraction such as 0.5"); err != nil {
		return ReplyEstimate{}, err[0]
	}
	if f.Kind != ReplyInterior {
		return f.Quantile(x, p)
	}
	z := 0.0
	if p != 0.5 {
		z = distuv.UnitNormal.Quantile(p)
	}
	at := math.Exp(f.problem.Quantile(row, z, f.k).Psi(f.top.V))
	return ReplyEstimate{From: at, To: at, Upper: math.Inf(1)}, nil
}

// span is an estimate with its limits on the scale of the profile.
type span struct{ from, to, lower, upper float64 }

// ends profiles line about at, the estimate; infinite tells at which end the estimate lies when it is not finite.
func (f *ReplyFit) ends(line *reply.Line, at float64, infinite int, step float64, bounds [2]float64) span {
	cut := f.cut()
	sigma, tau := f.problem.Scales(f.top.V)
	_, _, unit := f.problem.Range()
	step *= math.Sqrt(min(cut, 20)) * max(math.Hypot(sigma, tau), unit/20)
	out := span{from: at, to: at}
	at = min(max(at, bounds[0]), bounds[1])
	end := func(cut float64, way int) float64 {
		return line.End(at, f.top.V, f.top.Value, cut, min(step, unit), bounds[(1+way)/2], float64(way))
	}
	switch {
	case infinite > 0:
		out.from, out.to, out.upper = math.Inf(1), math.Inf(1), math.Inf(1)
		out.lower = end(cut, -1)
		return out
	case infinite < 0:
		out.from, out.to, out.lower = math.Inf(-1), math.Inf(-1), math.Inf(-1)
		out.upper = end(cut, 1)
		return out
	}
	done := make(chan float64, 1)
	go func() { done <- end(cut, 1) }()
	out.lower = end(cut, -1)
	out.upper = <-done
	if f.Kind == ReplyPlateau {
		line = line.Pinned(f.top.V)
		out.from, out.to = end(plateauCut, -1), end(plateauCut, 1)
	}
	return out
}

// snap moves an end of a plateau to the age it stands for: the smallest spread tried blurs it by a hundredth of the distance of
// two ages at most.
func (f *ReplyFit) snap(age float64) float64 {
	for _, a := range f.problem.Ages() {
		if math.Abs(math.Log(age)-a) < f.problem.Blur() {
			return math.Exp(a)
		}
	}
	return age
}

// Share is the share of own limits at covariates x that lie past an age in minutes (finite, >= 0): 1 - Phi((log age - x'b)/(k sigma)),
// k as in Quantile, profiled as such. Fractions; the estimate is 1 at age 0.
func (f *ReplyFit) Share(x []float64, age float64) (ReplyEstimate, error) {
	row, err := f.row(x)
	if err != nil {
		return ReplyEstimate{}, err
	}
	if err := nonNegative(age); err != nil {
		return ReplyEstimate{}, &dataerr.Cell{Column: "age", Value: number(age), Err: err, Want: "give an age in minutes, finite and not negative"}
	}
	if age == 0 {
		return ReplyEstimate{1, 1, 1, 1, f.model.Level}, nil
	}
	line := f.problem.Share(row, math.Log(age), f.k)
	e := f.shareEnds(line, row, math.Log(age))
	past := func(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }
	return ReplyEstimate{past(e.to), past(e.from), past(e.upper), past(e.lower), f.model.Level}, nil
}

// shareEnds is ends for a share, on the scale of standard deviations.
func (f *ReplyFit) shareEnds(line *reply.Line, row []float64, at float64) span {
	bounds := [2]float64{-replyShares, replyShares}
	psi := line.Psi(f.top.V)
	out := span{from: psi, to: psi}
	switch f.infinite(row, 0) {
	case 1:
		out.from, out.to = math.Inf(-1), math.Inf(-1)
	case -1:
		out.from, out.to = math.Inf(1), math.Inf(1)
	}
	if f.Kind == ReplyPlateau {
		if q, err := f.Quantile(row[1:], 0.5); err == nil {
			out.from, out.to = math.Inf(-1), math.Inf(1)
			const tie = 1e-9 // a limit lies past its From, and not past its To
			if at <= math.Log(q.From)+tie {
				out.to = out.from
			} else if at >= math.Log(q.To)-tie {
				out.from = out.to
			}
		}
	}
	if youngest, oldest, _ := f.problem.Range(); f.Kind == ReplyDivided && youngest == oldest {
		psi := f.problem.Share(row, youngest, f.k).Psi(f.top.V)
		switch {
		case at > youngest:
			out.from, out.to = psi, math.Inf(1)
		case at < youngest:
			out.from, out.to = math.Inf(-1), psi
		}
	}
	start := min(max(psi, bounds[0]), bounds[1])
	v := line.Reach(f.top.V, start)
	step := math.Sqrt(min(f.cut(), 20) * (1 + start*start/2) / float64(f.Subjects))
	end := func(way int) float64 {
		return line.End(start, v, f.top.Value, f.cut(), step, bounds[(1+way)/2], float64(way))
	}
	done := make(chan float64, 1)
	go func() { done <- end(1) }()
	out.lower = end(-1)
	out.upper = <-done
	return out
}

// OfReplies is the share of replies that accept at an age in minutes, at covariates x: 1 - [s + (1-2s) Phi((log age - x'b)/
// sqrt(k^2 sigma^2 + tau^2))]. NaN where x has the wrong length or age is not a number >= 0.
func (f *ReplyFit) OfReplies(x []float64, age float64) float64 {
	row, err := f.row(x)
	if err != nil || !(age >= 0) {
		return math.NaN()
	}
	s := f.model.Slips
	if age == 0 {
		return 1 - s
	}
	switch f.infinite(row, 0) {
	case 1:
		return 1 - s
	case -1:
		return s
	}
	sigma, tau := f.problem.Scales(f.top.V)
	mu := 0.0
	for j, v := range row {
		mu += v * f.top.V[j]
	}
	z := (math.Log(age) - mu) / math.Hypot(f.k*sigma, tau)
	return 1 - (s + (1-2*s)*math.Erfc(-z/math.Sqrt2)/2)
}

// Ratio is the time ratio exp(Coef[i]) per unit of covariate i (1 to the number of covariates), with profile limits at the
// small-panel cut and the likelihood ratio against a ratio of 1.
func (f *ReplyFit) Ratio(i int) (ReplyRatio, error) {
	if i < 1 || i >= f.problem.P {
		return ReplyRatio{}, &dataerr.Cell{Column: "i", Value: strconv.Itoa(i), Err: dataerr.ErrRange,
			Want: "covariates are counted from 1 to " + strconv.Itoa(f.problem.P-1)}
	}
	line := f.problem.Coefficient(i)
	at := f.top.V[i]
	_, _, unit := f.problem.Range()
	bounds := [2]float64{at - 2*replyFar*unit, at + 2*replyFar*unit}
	e := f.ends(line, at, f.infiniteCoef(i), 2/math.Sqrt(float64(f.Subjects)), bounds)
	out := ReplyRatio{ReplyEstimate: ReplyEstimate{math.Exp(e.from), math.Exp(e.to), math.Exp(e.lower), math.Exp(e.upper), f.model.Level}}
	out.LR = 2 * max(0, f.top.Value-max(line.Value(0, f.top.V), f.alike(i)))
	out.P = likelihood.SmallPanelP(out.LR, f.Subjects, f.df)
	return out, nil
}

// alike is the maximum of the model without covariate i; where replies are few it is looked for from scratch, as at ratio 1 other
// spreads may be likeliest than near the estimate.
func (f *ReplyFit) alike(i int) float64 {
	subjects := make([]reply.Subject, len(f.subjects))
	for k, s := range f.subjects {
		subjects[k] = reply.Subject{Weight: s.Weight, Units: slices.Clone(s.Units)}
		for j, u := range s.Units {
			subjects[k].Units[j].Row = slices.Delete(slices.Clone(u.Row), i, i+1)
		}
	}
	p := reply.New(reply.Law{Floor: f.model.Slips, Ceiling: 1 - f.model.Slips}, subjects)
	p.Sharp = f.model.Sharp
	far, _ := p.Far()
	return max(far, p.MaximiseFrom(slices.Delete(slices.Clone(f.top.V), i, i+1), f.model.MaxIter).Value)
}
