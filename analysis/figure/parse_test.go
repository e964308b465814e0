package figure_test

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// drawing is a figure read back from its SVG: the only way in which these tests know where something stands.
type drawing struct {
	t             *testing.T
	width, height float64
	paths         []path
	texts         []text
	scale         float64 // px per minute (log ratio: times as long)
	zero          float64 // px of 0 min (of ratio 1)
	ratios        bool    // the axis is one of ratios
}

// path is one path element, y in px from the figure's bottom.
type path struct {
	style  map[string]string
	points [][2]float64
	x      [2]float64 // extent
	y      [2]float64
	moves  int // subpaths
	arcs   int
}

type text struct {
	x, y float64 // left end of the baseline, px from the bottom
	size float64
	bold bool
	s    string
}

// draw draws an answer and reads the SVG back.
func draw(t *testing.T, a answer.Answer, width int) *drawing {
	t.Helper()
	f, err := figure.Of(a, width)
	require.NoError(t, err)
	svg, err := f.SVG()
	require.NoError(t, err)
	return read(t, svg)
}

func read(t *testing.T, svg []byte) *drawing {
	t.Helper()
	d := &drawing{t: t}
	dec := xml.NewDecoder(strings.NewReader(string(svg)))
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		attr := map[string]string{}
		for _, a := range start.Attr {
			attr[a.Name.Local] = a.Value
		}
		switch start.Name.Local {
		case "svg":
			d.width, d.height = number(t, attr["width"]), number(t, attr["height"])
		case "path":
			d.paths = append(d.paths, readPath(t, attr))
		case "text":
			var s string
			require.NoError(t, dec.DecodeElement(&s, &start))
			st := styles(attr["style"])
			d.texts = append(d.texts, text{x: number(t, attr["x"]), y: -number(t, attr["y"]),
				size: number(t, strings.TrimSuffix(st["font-size"], "px")), bold: st["font-weight"] == "bold", s: s})
		}
	}
	d.calibrate()
	return d
}

// calibrate finds pixels per minute from the rules at the ticks of the first panel and the numbers under them.
func (d *drawing) calibrate() {
	var at []float64
	for _, p := range d.with("stroke", "#E3DED4") {
		if len(at) > 0 && p.points[0][0] < at[len(at)-1] {
			break // the next panel begins
		}
		at = append(at, p.points[0][0])
	}
	for _, tx := range d.texts {
		d.ratios = d.ratios || tx.s == "times as long"
	}
	var minutes []float64
	for _, tx := range d.texts[:len(at)] { // a rule and its number are written together, before anything else
		m := fraction(d.t, tx.s)
		if d.ratios {
			m = math.Log(m)
		}
		minutes = append(minutes, m)
	}
	require.GreaterOrEqual(d.t, len(at), 2)
	last := len(at) - 1
	d.scale = (at[last] - at[0]) / (minutes[last] - minutes[0])
	d.zero = at[0] - minutes[0]*d.scale
	for i := range at {
		require.InDelta(d.t, minutes[i], (at[i]-d.zero)/d.scale, .01, "ticks are evenly spaced")
	}
}

// minutes at a place in px; the ratio there on an axis of ratios.
func (d *drawing) minutes(x float64) float64 {
	if d.ratios {
		return math.Exp((x - d.zero) / d.scale)
	}
	return (x - d.zero) / d.scale
}

// fraction reads a tick: 2, 1½, ¼, 1/8.
func fraction(t *testing.T, s string) float64 {
	t.Helper()
	for word, value := range map[string]float64{"½": .5, "¼": .25, "¾": .75} {
		if whole, ok := strings.CutSuffix(s, word); ok {
			return number(t, "0"+whole) + value
		}
	}
	if over, under, ok := strings.Cut(s, "/"); ok {
		return number(t, over) / number(t, under)
	}
	return number(t, s)
}

// with gives the paths whose style has a value.
func (d *drawing) with(key, value string, more ...string) []path {
	var out []path
	for _, p := range d.paths {
		ok := p.style[key] == value
		for i := 0; i < len(more); i += 2 {
			ok = ok && p.style[more[i]] == more[i+1]
		}
		if ok {
			out = append(out, p)
		}
	}
	return out
}

// words are all texts of the drawing.
func (d *drawing) words() string {
	var all []string
	for _, tx := range d.texts {
		all = append(all, tx.s)
	}
	return strings.Join(all, "\n")
}

func styles(s string) map[string]string {
	out := map[string]string{}
	for _, kv := range strings.Split(s, ";") {
		if k, v, ok := strings.Cut(kv, ":"); ok {
			out[k] = v
		}
	}
	return out
}

var command = regexp.MustCompile(`([MLAZ])([^MLAZ]*)`)

func readPath(t *testing.T, attr map[string]string) path {
	p := path{style: styles(attr["style"])}
	for _, m := range command.FindAllStringSubmatch(attr["d"], -1) {
		args := strings.FieldsFunc(m[2], func(r rune) bool { return r == ',' || r == ' ' })
		switch m[1] {
		case "M":
			p.moves++
		case "A":
			p.arcs++
		case "Z":
			continue
		}
		p.points = append(p.points, [2]float64{number(t, args[len(args)-2]), number(t, args[len(args)-1])})
	}
	require.NotEmpty(t, p.points)
	p.x, p.y = [2]float64{p.points[0][0], p.points[0][0]}, [2]float64{p.points[0][1], p.points[0][1]}
	for _, pt := range p.points {
		p.x = [2]float64{min(p.x[0], pt[0]), max(p.x[1], pt[0])}
		p.y = [2]float64{min(p.y[0], pt[1]), max(p.y[1], pt[1])}
	}
	return p
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// spans gives the extents in minutes of some paths, in order of their left ends.
func (d *drawing) spans(paths []path) [][2]float64 {
	var out [][2]float64
	for _, p := range paths {
		out = append(out, [2]float64{d.minutes(p.x[0]), d.minutes(p.x[1])})
	}
	slices.SortFunc(out, func(a, b [2]float64) int {
		if a[0] < b[0] || a[0] == b[0] && a[1] < b[1] {
			return -1
		}
		return 1
	})
	return out
}

// requireSpans compares extents in minutes.
func (d *drawing) requireSpans(want [][2]float64, paths []path, what string) {
	d.t.Helper()
	got := d.spans(paths)
	require.Len(d.t, got, len(want), what)
	for i := range want {
		require.InDelta(d.t, want[i][0], got[i][0], .012, "%s: left end of mark %d", what, i)
		require.InDelta(d.t, want[i][1], got[i][1], .012, "%s: right end of mark %d", what, i)
	}
}
