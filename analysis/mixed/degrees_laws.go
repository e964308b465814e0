package mixed

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// studentP is the two-sided p-value of Student's t, of the normal law at df = +Inf; exact in the far tail too.
func studentP(t, df float64) float64 {
	if math.IsInf(df, 1) {
		return math.Erfc(math.Abs(t) / math.Sqrt2)
	}
	return fisherP(t*t, 1, df)
}

// studentQuantile is the two-sided point of Student's t at level.
func studentQuantile(level, df float64) float64 {
	if math.IsInf(df, 1) {
		return distuv.UnitNormal.Quantile(1 - (1-level)/2)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(1 - (1-level)/2)
}

// fisherP is the upper tail of F on num and den degrees of freedom, of chi-square over num at den = +Inf.
func fisherP(f, num, den float64) float64 {
	switch {
	case f <= 0:
		return 1
	case math.IsInf(f, 1):
		return 0
	case math.IsInf(den, 1):
		return chiSquareP(f*num, num)
	}
	return mathext.RegIncBeta(den/2, num/2, den/(den+num*f))
}

// chiSquareP is the upper tail of chi-square on df degrees of freedom; on 0 it is all at 0.
func chiSquareP(x, df float64) float64 {
	switch {
	case x <= 0:
		return 1
	case df == 0:
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}
