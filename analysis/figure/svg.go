package figure

import (
	"bytes"
	"errors"
	"fmt"
	"html"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// marker stands on the root element of every SVG that this package writes, so that a page knows its own figures.
const marker = `data-lastsip="figure"`

// pngScale is the number of image pixels per pixel of the figure, for screens of double density.
const pngScale = 2

// families are fonts of one set of widths, those that gonum/plot measured by.
const families = "Liberation Sans, Arial, Helvetica, sans-serif"

// vgsvg names the font in full on every text; the root names the families once.
var (
	fontOf     = []byte(`style="font-family:Liberation Sans;font-variant:normal;font-weight:normal;font-style:normal;`)
	boldFontOf = []byte(`style="font-family:Liberation Sans;font-variant:normal;font-weight:bold;font-style:normal;`)
)

// SVG gives the figure as one svg element without an XML prolog, fit to stand in a page or in a file: root with role="img",
// aria-label, title, viewBox, and a marker attribute; no ids, styles of a document, scripts or references. Text is escaped.
func (f *Figure) SVG() ([]byte, error) {
	s := f.sheet
	c := vgsvg.New(vg.Length(s.width), vg.Length(s.height))
	s.draw(c)
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return nil, fmt.Errorf("figure: write SVG: %w", err)
	}
	// The root of vgsvg has an XML prolog before it, sizes in points and no words: ours takes its place.
	_, rest, found := bytes.Cut(buf.Bytes(), []byte("<svg"))
	_, body, closed := bytes.Cut(rest, []byte(">"))
	if !found || !closed {
		return nil, errors.New("figure: gonum/plot wrote no svg element")
	}
	body = bytes.ReplaceAll(body, fontOf, []byte(`style="`))
	body = bytes.ReplaceAll(body, boldFontOf, []byte(`style="font-weight:bold;`))
	body = bytes.ReplaceAll(body, []byte("\n\tstyle="), []byte(" style="))

	var out bytes.Buffer
	out.Grow(len(body) + 512)
	alt := html.EscapeString(f.alt)
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" %s role="img" aria-label="%s" viewBox="0 0 %g %g" width="%g" height="%g" font-family="%s">`,
		marker, alt, s.width, s.height, s.width, s.height, families)
	fmt.Fprintf(&out, "<title>%s</title>", alt)
	out.Write(body)
	return out.Bytes(), nil
}

// PNG gives the figure as an image of twice the width, for viewers without SVG.
func (f *Figure) PNG() ([]byte, error) {
	s := f.sheet
	const pointsPerInch = 72
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(s.width), vg.Length(s.height)), vgimg.UseDPI(pngScale*pointsPerInch))
	s.draw(c)
	var buf bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(&buf); err != nil {
		return nil, fmt.Errorf("figure: write PNG: %w", err)
	}
	return buf.Bytes(), nil
}
