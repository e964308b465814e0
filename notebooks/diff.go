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

	"lastsip/analysis/report"
)

const diffUsage = `diff A B

Compares two runs number by number: A and B are folders that hold a results.csv
(of run, or of answer -out), or such files. Says every row that only one has and
every number that differs. Exit status 0: they agree; 1: they differ.

Example, on the sessions that come with the program:

  go run ./notebooks answer demo:sour-evening -out first
  go run ./notebooks answer demo:sour-evening -out second
  go run ./notebooks diff first second
`

// diffCommand compares two results.csv.
func diffCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("diff", flag.ContinueOnError)
	names, code := parseMixed(fs, args, diffUsage, stdout, stderr)
	if code >= 0 {
		return code
	}
	if len(names) != 2 {
		fmt.Fprintf(stderr, "two runs are compared, %d named\n\n%s", len(names), diffUsage)
		return 2
	}
	a, errA := resultsOf(names[0])
	b, errB := resultsOf(names[1])
	if err := errors.Join(errA, errB); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	changes, err := report.Diff(bytes.NewReader(a), bytes.NewReader(b), names[0], names[1])
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	for _, c := range changes {
		fmt.Fprintln(stdout, c)
	}
	if len(changes) > 0 {
		fmt.Fprintf(stdout, "%d differences\n", len(changes))
		return 1
	}
	fmt.Fprintln(stdout, "the two agree in every number")
	return 0
}

// resultsOf reads the results.csv of a run, or the file itself.
func resultsOf(name string) ([]byte, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		name = filepath.Join(name, "results.csv")
	}
	return os.ReadFile(name)
}
