// Command notebooks answers how long drinks stay as good as they should be, from folders of tastes: with a report made by
// running real Go notebooks on a real kernel (run), or in words in the terminal (answer, check).
//
//	go run ./notebooks                             the report on the sessions that come with the program
//	go run ./notebooks run -session my-evening     the report on your own
//	go run ./notebooks answer my-evening           the answers in words, no kernel
//	go run ./notebooks check my-evening            what the folder holds, and everything odd about it
//
// Exit status of the built program: 0 fine; 1 the data or a cell is wrong, said where; 2 wrong use.
//
// A run writes its report whole or not at all: everything is put into a folder beside the last report, which is then
// exchanged for it by renaming. The notebooks themselves are never written to.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

const usage = `notebooks [VERB] [ARGUMENTS]

  run      runs the notebooks and writes the report (what happens without a verb,
           on the sessions that come with the program)
  answer   the answers in words, in the terminal, without a kernel
  check    what session folders hold, and everything odd about them
  diff     compares two runs number by number
  new      writes a blank evening to fill in
  kernel   installs the kernel for JupyterLab and VS Code

VERB -h tells more about each.

Example:

  go run ./notebooks run -session demo:sour-evening
`

type command func(ctx context.Context, args []string, stdout, stderr io.Writer) int

func main() {
	ctx := context.Background()
	if catches(os.Args[1:]) {
		var stop context.CancelFunc
		ctx, stop = signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
		context.AfterFunc(ctx, stop) // a second signal ends the program at once; what it started ends with it
	}
	os.Exit(dispatch(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// catches tells whether a verb has something to clear away when it is interrupted; all others end at once.
func catches(args []string) bool {
	if len(args) == 0 {
		return true
	}
	switch args[0] {
	case "run", "kernel", "launch":
		return true
	}
	return false
}

// dispatch calls the verb and gives the exit status.
func dispatch(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	verbs := map[string]command{
		"run": runCommand, "answer": answerCommand, "check": checkCommand, "diff": diffCommand, "new": newCommand,
		"kernel": kernelCommand,
		"draw":   drawCommand,   // not for people: cells call it
		"launch": launchCommand, // nor this: Jupyter calls it
	}
	if len(args) == 0 {
		return runCommand(ctx, nil, stdout, stderr)
	}
	switch args[0] {
	case "-h", "-help", "--help", "help":
		fmt.Fprint(stdout, usage)
		return 0
	}
	verb, known := verbs[args[0]]
	if !known {
		fmt.Fprintf(stderr, "there is no verb %q\n\n%s", args[0], usage)
		return 2
	}
	return verb(ctx, args[1:], stdout, stderr)
}
