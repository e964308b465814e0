package mixed_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBendLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320304, 1))
	score, age := func(s, _ float64) float64 { return s }, func(_, a float64) float64 { return a }
	same := func(t *testing.T, what string, want, got float64) {
		t.Helper()
		require.InDelta(t, want, got, 2e-5*(1+math.Abs(want)), what)
	}
	for range 8 {
		p := decline(rng, 6, broken(5, 0.3))
		n := len(p.score)
		as := asTheyAre(n)
		b := bend(t, onset(4.9), p.table(t))
		for _, law := range []struct {
			name                string
			data                tasted
			at                  func(psi float64) float64
			before, after, unit float64 // slopes expected; likelihood's -2 log of the unit of the score
		}{
			{"rows in another order", p.with(rng.Perm(n), score, age), func(p float64) float64 { return p }, b.Before.Estimate, b.After.Estimate, 1},
			{"seconds", p.with(as, score, func(_, a float64) float64 { return 60 * a }), func(p float64) float64 { return 60 * p }, b.Before.Estimate / 60, b.After.Estimate / 60, 1},
			{"another zero", p.with(as, score, func(_, a float64) float64 { return a - 30 }), func(p float64) float64 { return p - 30 }, b.Before.Estimate, b.After.Estimate, 1},
			{"backwards", p.with(as, score, func(_, a float64) float64 { return -a }), func(p float64) float64 { return -p }, -b.After.Estimate, -b.Before.Estimate, 1},
			{"score out of 1000", p.with(as, func(s, _ float64) float64 { return 100 * s }, age), func(p float64) float64 { return p }, 100 * b.Before.Estimate, 100 * b.After.Estimate, 100},
			{"a line added", p.with(as, func(s, a float64) float64 { return s + 2 - 0.7*a }, age), func(p float64) float64 { return p }, b.Before.Estimate - 0.7, b.After.Estimate - 0.7, 1},
		} {
			t.Run(law.name, func(t *testing.T) {
				got := bend(t, onset(4.9), law.data.table(t))
				same(t, "psi", law.at(b.At), got.At)
				same(t, "F", b.F, got.F)
				same(t, "before", law.before, got.Before.Estimate)
				same(t, "after", law.after, got.After.Estimate)
				same(t, "gain", b.Straight-b.Deviance, got.Straight-got.Deviance)
				same(t, "deviance", b.Deviance+2*float64(n)*math.Log(law.unit), got.Deviance)
				var want, have []float64
				for i := range b.Set() {
					want = append(want, law.at(b.Set()[i].Lower), law.at(b.Set()[i].Upper))
				}
				for _, p := range got.Set() {
					have = append(have, p.Lower, p.Upper)
				}
				slices.Sort(want)
				require.Len(t, have, len(want))
				for i := range want {
					same(t, "set", want[i], have[i])
				}
			})
		}
	}
}
