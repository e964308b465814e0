package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/report"
	"lastsip/analysis/safefile"
)

const answerUsage = `answer DIR... [-out DIR]

Answers in words, in the terminal, without a kernel: until when each drink should
have been drunk, and when half would leave the rest. Each DIR is a session: a
folder that holds a tastes.csv. With -out also writes results.csv there.

Example, on a session that comes with the program:

  go run ./notebooks answer demo:sour-evening
`

// answerCommand prints the answers about every drink of the sessions named.
func answerCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("answer", flag.ContinueOnError)
	out := fs.String("out", "", "also write results.csv into this folder")
	dirs, code := parseMixed(fs, args, answerUsage, stdout, stderr)
	if code >= 0 {
		return code
	}
	study, err := analysis.Open(dirs...)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	ink := report.Ink{Colour: colourful(stdout)}
	rows, err := printAnswers(study, ink, stdout)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	if *out == "" {
		return 0
	}
	file := filepath.Join(*out, "results.csv")
	var buf bytes.Buffer
	if err = report.ResultsCSV(&buf, rows); err == nil {
		if err = os.MkdirAll(*out, 0o755); err == nil {
			err = safefile.Write(file, buf.Bytes())
		}
	}
	if err != nil {
		fmt.Fprintf(stderr, "results.csv was not written: %v\n", err)
		return 1
	}
	fmt.Fprintf(stdout, "\nwrote %s\n", file)
	return 0
}

// printAnswers writes every drink's act and lifetime and returns the rows of results.csv.
func printAnswers(study *analysis.Study, ink report.Ink, w io.Writer) ([]answer.Row, error) {
	data, err := study.Data()
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer // all or nothing: no half an answer before an error
	if data.Invented {
		buf.WriteString("Invented data: a demonstration.\n\n")
	}
	buf.WriteString(report.Text(data))
	rows := data.Rows
	for _, style := range study.Styles() {
		act, err := study.ServeBy(style)
		if err != nil {
			return nil, err
		}
		life, err := study.Lifetime(style)
		if err != nil {
			return nil, err
		}
		rejections, err := study.Rejections(style)
		if err != nil {
			return nil, err
		}
		scores, err := study.Scores(style)
		if err != nil {
			return nil, err
		}
		buf.WriteString("\n" + ink.Heading(act.Title))
		buf.WriteString(report.Text(act))
		buf.WriteString(report.Text(life))
		buf.WriteString("\n" + report.Ribbon(act, ink))
		for _, a := range []answer.Answer{act, life, rejections, scores} {
			rows = append(rows, a.Common().Rows...)
		}
	}
	if n := len(data.Findings); n > 0 {
		fmt.Fprintf(&buf, "\n%d findings about the data: see the verb check.\n", n)
	}
	buf.WriteString("\nThis is about taste, not food safety: local codes come first. Serve responsibly.\n")
	_, err = w.Write(buf.Bytes())
	return rows, err
}

// parseMixed lets flags stand before or after the names, as people write them. A code of -1 means go on; names that are
// missing are wrong use.
func parseMixed(fs *flag.FlagSet, args []string, usage string, stdout, stderr io.Writer) (names []string, code int) {
	fs.SetOutput(io.Discard)
	for {
		switch err := fs.Parse(args); {
		case errors.Is(err, flag.ErrHelp):
			fmt.Fprint(stdout, usage)
			return nil, 0
		case err != nil:
			fmt.Fprintf(stderr, "%v\n\n%s", err, usage)
			return nil, 2
		}
		args = fs.Args()
		if len(args) == 0 {
			break
		}
		names, args = append(names, args[0]), args[1:]
	}
	if len(names) == 0 {
		fmt.Fprintf(stderr, "no session named\n\n%s", usage)
		return nil, 2
	}
	return names, -1
}

// colourful tells whether w is a terminal that wants colour (NO_COLOR is an open convention).
func colourful(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok || os.Getenv("NO_COLOR") != "" || os.Getenv("TERM") == "dumb" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
