package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"lastsip/analysis"
	"lastsip/notebooks/internal/execute"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// What a run gives its cells; package show reads them.
const (
	sessionsVariable = "LASTSIP_SESSIONS"
	drawVariable     = "LASTSIP_DRAW"
	namesVariable    = "LASTSIP_NAMES"
	staleVariable    = "LASTSIP_STALE"
	sessionSeparator = "\n" // not that of PATH, which stands in demo:NAME
)

const runUsage = `run [-session DIR]... [-only NAME] [-set name=value]... [-names real|letters]
    [-timeout D] [-keep-going] [-force] [-out DIR]

Runs every notebook on the sessions named and writes the report: a page for each,
the notebooks as they ran, figures, results.csv, index.html. The notebook "style"
runs once for each style found. A notebook of which nothing has changed since it
last ran (its text, the code it uses, the data, the parameters, the versions) is
not run again. Needs Linux or macOS.

  -session DIR     a folder that holds a tastes.csv, or demo:NAME; may be repeated
                   (default: the sessions that come with the program)
  -only NAME       one notebook ("style"), or one of its runs ("style-sour"); the
                   report then holds that alone
  -set name=value  a parameter of the notebooks; may be repeated
  -names HOW       tasters as "letters" (the default) or by their "real" names
  -timeout D       longest time for one cell, such as 90s (default 2m)
  -keep-going      when a cell fails, go on with the other notebooks and report on
                   those; the exit status is still 1
  -force           run every notebook, changed or not
  -out DIR         where the report goes (default: reports in the checkout); a
                   folder that a run has written is replaced as a whole

Example, on a session that comes with the program:

  go run ./notebooks run -session demo:sour-evening -set style=sour -out /tmp/reports
`

// runner is one run. The fields after out are changed by tests only.
type runner struct {
	sessions  []string
	only      string
	set       []nbformat.Setting
	names     string // "letters" or "real"; empty means letters
	timeout   time.Duration
	keepGoing bool // after a failed notebook
	force     bool // run what has not changed, too
	out       string

	repo      string
	notebooks string                                                                          // folder of the notebooks
	prepare   func(ctx context.Context, repo string, say func(string)) (*kernel.Tools, error) // builds the kernel
	cache     string                                                                          // folder of executed notebooks; empty: none are kept
	atOnce    int                                                                             // notebooks that run side by side; 0 means one
	stdout    io.Writer
	begun     time.Time // for elapsed times on screen; in no file
}

// errUse marks wrong use: exit status 2.
var errUse = errors.New("wrong use")

// runCommand runs the notebooks and writes the report.
func runCommand(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	r := &runner{stdout: stdout, begun: time.Now(), cache: cacheFolder(), atOnce: sideBySide, prepare: func(ctx context.Context, repo string, say func(string)) (*kernel.Tools, error) {
		return kernel.Prepare(ctx, repo, say)
	}}
	code := r.parse(args, stdout, stderr)
	if code >= 0 {
		return code
	}
	var err error
	if r.repo, err = kernel.FindRepo(".", "lastsip"); err != nil {
		fmt.Fprintln(stderr, err)
		return 2
	}
	r.notebooks = filepath.Join(r.repo, "notebooks")
	if r.out == "" {
		r.out = filepath.Join(r.repo, "reports")
	}
	return r.report(ctx, stderr)
}

// report runs and turns the outcome into words and an exit status.
func (r *runner) report(ctx context.Context, stderr io.Writer) int {
	err := r.run(ctx)
	switch {
	case err == nil:
		return 0
	case ctx.Err() != nil:
		fmt.Fprintf(stderr, "interrupted: %v\nnothing was written; a report that was there before is as it was\n", err)
		return 1
	case errors.Is(err, errUse):
		fmt.Fprintf(stderr, "%v\n`run -h` tells how to use it\n", err)
		return 2
	}
	fmt.Fprintln(stderr, err)
	return 1
}

