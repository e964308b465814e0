package figure

import (
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTicks(t *testing.T) {
	for _, tt := range []struct {
		end          float64
		wide, narrow []float64
	}{
		{16, []float64{0, 2, 4, 6, 8, 10, 12, 14, 16}, []float64{0, 4, 8, 12, 16}},
		{8, []float64{0, 2, 4, 6, 8}, []float64{0, 4, 8}},
		{3, []float64{0, .5, 1, 1.5, 2, 2.5, 3}, []float64{0, 1, 2, 3}},
		{17, []float64{0, 4, 8, 12, 16}, []float64{0, 4, 8, 12, 16}},
		{45, []float64{0, 10, 20, 30, 40}, []float64{0, 10, 20, 30, 40}},
		{180, []float64{0, 30, 60, 90, 120, 150, 180}, []float64{0, 60, 120, 180}},
	} {
		require.Equal(t, tt.wide, ticks(tt.end, Wide), "to %v", tt.end)
		require.Equal(t, tt.narrow, ticks(tt.end, Narrow), "to %v", tt.end)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		end := math.Exp(rng.Float64()*8 - 2)
		require.LessOrEqual(t, len(ticks(end, Wide)), 9, "to %v", end)
		require.LessOrEqual(t, len(ticks(end, Narrow)), 6, "to %v", end)
		require.GreaterOrEqual(t, len(ticks(end, Narrow)), 3, "to %v", end)
	}
}

func TestSpread(t *testing.T) {
	require.Equal(t, []float64{0, 50, 100}, spread([]float64{0, 50, 100}, 13, 0, 100), "nothing touches, nothing moves")
	require.Equal(t, []float64{43.5, 56.5}, spread([]float64{49, 51}, 13, 0, 100), "two move apart by the same way")
	require.Equal(t, []float64{0, 13, 50}, spread([]float64{0, 1, 50}, 13, 0, 100), "not below the range")
	require.Equal(t, []float64{74, 87, 100}, spread([]float64{98, 99, 100}, 13, 0, 100), "not above it")
	rng := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		at := make([]float64, 1+rng.IntN(7))
		for i := range at {
			at[i] = rng.Float64() * 100
		}
		slices.Sort(at)
		kept := slices.Clone(at)
		got := spread(at, 13, 0, 100)
		require.Equal(t, kept, at, "input untouched")
		for i := range got {
			require.GreaterOrEqual(t, got[i], -1e-9)
			require.LessOrEqual(t, got[i], 100+1e-9)
			if i > 0 {
				require.GreaterOrEqual(t, got[i]-got[i-1], 13-1e-9, "%v of %v", got, at)
			}
		}
	}
}

func TestFit(t *testing.T) {
	require.Equal(t, "short", rowText.fit("short", 100))
	cut := rowText.fit("a name that is far too long for its place", 100)
	require.LessOrEqual(t, rowText.width(cut), 100.0)
	require.Greater(t, rowText.width(cut), 80.0, "no more is cut than needed: %q", cut)
	require.Equal(t, "…", rowText.fit("anything", 1))
}

// Lettering needs a contrast of 4.5 on paper, marks 3 (WCAG 2.2, success criteria 1.4.3 and 1.4.11).
func TestContrast(t *testing.T) {
	require.InDelta(t, 21, contrast(color.NRGBA{0, 0, 0, 255}, color.NRGBA{255, 255, 255, 255}), 1e-9, "black on white is 21, by the definition in WCAG 2.2")
	for _, l := range []lettering{tickText, rowText, valueText} {
		require.GreaterOrEqual(t, contrast(l.ink.(color.NRGBA), paper), 4.5)
	}
	for _, mark := range []color.NRGBA{window, leaving, reading, ink, mute} {
		require.GreaterOrEqual(t, contrast(mark, paper), 3.0)
	}
	require.GreaterOrEqual(t, contrast(ink, window), 3.0, "an estimate's tick on the solid strip")
}

// contrast is the ratio of relative luminances of WCAG 2.2.
func contrast(a, b color.NRGBA) float64 {
	luminance := func(c color.NRGBA) float64 {
		channel := func(v uint8) float64 {
			x := float64(v) / 255
			if x <= .04045 {
				return x / 12.92
			}
			return math.Pow((x+.055)/1.055, 2.4)
		}
		return .2126*channel(c.R) + .7152*channel(c.G) + .0722*channel(c.B)
	}
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + .05) / (min(la, lb) + .05)
}
