package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed"
)

// oddTable has few rows, columns of all sizes, constant ones, copies, and labels with many or few levels.
func oddTable(t *testing.T, rng *rand.Rand) *mixed.Table {
	n := 2 + rng.IntN(20)
	size := func() float64 { return math.Pow(10, float64(rng.IntN(25)-12)) }
	column := func() []float64 {
		scale, out, kinds := size(), make([]float64, n), 1+rng.IntN(6)
		for i := range out {
			switch kinds {
			case 1:
				out[i] = scale
			case 2:
				out[i] = scale * rng.NormFloat64()
			default:
				out[i] = scale * float64(rng.IntN(kinds))
			}
		}
		return out
	}
	label := func() []string {
		levels, out := 1+rng.IntN(6), make([]string, n)
		for i := range out {
			out[i] = fmt.Sprint("l", rng.IntN(levels))
		}
		return out
	}
	a := column()
	b := column()
	if rng.IntN(4) == 0 {
		b = slices.Clone(a)
	}
	return table(t, mixed.Numbers("y", column()), mixed.Numbers("a", a), mixed.Numbers("b", b), mixed.Labels("f", label()), mixed.Labels("g", label()), mixed.Labels("h", label()))
}

func oddTerm(rng *rand.Rand, depth int) mixed.Term {
	name, group := []string{"a", "b"}[rng.IntN(2)], []string{"f", "g", "h", "a"}[rng.IntN(4)]
	switch k := rng.IntN(6); {
	case k == 0:
		return mixed.Polynomial{Name: name, Degree: 1 + rng.IntN(3), Raw: rng.IntN(2) == 0}
	case k == 1:
		return mixed.Spline{Name: name}
	case k == 2 && depth > 0:
		return by(oddTerm(rng, depth-1), oddTerm(rng, depth-1))
	case k < 4:
		return mixed.Factor{Name: group, Contrast: mixed.Coding(rng.IntN(4))}
	}
	return num(name)
}

// Whatever comes in, out comes a located error or finite numbers; what did not converge says why.
func TestAnything(t *testing.T) {
	rng, fitted, refused, short := rand.New(rand.NewPCG(20320105, 1)), 0, 0, 0
	for range 3000 {
		data := oddTable(t, rng)
		spec := mixed.Spec{Response: "y", ML: rng.IntN(2) == 0, NoIntercept: rng.IntN(5) == 0}
		for range rng.IntN(3) {
			spec.Fixed = append(spec.Fixed, oddTerm(rng, 1))
		}
		for range rng.IntN(3) {
			r := mixed.Random{Group: []string{[]string{"f", "g", "h"}[rng.IntN(3)]}, NoIntercept: rng.IntN(5) == 0, Independent: rng.IntN(3) == 0}
			if rng.IntN(4) == 0 {
				r.Group = append(r.Group, []string{"f", "g", "h", "b"}[rng.IntN(4)])
			}
			if rng.IntN(3) == 0 {
				r.Slopes = terms(oddTerm(rng, 0))
			}
			spec.Random = append(spec.Random, r)
		}
		f, err := spec.Fit(data)
		if err != nil {
			require.NotEmpty(t, dataerr.All(err), "%+v: %v", spec, err)
			refused++
			continue
		}
		fitted++
		require.Equal(t, f.Converged(), f.Why() == "")
		if !f.Converged() {
			short++
		}
		numbers := slices.Concat(f.Beta(), f.Theta(), f.Fitted(), f.Residuals(), []float64{f.Deviance(), f.Sigma(), f.AIC(), f.BIC()}, f.Covariance().RawSymmetric().Data)
		for _, c := range f.Components() {
			numbers = append(numbers, c.Covariance)
		}
		for _, group := range spec.Random {
			effects, err := f.Effects(nameOf(group))
			require.NoError(t, err)
			for _, b := range effects {
				numbers = append(numbers, b.Value, b.SE)
			}
		}
		for _, who := range []mixed.Who{mixed.Average, mixed.Named} {
			predictions, err := f.Predict(data, who)
			require.NoError(t, err, "%+v", spec)
			for _, p := range predictions {
				numbers = append(numbers, p.Value, p.SE)
			}
		}
		for _, v := range numbers {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v: %v", spec, numbers)
		}
	}
	t.Logf("%d fitted, %d of them not converged, %d refused", fitted, short, refused)
	require.Greater(t, fitted, 500)
	require.Greater(t, refused, 500)
	require.Less(t, short, fitted/50)
}

func nameOf(r mixed.Random) string {
	out := r.Group[0]
	for _, g := range r.Group[1:] {
		out += ":" + g
	}
	return out
}