// parse reads the flags; -1 means go on.
func (r *runner) parse(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("run", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	fs.Func("session", "", func(s string) error { r.sessions = append(r.sessions, s); return nil })
	fs.StringVar(&r.only, "only", "", "")
	fs.Func("set", "", func(s string) error {
		name, value, ok := strings.Cut(s, "=")
		if !ok || name == "" {
			return errors.New("name=value is wanted")
		}
		r.set = append(r.set, nbformat.Setting{Name: name, Value: value})
		return nil
	})
	fs.StringVar(&r.names, "names", "letters", "")
	fs.DurationVar(&r.timeout, "timeout", execute.DefaultTimeout, "")
	fs.BoolVar(&r.keepGoing, "keep-going", false, "")
	fs.BoolVar(&r.force, "force", false, "")
	fs.StringVar(&r.out, "out", "", "")
	err := fs.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, runUsage)
		return 0
	case err != nil:
	case r.timeout <= 0:
		err = fmt.Errorf("-timeout %v: a time above zero is wanted", r.timeout)
	case r.names != "letters" && r.names != "real":
		err = fmt.Errorf("-names %s: \"letters\" or \"real\" is wanted", r.names)
	case fs.NArg() > 0:
		err = fmt.Errorf("%q is not a flag; sessions are named by -session %s", fs.Arg(0), fs.Arg(0))
	default:
		return -1
	}
	fmt.Fprintf(stderr, "%v\n\n%s", err, runUsage)
	return 2
}

func (r *runner) say(format string, args ...any) { fmt.Fprintf(r.stdout, format+"\n", args...) }

// run does everything in order: what can be wrong with the user's input comes first, what takes long comes last, and the
// report is written when all else is done.
func (r *runner) run(ctx context.Context) error {
	sessions, err := r.absoluteSessions()
	if err != nil {
		return err
	}
	if r.out, err = filepath.Abs(r.out); err != nil {
		return err
	}
	if target, err := filepath.EvalSymlinks(r.out); err == nil {
		r.out = target // what a link points at is replaced, not the link
	}
	if err := openOut(r.out); err != nil {
		return err
	}
	r.say("Reading %s ...", strings.Join(sessions, ", "))
	study, err := analysis.Open(sessions...)
	if err != nil {
		return err
	}
	jobs, err := r.jobs(study)
	if err != nil {
		return err
	}
	if err := r.executeChanged(ctx, sessions, jobs); err != nil {
		return err
	}
	r.say("Writing the report ...")
	if r.names == "real" {
		study = study.RealNames()
	}
	files, err := reportFiles(study, jobs)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := writeReport(r.out, files); err != nil {
		return err
	}
	r.say("Done in %s: %s", shortTime(time.Since(r.begun)), filepath.Join(r.out, "index.html"))
	return failures(jobs)
}

// failures is what is wrong with a report that was written all the same.
func failures(jobs []*job) error {
	var bad []error
	for _, j := range jobs {
		if j.err != nil {
			bad = append(bad, j.err)
		}
	}
	if bad == nil {
		return nil
	}
	return fmt.Errorf("%w\nthe report was written without %s", errors.Join(bad...), plural(len(bad), "notebook"))
}

// absoluteSessions makes the folders absolute, since cells run elsewhere.
func (r *runner) absoluteSessions() ([]string, error) {
	if len(r.sessions) == 0 {
		return analysis.DemoSessions(), nil
	}
	var out []string
	for _, s := range r.sessions {
		if !strings.HasPrefix(s, "demo:") {
			abs, err := filepath.Abs(s)
			if err != nil {
				return nil, err
			}
			if strings.Contains(abs, sessionSeparator) {
				return nil, fmt.Errorf("the path %q has a line end in it, at which the list of sessions would be cut; rename the folder", abs)
			}
			s = abs
		}
		out = append(out, s)
	}
	return out, nil
}
