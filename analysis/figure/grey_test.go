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
	for _, name := range []string{"window_noticed", "window_starts_late", "age_late", "compare_eight", "headline_groups", "headline_range", "differences_open"} {
		svg := grey(svgOf(t, cases()[name], figure.Wide))
		require.NotRegexp(t, `#00[0-9A-F]{4}`, string(svg), "no hue left")
		golden.Check(t, filepath.Join("../../testdata/figure", name+".grey.svg"), svg)
	}
	kind := func(p path) string {
		s := p.style
		return fmt.Sprint(s["fill"] == "none", s["stroke-width"], s["stroke-dasharray"], p.arcs > 0, len(p.points))
	}
	type marks struct {
		what  string
		paths []path
	}
	apart := func(all []marks) {
		seen := map[string]string{}
		for _, mark := range all {
			require.NotEmpty(t, mark.paths, mark.what)
			k := kind(mark.paths[0])
			require.Empty(t, seen[k], "%s looks like %s in grey", mark.what, seen[k])
			seen[k] = mark.what
		}
	}
	d := read(t, svgOf(t, windows()["window_noticed"], figure.Wide))
	apart([]marks{
		{"solid", d.with("fill", windowInk)},
		{"dot screen", d.with("stroke", windowInk, "stroke-width", "1.7")},
		{"edge", d.outlines()},
		{"estimate", d.with("stroke", darkInk, "stroke-width", "2")},
		{"act", d.with("stroke-dasharray", actDash)},
		{"ring", d.with("stroke", leavingInk, "stroke-width", "1.8")},
		{"whisker", d.with("stroke", leavingInk, "stroke-width", "1.6")},
		{"triangle", d.with("stroke", tellingInk)},
	})
	d = read(t, svgOf(t, headlines()["headline_groups"], figure.Wide))
	var dots, diamonds []path
	for _, p := range d.with("fill", leavingInk, "fill-opacity", "") {
		switch {
		case p.arcs > 0:
			dots = append(dots, p)
		case len(p.points) > 5:
			diamonds = append(diamonds, p)
		}
	}
	apart([]marks{
		{"headline", d.with("stroke", leavingInk, "stroke-width", "2.2")},
		{"without a family", d.with("stroke", darkInk, "stroke-width", "1.3")},
		{"what it leaves open", d.with("stroke-dasharray", boxDash)},
		{"band", d.with("fill-opacity", "0.10196")},
		{"exact limits", d.with("stroke", leavingInk, "stroke-width", "1.1")},
		{"limits of half", d.with("stroke", leavingInk, "stroke-width", "1.6")},
		{"limits of one evening", d.with("stroke", leavingInk, "stroke-width", "1.2")},
		{"half", dots},
		{"one in ten", d.with("stroke", leavingInk, "stroke-width", "1.8")},
		{"one evening", diamonds},
		{"other choices", d.with("stroke", darkInk, "stroke-width", "", "stroke-dasharray", "")},
		{"act", d.with("stroke-dasharray", actDash)},
	})
	d = read(t, svgOf(t, ages()["age_again"], figure.Wide))
	apart([]marks{
		{"average taster", d.with("stroke", windowInk, "stroke-width", "2.2")},
		{"each taster", d.with("stroke", windowInk, "stroke-width", "0.8", "stroke-opacity", "0.4")},
		{"band", d.with("fill", windowInk, "fill-opacity", "0.16078")},
		{"raw", d.with("fill", darkInk, "fill-opacity", "0.30196")},
		{"window", d.with("stroke", windowInk, "stroke-width", "4", "stroke-opacity", "")},
		{"limits", d.with("stroke", windowInk, "stroke-width", "1.6")},
		{"at least", boxes(d.with("fill", windowInk, "fill-opacity", ""))},
		{"again", d.outlines()},
		{"limit", d.with("stroke-dasharray", "2,4")},
		{"thread", d.with("stroke-dasharray", "1,2")},
		{"act", d.with("stroke-dasharray", actDash)},
	})
}
