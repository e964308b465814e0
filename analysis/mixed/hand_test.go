package mixed_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

const byHand = "worked by hand: mean squares of the balanced analysis of variance (Searle, Casella & McCulloch 1992, Variance Components, chapter 4, from memory), equal to REML while no variance is negative"

// One-way balanced: sigma^2 = MS within, variance of batches = (MS between - MS within)/rows per batch, SE of the mean from
// MS between, conditional modes = shrinkage x (batch mean - mean).
func TestDyestuffByHand(t *testing.T) {
	f := fit(t, mixed.Spec{Response: "Yield", Random: []mixed.Random{over("Batch")}}, readTable(t, "dyestuff", "Batch"))
	yield := map[string][]float64{ // dyestuff.csv, copied
		"A": {1545, 1440, 1440, 1520, 1580}, "B": {1540, 1555, 1490, 1560, 1495}, "C": {1595, 1550, 1605, 1510, 1560},
		"D": {1445, 1440, 1595, 1465, 1545}, "E": {1595, 1630, 1515, 1635, 1625}, "F": {1520, 1455, 1450, 1480, 1445},
	}
	mean, ssWithin, means := 0.0, 0.0, map[string]float64{}
	for batch, ys := range yield {
		for _, y := range ys {
			mean += y / 30
			means[batch] += y / 5
		}
		for _, y := range ys {
			ssWithin += (y - means[batch]) * (y - means[batch])
		}
	}
	msBetween, msWithin := 0.0, ssWithin/24
	for _, m := range means {
		msBetween += 5 * (m - mean) * (m - mean) / 5
	}
	between := (msBetween - msWithin) / 5
	mathtest.CloseRel(t, "residual variance", f.Sigma()*f.Sigma(), msWithin, 0, 1e-6, byHand)
	mathtest.CloseRel(t, "batch variance", f.Components()[0].Covariance, between, 0, 1e-6, byHand)
	mathtest.CloseRel(t, "mean", f.Beta()[0], mean, 0, 1e-12, byHand)
	mathtest.CloseRel(t, "its variance", f.Covariance().At(0, 0), msBetween/30, 0, 1e-6, byHand)
	shrink := 1 - msWithin/msBetween
	effects, err := f.Effects("Batch")
	require.NoError(t, err)
	require.Len(t, effects, 6)
	for _, b := range effects {
		require.Equal(t, "intercept", b.Column)
		mathtest.CloseRel(t, "effect of "+b.Level, b.Value, shrink*(means[b.Level]-mean), 1e-9, 1e-6, byHand)
		mathtest.CloseRel(t, "its SE", b.SE, math.Sqrt(between*msWithin/(msWithin+5*between)), 0, 1e-6, byHand)
	}
	named, err := f.Predict(table(t, mixed.Labels("Batch", []string{"C"})), mixed.Named)
	require.NoError(t, err)
	mathtest.CloseRel(t, "prediction of C", named[0].Value, mean+shrink*(means["C"]-mean), 0, 1e-9, byHand)
	mathtest.CloseRel(t, "its SE", named[0].SE, math.Sqrt(blupVariance(6, 5, between, msWithin)), 0, 1e-6, byHand)
}

// blupVariance gives Var(m + k (y_1 - m) - mu - b_1) in the balanced one-way layout, m the mean of a group means y_i = mu +
// b_i + e_i, k = B/(B + S/n): the error is (k + (1-k)/a)(b_1 + e_1) - b_1 + (1-k)/a sum over the others (b_i + e_i).
func blupVariance(a, n, B, S float64) float64 {
	k := B / (B + S/n)
	own, other := k+(1-k)/a, (1-k)/a
	return (own-1)*(own-1)*B + own*own*S/n + (a-1)*other*other*(B+S/n)
}

// Two-way without replicates: contrasts of types are differences of means with variance 2 MS error / subjects.
func TestErgostoolByHand(t *testing.T) {
	effort := [9][4]float64{{12, 15, 12, 10}, {10, 14, 13, 12}, {7, 14, 13, 9}, {7, 11, 10, 9}, {8, 11, 8, 7}, {9, 11, 11, 10}, {8, 12, 12, 11}, {7, 11, 8, 7}, {9, 13, 10, 8}}
	var y []float64
	var subject, tool []string
	var mean float64
	var byType [4]float64
	var bySubject [9]float64
	for i, row := range effort {
		for j, v := range row {
			y, subject, tool = append(y, v), append(subject, string(rune('a'+i))), append(tool, "T"+string(rune('1'+j)))
			mean += v / 36
			byType[j] += v / 9
			bySubject[i] += v / 4
		}
	}
	msError, msSubject := 0.0, 0.0
	for i, row := range effort {
		for j, v := range row {
			r := v - bySubject[i] - byType[j] + mean
			msError += r * r / 24
		}
		msSubject += 4 * (bySubject[i] - mean) * (bySubject[i] - mean) / 8
	}
	data := table(t, mixed.Numbers("effort", y), mixed.Labels("subject", subject), mixed.Labels("type", tool))
	f := fit(t, mixed.Spec{Response: "effort", Fixed: terms(fac("type")), Random: []mixed.Random{over("subject")}}, data)
	require.Equal(t, []string{"intercept", "type[T2]", "type[T3]", "type[T4]"}, f.Coefficients())
	mathtest.CloseRel(t, "residual variance", f.Sigma()*f.Sigma(), msError, 0, 1e-6, byHand)
	mathtest.CloseRel(t, "subject variance", f.Components()[0].Covariance, (msSubject-msError)/4, 0, 1e-6, byHand)
	c := f.Covariance()
	for j := 1; j < 4; j++ {
		mathtest.CloseRel(t, "contrast", f.Beta()[j], byType[j]-byType[0], 1e-12, 1e-9, byHand)
		mathtest.CloseRel(t, "its variance", c.At(j, j), 2*msError/9, 0, 1e-6, byHand)
	}
	mathtest.CloseRel(t, "covariance of two contrasts", c.At(1, 2), msError/9, 0, 1e-6, byHand)
	mathtest.CloseRel(t, "variance of a mean", c.At(0, 0), (msSubject+3*msError)/36, 0, 1e-6, byHand)

	reference := fit(t, models["lmm_ergostool"].spec, readTable(t, "ergostool", "Subject", "Type"))
	require.InDelta(t, reference.Deviance(), f.Deviance(), 1e-8, "the numbers typed here are those of ergostool.csv")
}
