package figure_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// An act that rests on one in ten is solid as far as nine in ten would go on, in the ribbon and in a comparison.
func TestActOnOneInTen(t *testing.T) {
	bothWidths(t, inTens()["tenth_usual"], func(t *testing.T, d *drawing) {
		d.requireSpans([][2]float64{{0, 4}}, d.with("fill", windowInk), "solid to the act")
		d.requireSpans([][2]float64{{4, 6}}, d.with("stroke", windowInk, "stroke-width", "", "fill", "none"), "screen to the lower limit of half")
		d.requireSpans([][2]float64{{3, 5.8}, {6, 9.5}}, flat(d.with("stroke", leavingInk, "stroke-width", "1.6")), "whiskers of one in ten and half")
		require.Contains(t, d.words(), "nine in ten would go on with it")
		require.NotContains(t, d.words(), "all would")
		require.Contains(t, d.words(), "one in ten: 4½ (3 to 6)")
	})
	bothWidths(t, inTens()["tenth_at_once"], func(t *testing.T, d *drawing) {
		require.Empty(t, d.with("fill", windowInk))
		require.Contains(t, d.words(), "no age for nine in ten")
	})
	bothWidths(t, inTens()["tenth_past_half"], func(t *testing.T, d *drawing) {
		require.Empty(t, d.with("stroke", windowInk, "stroke-width", "1.7"), "no screen where half's lower limit lies before the act")
	})
	for name, want := range map[string]string{
		"compare_tenths": "solid: nine in ten would go on with it", "compare_bases": "solid: nine in ten (or all) would go on with it",
		"compare_bases_scored": "solid: at its best, or nine in ten (or all) would go on with it", "compare_three": "solid: all would go on with it",
	} {
		bothWidths(t, cases()[name], func(t *testing.T, d *drawing) { require.Contains(t, d.words(), want, name) })
	}
}

// What a curve puts past the last age tasted is later than that age, and a limit past the axis is an arrow.
func TestRibbonPastTheLastAge(t *testing.T) {
	bothWidths(t, inTens()["tenth_beyond"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "one in ten: later than 16 (9 to 60)")
		require.Contains(t, d.words(), "half: later than 16 (13 to 44)")
		for _, p := range d.paths {
			require.Zero(t, p.arcs, "neither dot nor ring")
		}
		d.requireSpans([][2]float64{{9, 16}, {13, 16}}, flat(d.with("stroke", leavingInk, "stroke-width", "1.6")), "to the last age")
	})
	bothWidths(t, inTens()["tenth_open"], func(t *testing.T, d *drawing) {
		require.Contains(t, d.words(), "half: 7½ (6 to 38)")
		d.requireSpans([][2]float64{{0, 5.8}, {6, 16}}, flat(d.with("stroke", leavingInk, "stroke-width", "1.6")), "on the shared axis")
	})
}
