package answer

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// glasses pours every taste of a panel by itself, from the batches named, in order.
func glasses(in Input, batches ...string) Input {
	was := in.Panel.Pours
	in.Panel.Pours = nil
	for i := range in.Panel.Tastes {
		x := &in.Panel.Tastes[i]
		p := was[x.Pour]
		p.ID, p.Batch = stepLevel(i), batches[i]
		x.Pour, x.Mode = i, panel.SideBySide
		in.Panel.Pours = append(in.Panel.Pours, p)
	}
	return in
}

// Eight scores leave the own slopes of three tasters, three batches and three ages hardly a degree of freedom: depending on rounding, and
// so on whose name comes first, limits lie beyond all numbers. Without slopes there are limits, and that is said.
func TestWindowWhoseLimitsAreNoNumbers(t *testing.T) {
	alike := 0
	for _, names := range []string{"abc", "acb", "bac", "bca", "cab", "cba"} {
		in := glasses(liked([]float64{30, 32, 34}, []float64{math.NaN(), 1, 2}, []float64{-2, 1, 1}, []float64{1, 1, 1}), "b1", "b2", "b2", "b2", "b0", "b2", "b2", "b1")
		in.Quick = true
		in.Panel.Attributes[0].Low, in.Panel.Attributes[0].High = -5, 5
		in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit = true, 0
		for i := range in.Panel.Tastes {
			x := &in.Panel.Tastes[i]
			x.Taster = string(names[x.Taster[0]-'a'])
			in.Panel.Pours[x.Pour].Taster = x.Taster
		}
		a, err := NewPrimeWindow(in, sour)
		require.NoError(t, err)
		_, err = json.Marshal(a)
		require.NoError(t, err)
		for _, p := range a.Curve {
			require.True(t, finite(p.Mean, p.Lower, p.Upper), "%+v", p)
		}
		if slices.Contains(a.Warnings, alikeNote) {
			alike++
			require.Equal(t, BeyondLastAge, a.Status)
		} else {
			require.Equal(t, NotConverged, a.Status)
		}
	}
	require.Positive(t, alike)
}
