package figure_test

import (
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/figure"
	"lastsip/analysis/golden"
)

var hexInk = regexp.MustCompile(`#[0-9A-F]{6}`)

// grey gives a drawing as a printer without colour would: every ink at its luminance (Rec. 709 weights, WCAG 2.2).
func grey(svg []byte) []byte {
	return hexInk.ReplaceAllFunc(svg, func(h []byte) []byte {
		var y float64
		for i, w := range []float64{.2126, .7152, .0722} {
			v, _ := strconv.ParseUint(string(h[1+2*i:3+2*i]), 16, 8)
			y += w * math.Pow(float64(v)/255, 2.2)
		}
		v := int(math.Round(255 * math.Pow(y, 1/2.2)))
		return fmt.Appendf(nil, "#%02X%02X%02X", v, v, v)
	})
}

// Nothing rests on hue: in grey every kind of mark of the ribbons still differs from every other in fill, width, dash or shape.
func TestGreyPrint(t *testing.T) {
	for _, name := range []string{"window_noticed", "window_starts_late", "compare_eight"} {
		svg := grey(svgOf(t, cases()[name], figure.Wide))
		require.NotRegexp(t, `#00[0-9A-F]{4}`, string(svg), "no hue left")
		golden.Check(t, filepath.Join("../../testdata/figure", name+".grey.svg"), svg)
	}
	d := read(t, svgOf(t, windows()["window_noticed"], figure.Wide))
	kind := func(p path) string {
		s := p.style
		return fmt.Sprint(s["fill"] == "none", s["stroke-width"], s["stroke-dasharray"], p.arcs > 0, len(p.points))
	}
	seen := map[string]string{}
	for _, mark := range []struct {
		what  string
		paths []path
	}{
		{"solid", d.with("fill", windowInk)},
		{"dot screen", d.with("stroke", windowInk, "stroke-width", "1.7")},
		{"edge", d.outlines()},
		{"estimate", d.with("stroke", darkInk, "stroke-width", "2")},
		{"act", d.with("stroke-dasharray", actDash)},
		{"ring", d.with("stroke", leavingInk, "stroke-width", "1.8")},
		{"whisker", d.with("stroke", leavingInk, "stroke-width", "1.6")},
		{"triangle", d.with("stroke", tellingInk)},
	} {
		require.NotEmpty(t, mark.paths, mark.what)
		k := kind(mark.paths[0])
		require.Empty(t, seen[k], "%s looks like %s in grey", mark.what, seen[k])
		seen[k] = mark.what
	}
}
