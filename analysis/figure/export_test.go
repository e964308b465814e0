package figure

import (
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// TextWidth measures lettering for tests that read drawings back.
func TextWidth(s string, size float64, isBold bool) float64 {
	f := sans
	if isBold {
		f = sansBold
	}
	return lettering{face: font.DefaultCache.Lookup(f, vg.Length(size))}.width(s)
}
