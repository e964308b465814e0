package main

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// picture is what show.Figure reads (show.Picture).
type picture struct {
	Wide   string `json:"wide,omitempty"`
	Narrow string `json:"narrow,omitempty"`
	PNG    string `json:"png,omitempty"`
	Alt    string `json:"alt,omitempty"`
	None   string `json:"none,omitempty"`
}

// residualsDrawing names the drawing of what a prime window leaves over, as show.Residuals asks for it.
const residualsDrawing = "residuals"

// drawCommand draws the figure of an answer: JSON in on standard input (answer.Encode), a picture out. Cells call it, so
// that they need not link the plotting library. An argument names another figure of the same answer.
func drawCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	var of drawer = figure.Of
	switch {
	case len(args) == 0:
	case len(args) == 1 && args[0] == residualsDrawing:
		of = residuals
	default:
		fmt.Fprintln(stderr, "draw takes no arguments but "+residualsDrawing+": it is called by notebook cells, with an answer as JSON on standard input")
		return 2
	}
	if err := drawPicture(os.Stdin, stdout, of); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	return 0
}

// drawer draws an answer at a width.
type drawer func(answer.Answer, int) (*figure.Figure, error)

// residuals draws what a prime window leaves over.
func residuals(a answer.Answer, width int) (*figure.Figure, error) {
	window, ok := a.(*answer.PrimeWindow)
	if !ok {
		return nil, fmt.Errorf("residuals of %s: %w: only a prime window has them", a.Common().Question, figure.ErrNoFigure)
	}
	return figure.Residuals(window, width)
}

func drawPicture(in io.Reader, out io.Writer, of drawer) error {
	b, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	a, err := answer.Decode(b)
	if err != nil {
		return err
	}
	p, err := pictureOf(a, of)
	if err != nil {
		return err
	}
	return json.NewEncoder(out).Encode(p)
}

func pictureOf(a answer.Answer, of drawer) (*picture, error) {
	wide, err := of(a, figure.Wide)
	if errors.Is(err, figure.ErrNoFigure) {
		return &picture{None: err.Error()}, nil
	}
	if err != nil {
		return nil, err
	}
	narrow, err := of(a, figure.Narrow)
	if err != nil {
		return nil, err
	}
	p := &picture{Alt: wide.Alt()}
	for _, s := range []struct {
		f  *figure.Figure
		to *string
	}{{wide, &p.Wide}, {narrow, &p.Narrow}} {
		svg, err := s.f.SVG()
		if err != nil {
			return nil, err
		}
		*s.to = string(svg)
	}
	png, err := wide.PNG()
	if err != nil {
		return nil, err
	}
	p.PNG = base64.StdEncoding.EncodeToString(png)
	return p, nil
}
