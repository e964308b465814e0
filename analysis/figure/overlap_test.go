package figure_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/figure"
)

// No lettering runs out of a figure or into other lettering, in any state at any width.
func TestLetteringKeepsApart(t *testing.T) {
	for name, a := range cases() {
		for suffix, width := range widths {
			d := draw(t, a, width)
			type rect struct{ x0, y0, x1, y1 float64 }
			boxes := make([]rect, len(d.texts))
			for i, tx := range d.texts {
				// Capitals rise by about .72 of the size above the baseline, descenders fall by .2.
				boxes[i] = rect{tx.x, tx.y - .2*tx.size, tx.x + figure.TextWidth(tx.s, tx.size, tx.bold), tx.y + .72*tx.size}
				require.GreaterOrEqual(t, boxes[i].x0, -.5, "%s %s: %q", name, suffix, tx.s)
				require.LessOrEqual(t, boxes[i].x1, d.width+.5, "%s %s: %q", name, suffix, tx.s)
				require.GreaterOrEqual(t, boxes[i].y0, 0., "%s %s: %q", name, suffix, tx.s)
				require.LessOrEqual(t, boxes[i].y1, d.height, "%s %s: %q", name, suffix, tx.s)
				require.GreaterOrEqual(t, tx.size, 12., "%s %s: %q", name, suffix, tx.s)
			}
			for i, a := range boxes {
				for k, b := range boxes[:i] {
					apart := a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0
					if !apart {
						t.Errorf("%s %s: %q runs into %q", name, suffix, d.texts[i].s, d.texts[k].s)
					}
				}
			}
		}
	}
}
