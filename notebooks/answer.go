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
	"runtime"
	"sync"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
	"lastsip/analysis/report"
	"lastsip/analysis/safefile"
	"lastsip/notebooks/internal/nbformat"
	"lastsip/notebooks/internal/page"
)

const answerUsage = `answer DIR... [-full] [-out DIR]

Answers in words, in the terminal, without a kernel: until when each drink should
have been drunk, when half would leave the rest, when it is at its best, what goes
first, and which drinks keep longer than others. Each DIR is a session: a folder that holds a tastes.csv.
With -out also writes results.csv, results.json and answer.html (the first screen
of each drink's report) there. With -full also what draws again (bootstrap bands,
permutation tests), which a run always does.

Example, on a session that comes with the program:

  go run ./notebooks answer demo:sour-evening -out answers
`

// answerCommand prints the answers about every drink of the sessions named.
func answerCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("answer", flag.ContinueOnError)
	full := fs.Bool("full", false, "also what draws again: bootstrap bands, permutation tests")
	out := fs.String("out", "", "also write results.csv, results.json and answer.html into this folder")
	dirs, code := parseMixed(fs, args, answerUsage, stdout, stderr)
	if code >= 0 {
		return code
	}
	study, err := analysis.Open(dirs...)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	switch {
	case *full:
	case *out == "":
		study = study.Brief()
	default:
		study = study.WithoutResampling()
	}
	ink := report.Ink{Colour: colourful(stdout)}
	drinks, err := ask(study) // all of them before the first is printed
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	differences, err := study.Differences()
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	rows, err := printAnswers(study, drinks, differences, ink, stdout)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	if *out == "" {
		return 0
	}
	if err := writeAnswers(*out, study, drinks, differences, rows); err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", *out, err)
		return 1
	}
	fmt.Fprintf(stdout, "\nwrote results.csv, results.json and answer.html into %s\n", *out)
	return 0
}

// writeAnswers writes the files of -out, each whole or not at all, after all of them have been made.
func writeAnswers(out string, study *analysis.Study, drinks []drink, differences *analysis.Differences, rows []answer.Row) error {
	var table, list bytes.Buffer
	if err := report.ResultsCSV(&table, rows); err != nil {
		return err
	}
	if err := report.ResultsJSON(&list, rows); err != nil {
		return err
	}
	html, err := answerPage(study, drinks, differences)
	if err != nil {
		return err
	}
	for name, what := range map[string]string{marker: "it holds the report of a run, whose numbers would no longer be its own", "tastes.csv": "it is a session"} {
		if _, err := os.Stat(filepath.Join(out, name)); err == nil {
			return fmt.Errorf("%s; name another folder", what)
		}
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		body []byte
	}{{"results.csv", table.Bytes()}, {"results.json", list.Bytes()}, {"answer.html", html}} {
		if err := safefile.Write(filepath.Join(out, f.name), f.body); err != nil {
			return err
		}
	}
	return nil
}

// drink is everything that is answered about one style and serve.
type drink struct {
	act        *analysis.ServeBy
	life       *analysis.Lifetime
	window     *analysis.PrimeWindow
	rejections *analysis.Rejections
	scores     *analysis.Scores
	first      *analysis.GoesFirst
	ages       *analysis.AgeDifferences
	readings   *analysis.Readings
}

// ask answers every question about every style, on all cores.
func ask(study *analysis.Study) ([]drink, error) {
	styles := study.Styles()
	out, errs := make([]drink, len(styles)), make([]error, len(styles))
	var work sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, style := range styles {
		work.Add(1)
		slots <- struct{}{}
		go func() {
			defer func() { <-slots; work.Done() }()
			d := &out[i]
			var err [8]error
			d.act, err[0] = study.ServeBy(style)
			d.life, err[1] = study.Lifetime(style)
			d.rejections, err[2] = study.Rejections(style)
			d.scores, err[3] = study.Scores(style)
			d.first, err[4] = study.GoesFirst(style)
			d.readings, err[5] = study.Readings(style)
			d.window, err[6] = study.PrimeWindow(style)
			d.ages, err[7] = study.AgeDifferences(style)
			errs[i] = errors.Join(err[:]...)
		}()
	}
	work.Wait()
	return out, errors.Join(errs...)
}

// answerPage is the first screen of every drink's report on one page: the act, what it rests on, the age ribbon.
func answerPage(study *analysis.Study, drinks []drink, differences *analysis.Differences) ([]byte, error) {
	nb := &nbformat.Notebook{Name: "answer"}
	show := func(data map[string]any) {
		nb.Cells = append(nb.Cells, nbformat.Cell{Type: "code", Outputs: []nbformat.Output{{Type: "display_data", Data: data}}})
	}
	say := func(markdown string) { show(map[string]any{"text/markdown": markdown}) }
	head := report.Headline
	if len(drinks) > 1 {
		compare, err := study.Compare()
		if err != nil {
			return nil, err
		}
		say(report.Headline(compare))
		say(report.Section(differences))
		head = report.Section
	}
	for _, d := range drinks {
		say(head(d.act))
		p, err := pictureOf(d.act, figure.Of)
		if err != nil {
			return nil, err
		}
		if p.None == "" {
			show(map[string]any{"image/svg+xml": p.Wide, "application/vnd.lastsip.narrow+svg": p.Narrow, "text/plain": p.Alt})
		}
		if d.life.Status != answer.NotAsked { // the act has said so
			say(report.Sentences(d.life))
		}
		if d.window.Status != answer.NotAsked {
			say(report.Sentences(d.window))
		}
		if d.ages.Status != answer.NotAsked {
			say(report.Sentences(d.ages))
		}
		if d.first.Status != answer.NotAsked {
			say(report.Escape(d.first.Sentences[0]) + "\n\n")
		}
	}
	say("## Cautions\n\n" + report.Cautions(study.Allergens()))
	return page.Render(nb, page.Options{HideCode: true})
}

// printAnswers writes every drink's act and lifetime and returns the rows of results.csv.
func printAnswers(study *analysis.Study, drinks []drink, differences *analysis.Differences, ink report.Ink, w io.Writer) ([]answer.Row, error) {
	data, err := study.Data()
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if data.Invented {
		buf.WriteString("Invented data: a demonstration.\n\n")
	}
	buf.WriteString(report.Text(data))
	rows := data.Rows
	for _, d := range drinks {
		buf.WriteString("\n" + ink.Heading(d.act.Title))
		buf.WriteString(report.Text(d.act))
		if d.life.Status != answer.NotAsked {
			buf.WriteString(report.Text(d.life))
			buf.WriteString("\n" + report.Ribbon(d.act, ink))
		}
		if d.window.Status != answer.NotAsked {
			buf.WriteString("\n" + report.Text(d.window))
		}
		if d.first.Status != answer.NotAsked {
			buf.WriteString("\n" + report.Lead(d.first))
		}
		if d.ages.Status == answer.OK {
			buf.WriteString("\n" + report.Text(d.ages))
		}
		for _, a := range []answer.Answer{d.act, d.life, d.window, d.rejections, d.scores, d.first, d.ages, d.readings} {
			rows = append(rows, a.Common().Rows...)
		}
	}
	if len(drinks) > 1 {
		buf.WriteString("\n" + ink.Heading(differences.Title))
		buf.WriteString(report.Text(differences))
	}
	rows = append(rows, differences.Rows...)
	if len(drinks) > 0 {
		buf.WriteString("\n" + report.Legend)
	}
	if n := len(data.Findings); n > 0 {
		fmt.Fprintf(&buf, "\n%s about the data: see the verb check.\n", answer.Count(n, "finding"))
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
