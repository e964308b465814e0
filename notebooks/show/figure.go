package show

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"

	"lastsip/analysis/answer"
	"lastsip/analysis/report"
)

// Picture is what the drawing program writes.
type Picture struct {
	Wide   string `json:"wide,omitempty"`   // SVG, 720 pixels wide
	Narrow string `json:"narrow,omitempty"` // SVG, 360 pixels wide
	PNG    string `json:"png,omitempty"`    // base64
	Alt    string `json:"alt,omitempty"`    // the figure in words
	None   string `json:"none,omitempty"`   // why there is no figure; then all else is empty
}

// drawTimeout bounds one drawing, which takes about 0.05 s.
const drawTimeout = 30 * time.Second

// Figure shows the figure of an answer. An answer that has none says so; where no drawing program is at hand, its numbers
// are shown as a table.
func Figure(a answer.Answer) { drawn(a) }

// Residuals shows what the age curve of a prime window leaves over: against the fitted score, and against normal quantiles.
func Residuals(a *answer.PrimeWindow) { drawn(a, residualsDrawing) }

// residualsDrawing names that drawing to the drawing program.
const residualsDrawing = "residuals"

// drawn shows a figure of an answer: its own, or the one named.
func drawn(a answer.Answer, name ...string) {
	if !given(a) {
		return
	}
	program := os.Getenv(DrawVariable)
	if program == "" {
		withoutPicture(a, "No figure: nothing here draws figures (the run does, by its variable "+DrawVariable+"). The numbers:")
		return
	}
	p, err := draw(program, a, name...)
	if err != nil {
		fail(fmt.Errorf("figure of %q: %w", a.Common().Question, err))
		return
	}
	if p.None != "" {
		withoutPicture(a, "No figure: "+p.None)
		return
	}
	if !inKernel() {
		fmt.Fprintln(stdout, p.Alt)
		return
	}
	b := bundle{svgType: withoutProlog(p.Wide), NarrowType: withoutProlog(p.Narrow), pngType: p.PNG, plainType: p.Alt}
	if rows := rowsOf(a); rows != nil {
		b[RowsType] = rows
	}
	send(b)
}

// withoutPicture shows the table and why there is no figure; where nothing was asked the sentences have said so already.
func withoutPicture(a answer.Answer, why string) {
	if a.Common().Status == answer.NotAsked {
		return
	}
	text := report.Escape(why) + "\n\n" + report.Table(a)
	if !inKernel() {
		fmt.Fprintln(stdout, why+"\n\n"+strings.TrimRight(report.Table(a), "\n"))
		return
	}
	b := bundle{markdownType: text, plainType: why + "\n\n" + report.Table(a)}
	if rows := rowsOf(a); rows != nil {
		b[RowsType] = rows
	}
	send(b)
}

// draw asks the program for a picture.
func draw(program string, a answer.Answer, name ...string) (*Picture, error) {
	in, err := answer.Encode(a)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), drawTimeout)
	defer cancel()
	cmd := exec.CommandContext(ctx, program, append([]string{"draw"}, name...)...)
	var out, errs bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(in), &out, &errs
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("%s draw: %w: %s", program, err, strings.TrimSpace(errs.String()))
	}
	var p Picture
	if err := json.Unmarshal(out.Bytes(), &p); err != nil {
		return nil, fmt.Errorf("%s draw wrote no picture: %w", program, err)
	}
	if p.None == "" && (p.Wide == "" || p.PNG == "" || p.Alt == "") {
		return nil, fmt.Errorf("%s draw wrote half a picture", program)
	}
	return &p, nil
}
