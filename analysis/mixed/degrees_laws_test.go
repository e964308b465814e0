package mixed

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// Units of the response, of a covariate, the coding of a factor and the order of rows change no test.
func TestDegreesLaws(t *testing.T) {
	fit := unbalanced(t)
	time, _ := fit.table.numeric("time")
	score, _ := fit.table.numeric("score")
	scaled := func(of []float64, by float64) []float64 {
		out := slices.Clone(of)
		for i := range out {
			out[i] *= by
		}
		return out
	}
	label := func(name string) Column { c, _ := fit.table.column(name); return c }
	refit := func(score, time []float64, change func(*Spec)) *Fit {
		table, err := NewTable(Numbers("score", score), Numbers("time", time), label("style"), label("taster"), label("drink"))
		require.NoError(t, err)
		s := fit.spec.clone()
		change(&s)
		out, err := s.Fit(table)
		require.NoError(t, err)
		require.True(t, out.Converged(), out.Why())
		return out
	}
	none := func(*Spec) {}
	coded := func(c Coding) func(*Spec) {
		return func(s *Spec) {
			style := Factor{Name: "style", Contrast: c}
			s.Fixed = []Term{style, num("time"), times(style, num("time"))}
		}
	}
	for _, df := range []DF{KenwardRoger, Satterthwaite} {
		want, err := fit.Tests(df)
		require.NoError(t, err)
		for name, other := range map[string]*Fit{
			"response": refit(scaled(score, 1e4), time, none), "covariate": refit(score, scaled(time, 1e6), none), "small covariate": refit(score, scaled(time, 1e-6), none),
			"sum": refit(score, time, coded(Sum)), "helmert": refit(score, time, coded(Helmert)),
		} {
			got, err := other.Tests(df)
			require.NoError(t, err)
			for i := range want {
				require.Equal(t, want[i].Num, got[i].Num)
				require.InEpsilon(t, want[i].F, got[i].F, 1e-4, "%s %s F", name, want[i].Term)
				require.InEpsilon(t, want[i].Den, got[i].Den, 1e-4, "%s %s denominator", name, want[i].Term)
			}
		}
	}
}

// Satterthwaite's denominator of several coefficients depends on how they are combined, but not that of a term's test.
func TestTermTestsDoNotDependOnCoding(t *testing.T) {
	fit := ergoWithHoles(t)
	want, err := fit.Tests(Satterthwaite)
	require.NoError(t, err)
	d, err := fit.Degrees(Satterthwaite)
	require.NoError(t, err)
	coded, err := d.Joint([][]float64{{0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}})
	require.NoError(t, err)
	require.Greater(t, math.Abs(coded.Den-want[0].Den), 1e-4*coded.Den, "treatment coding itself")
	for _, c := range []Coding{Sum, Helmert} {
		other := again(t, fit, func(s *Spec) { s.Fixed = []Term{Factor{Name: "Type", Contrast: c}} })
		got, err := other.Tests(Satterthwaite)
		require.NoError(t, err)
		require.InEpsilon(t, want[0].Den, got[0].Den, 1e-6)
		require.InEpsilon(t, want[0].F, got[0].F, 1e-6)
	}
}
