package mixed

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// Where two places within the set want bends of opposite kinds, there is a straight line in between, which is as bad as any:
// a hole that a survey with few places would not see, were it not looked for.
func TestSetSeesTheHoleBetweenBendsOfOppositeKinds(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320313, 1))
	seen := 0
	for range 200 {
		var x, y []float64
		for i := range 24 {
			v := float64(i % 8) // level, rising, level
			x, y = append(x, v), append(y, min(max(v, 2), 5)+0.5*rng.NormFloat64())
		}
		data, err := NewTable(Numbers("y", y), Numbers("x", x))
		require.NoError(t, err)
		b, err := BrokenStick{Spec: Spec{Response: "y"}, Name: "x", Cut: 3}.Fit(data)
		require.NoError(t, err)
		if b.Straight-b.Deviance <= b.Cut || len(b.set) != 2 {
			continue
		}
		first, second := b.stick.at(mid(b.set[0])), b.stick.at(mid(b.set[1]))
		if first.ratio*second.ratio >= 0 {
			continue
		}
		seen++
		got, sure := b.stick.set([]point{first, second}, b.Deviance, b.Cut)
		require.True(t, sure)
		require.Len(t, got, 2, fmt.Sprint(b.set))
		require.InDelta(t, b.set[0].Upper, got[0].Upper, 1e-6)
		require.InDelta(t, b.set[1].Lower, got[1].Lower, 1e-6)
	}
	require.Greater(t, seen, 5)
}

// Where the fit of two free lines does not end, the bend is found in its gap all the same.
func TestDip(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320314, 1))
	inside := 0
	for range 20 {
		var x, y []float64
		for i := range 24 {
			v := float64(i % 8)
			x, y = append(x, v), append(y, 3*max(0, v-3.4)+rng.NormFloat64())
		}
		data, err := NewTable(Numbers("y", y), Numbers("x", x))
		require.NoError(t, err)
		b, err := BrokenStick{Spec: Spec{Response: "y"}, Name: "x"}.Fit(data)
		require.NoError(t, err)
		if k, on := slices.BinarySearch(b.stick.places, b.At); !on {
			p := b.stick.dip(k - 1)
			require.InDelta(t, b.At, p.psi, 1e-6)
			require.InDelta(t, b.Deviance, p.deviance, 1e-9)
			inside++
		}
	}
	require.Greater(t, inside, 10)
}

func mid(p Piece) float64 { return (p.Lower + p.Upper) / 2 }
