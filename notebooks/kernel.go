package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"lastsip/notebooks/internal/kernel"
)

const kernelUsage = `kernel

Installs the kernel "Go (lastsip)" for JupyterLab, Jupyter Notebook, nbconvert and
VS Code: builds everything now, runs a first cell, and writes the kernelspec into
Jupyter's data folder (JUPYTER_DATA_DIR, or the platform's place). Jupyter itself
is not needed for that. Run it again when the checkout has moved or changed.

  JupyterLab   start it anywhere; choose the notebook "Go (lastsip)"
  VS Code      with the Jupyter extension: Select Kernel, Jupyter Kernel, Go (lastsip)
  nbconvert    jupyter nbconvert --execute --to notebook NAME.ipynb
  remove it    jupyter kernelspec remove lastsip, or delete the folder

Example:

  go run ./notebooks kernel
`

// trialCell proves that a cell imports the packages, opens a session and draws.
const trialCell = `import (
	"lastsip/analysis"
	"lastsip/notebooks/show"
)
%%
study := analysis.MustOpen("demo:sour-evening")
show.Figure(study.MustServeBy("sour"))`

const kernelAgain = "go run ./notebooks kernel"

const notebooksPackage = "./notebooks"

// kernelCommand installs the kernel for JupyterLab.
func kernelCommand(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("kernel", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	switch err := fs.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, kernelUsage)
		return 0
	case err != nil:
		fmt.Fprintf(stderr, "%v\n\n%s", err, kernelUsage)
		return 2
	case fs.NArg() > 0:
		fmt.Fprintf(stderr, "kernel takes no arguments\n\n%s", kernelUsage)
		return 2
	}
	repo, err := kernel.FindRepo(".", "lastsip")
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 2
	}
	spec := kernel.Spec{
		Name: "lastsip", DisplayName: "Go (lastsip)", Program: notebooksPackage, Launch: "launch", Trial: trialCell,
		Env: func(program string) []string { return []string{drawVariable + "=" + program} },
	}
	place, err := kernel.Install(ctx, repo, spec, func(s string) { fmt.Fprintln(stdout, s) })
	if err != nil {
		fmt.Fprintf(stderr, "%v\nnothing was installed; a kernel that was there before is as it was\n", err)
		return 1
	}
	fmt.Fprintf(stdout, `Installed the kernel "Go (lastsip)": %s

JupyterLab: start it in any folder and choose the notebook "Go (lastsip)".
VS Code: with the Jupyter extension, Select Kernel, Jupyter Kernel, Go (lastsip).
A first cell:

  import ("lastsip/analysis"; "lastsip/notebooks/show")
  %%%%
  study := analysis.MustOpen("demo:sour-evening")
  show.Figure(study.MustLifetime("sour"))

A folder named in analysis.MustOpen is relative to the notebook. Completion of code
comes with gopls on PATH and is not needed. The kernel uses the code of this
checkout; after moving it or changing the code run this command again.
`, place)
	return 0
}

// launchCommand is what Jupyter starts: it runs the kernel on a connection file.
func launchCommand(ctx context.Context, args []string, _, stderr io.Writer) int {
	if len(args) != 1 {
		fmt.Fprintln(stderr, "launch takes a connection file: it is called by Jupyter, for the kernel that the verb kernel installs")
		return 2
	}
	// Interrupts come as messages; the terminal's Ctrl-C is meant for the front end. It is caught and dropped, not ignored,
	// since programs started from here would inherit that.
	signal.Notify(make(chan os.Signal, 1), os.Interrupt)
	ctx, stop := signal.NotifyContext(context.WithoutCancel(ctx), syscall.SIGTERM)
	defer stop()
	if err := launch(ctx, args[0], stderr); err != nil {
		fmt.Fprintf(stderr, "kernel Go (lastsip): %v\n", err)
		return 1
	}
	return 0
}

func launch(ctx context.Context, connection string, stderr io.Writer) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	in, err := kernel.ReadInstalled(self)
	if err != nil {
		return fmt.Errorf("this program is not an installed kernel: %w; run `%s` in the checkout", err, kernelAgain)
	}
	tools, stale, err := in.Ready(ctx, notebooksPackage, kernelAgain)
	if err != nil {
		return err
	}
	if stale != "" {
		fmt.Fprintln(stderr, stale)
	}
	err = tools.Launch(ctx, connection, []string{drawVariable + "=" + self, staleVariable + "=" + stale})
	if errors.Is(err, context.Canceled) { // the front end ended us
		return nil
	}
	return err
}
