package survival

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/survival/internal/law"
)

// Residuals returns one Cox-Snell residual per row [P5]: the mean of the cumulative hazard H = -log S at the row's time,
// given that the time lies in the row. Under the fitted law H(T) is a unit exponential, so that with H(L) = a, H(R) = a + w:
//
//	exact           a
//	right-censored  a + 1
//	otherwise       a + 1 - w / (exp w - 1)    (a = 0 where L = 0)
//
// Their mean is near 1; a row far above 1 lasted longer than the fit says, one near 0 shorter. Residuals of censored rows
// lie nearer the mean than those of exact times would, so their spread says little; see QuantileResiduals.
func (f *ParametricFit) Residuals() []float64 {
	out := make([]float64, len(f.design.rows))
	f.eachRow(func(i int, o law.Obs, s *law.Shape, eta float64) {
		a, b := hazards(o, s, eta)
		switch {
		case o.Kind == law.Exact:
			out[i] = a
		case math.IsInf(b, 1):
			out[i] = a + 1
		case b > a:
			out[i] = a + 1 - (b-a)/math.Expm1(b-a)
		default:
			out[i] = a
		}
	})
	return out
}

// QuantileResiduals returns one randomised quantile residual per row [P6]: the normal quantile of a number drawn evenly
// between F(L) and F(R), row i from stream i of seed. Where the family is true, and the rows many, they are standard
// normal, whatever the censoring.
func (f *ParametricFit) QuantileResiduals(seed uint64) []float64 {
	out := make([]float64, len(f.design.rows))
	f.eachRow(func(i int, o law.Obs, s *law.Shape, eta float64) {
		a, b := hazards(o, s, eta)
		u := resample.Child(seed, uint64(i)).Float64()
		over := math.Exp(-a)                                          // S(L)
		share := over + (1-u)*over*math.Expm1(-max(b-a, 0))           // between S(R) and S(L), S(R) included
		done := -math.Expm1(-a) - (1-u)*over*math.Expm1(-max(b-a, 0)) // 1 - share
		if o.Kind == law.Exact {
			share, done = over, -math.Expm1(-a)
		}
		share, done = max(share, math.SmallestNonzeroFloat64), max(done, math.SmallestNonzeroFloat64)
		if share < done {
			out[i] = -distuv.UnitNormal.Quantile(share)
		} else {
			out[i] = distuv.UnitNormal.Quantile(done)
		}
	})
	return out
}

// hazards are H(L) and H(R).
func hazards(o law.Obs, s *law.Shape, eta float64) (a, b float64) {
	b = math.Inf(1)
	var d law.Deriv
	if !math.IsInf(o.Lo, -1) {
		s.Survival(o.Lo, eta, &d)
		a = -d.L
	}
	if !math.IsInf(o.Hi, 1) {
		s.Survival(o.Hi, eta, &d)
		b = -d.L
	}
	return a, b
}

// eachRow calls do for every row, those of weight 0 too, with the law of its stratum and its location.
func (f *ParametricFit) eachRow(do func(i int, o law.Obs, s *law.Shape, eta float64)) {
	d := f.design
	shapes := make([]law.Shape, len(d.labels))
	for g := range shapes {
		shapes[g] = d.shapeOf(f.theta, g)
	}
	for i, o := range d.rows {
		do(i, o, &shapes[d.stratum[i]], inner(d.x[i*d.p:(i+1)*d.p], f.theta))
	}
}
