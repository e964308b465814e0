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

// drawCommand draws the figure of an answer: JSON in on standard input (answer.Encode), a picture out. Cells call it, so
// that they need not link the plotting library.
func drawCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	if len(args) > 0 {
		fmt.Fprintln(stderr, "draw takes no arguments: it is called by notebook cells, with an answer as JSON on standard input")
		return 2
	}
	if err := drawPicture(os.Stdin, stdout); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	return 0
}

func drawPicture(in io.Reader, out io.Writer) error {
	b, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	a, err := answer.Decode(b)
	if err != nil {
		return err
	}
	p, err := pictureOf(a)
	if err != nil {
		return err
	}
	return json.NewEncoder(out).Encode(p)
}

func pictureOf(a answer.Answer) (*picture, error) {
	wide, err := figure.Of(a, figure.Wide)
	if errors.Is(err, figure.ErrNoFigure) {
		return &picture{None: err.Error()}, nil
	}
	if err != nil {
		return nil, err
	}
	narrow, err := figure.Of(a, figure.Narrow)
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
