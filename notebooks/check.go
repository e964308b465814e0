package main

import (
	"context"
	"flag"
	"fmt"
	"io"

	"lastsip/analysis"
	"lastsip/analysis/report"
)

const checkUsage = `check DIR... [-long OUT]

Says what session folders hold (tasters by name, styles, serves, ages, batches,
gaps), which settings and defaults were taken, and everything odd about them.
Faults are told all at once, each with file, line, column, value and remedy.

With -long also writes the session into a new or empty folder, a wide table (a row
is a glass, ages stand in the headings) in the long form, the rest as it is.

Example, on a session that comes with the program:

  go run ./notebooks check demo:sour-evening
`

// checkCommand tells what the sessions named hold. Findings are no failure; faults are.
func checkCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("check", flag.ContinueOnError)
	long := fs.String("long", "", "also write the long form into this folder")
	dirs, code := parseMixed(fs, args, checkUsage, stdout, stderr)
	if code >= 0 {
		return code
	}
	study, err := analysis.Open(dirs...)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	data, err := study.NamesAndLetters().Data()
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	if _, err := io.WriteString(stdout, report.Check(data, report.Ink{Colour: colourful(stdout)})); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	if *long == "" {
		return 0
	}
	if err := study.WriteLong(*long); err != nil {
		fmt.Fprintf(stderr, "the long form was not written: %v\n", err)
		return 1
	}
	fmt.Fprintf(stdout, "\nwrote %s\n", *long)
	return 0
}
