package likelihood

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ChiSquareCut is the large-sample cut of a profile in one parameter: the quantile of chi-square on one degree of freedom
// at level, a fraction strictly between 0 and 1.
func ChiSquareCut(level float64) float64 {
	return distuv.ChiSquared{K: 1}.Quantile(level)
}

// SmallPanelCut is the cut n log(1 + t^2/df) of a location informed by n subjects on df degrees of freedom (n-1 for one
// mean), t the two-sided point of Student's law at level. +Inf where df < 1: no limit can be told.
func SmallPanelCut(n, df int, level float64) float64 {
	if df < 1 {
		return math.Inf(1)
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Quantile(1 - (1-level)/2)
	return float64(n) * math.Log1p(t*t/float64(df))
}

// SmallPanelP is the two-sided p-value whose cut the likelihood ratio 2 (max - profile) reaches: Student's t on df degrees
// of freedom with t^2 = df (exp(ratio/n) - 1). NaN where df < 1.
func SmallPanelP(ratio float64, n, df int) float64 {
	if df < 1 {
		return math.NaN()
	}
	t := math.Sqrt(float64(df) * math.Expm1(max(ratio, 0)/float64(n)))
	return 2 * distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Survival(t)
}

// MeanLimits gives the mean of x (two values or more) and how far Student's two-sided limits at level lie from it.
func MeanLimits(x []float64, level float64) (mean, half float64) {
	n := float64(len(x))
	for _, v := range x {
		mean += v / n
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	t := distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile(1 - (1-level)/2)
	return mean, t * math.Sqrt(ss/(n-1)/n)
}
