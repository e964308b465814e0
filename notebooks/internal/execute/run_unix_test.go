//go:build unix

package execute

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/jupyter/jupytertest"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

const role = "LASTSIP_TEST_ROLE"

func TestMain(m *testing.M) {
	switch os.Getenv(role) {
	case "refuses": // says no to every cell, without any output
		serve(&jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
			status := "error"
			if r.Silent {
				status = "ok"
			}
			r.Reply(status)
			r.Status("idle")
		}})
	case "records": // writes down what came over shell
		serve(&jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
			r.Stream("stdout", r.Code)
			r.Reply("ok")
			r.Status("idle")
		}})
	default:
		os.Exit(m.Run())
	}
}

func serve(k *jupytertest.Kernel) {
	at := slices.Index(os.Args, "--kernel")
	if err := k.Serve(context.Background(), os.Args[at+1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func repoRoot(t testing.TB) string {
	t.Helper()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(t, err)
	return repo
}

// acting starts this test program in a role, as a kernel.
func acting(t *testing.T, as string) *kernel.Kernel {
	t.Helper()
	dir := t.TempDir()
	self, err := os.Executable()
	require.NoError(t, err)
	script := fmt.Sprintf("#!/bin/sh\n%s='%s' exec '%s' \"$@\"\n", role, as, self)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "gonb"), []byte(script), 0o755))
	return begin(t, &kernel.Tools{Dir: dir, Repo: repoRoot(t)})
}

func begin(t testing.TB, tools *kernel.Tools) *kernel.Kernel {
	t.Helper()
	k, err := tools.Start(context.Background(), kernel.Settings{Dir: repoRoot(t)})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, k.Close()) })
	return k
}

var prepare = sync.OnceValues(func() (*kernel.Tools, error) {
	repo, err := kernel.FindRepo(".", "lastsip")
	if err != nil {
		return nil, err
	}
	return kernel.Prepare(context.Background(), repo, nil, "./analysis/answer")
})

// real starts the real kernel.
func real(t testing.TB) *kernel.Kernel {
	t.Helper()
	if testing.Short() {
		t.Skip("the real kernel is not started under -short")
	}
	tools, err := prepare()
	require.NoError(t, err)
	return begin(t, tools)
}

func cells(sources ...string) *nbformat.Notebook {
	nb := &nbformat.Notebook{Name: "n.ipynb", Cells: []nbformat.Cell{{Type: "markdown", Source: "# title"}}}
	for _, s := range sources {
		nb.Cells = append(nb.Cells, nbformat.Cell{Type: "code", Source: s})
	}
	return nb
}

func TestKernelThatRefusesFailsTheRun(t *testing.T) {
	nb := cells("", "b")
	nb.Cells[2].Outputs = []nbformat.Output{{Type: "stream", Name: "stdout", Text: "of an earlier run"}}
	err := Run(context.Background(), acting(t, "refuses"), nb, Options{})
	var failed *CellError
	require.ErrorAs(t, err, &failed)
	require.EqualError(t, err, "n.ipynb, cell 2: Refused: not today")
	require.Equal(t, "error", nb.Cells[1].Outputs[0].Type)
	require.Empty(t, nb.Cells[2].Outputs, "a cell that did not run shows nothing")
}

func TestEveryCodeCellGoesOverShellInOrder(t *testing.T) {
	nb := cells("a", "", "b\nc")
	nb.Cells = append(nb.Cells, nbformat.Cell{Type: "raw", Source: "not code"})
	var steps []Step
	require.NoError(t, Run(context.Background(), acting(t, "records"), nb, Options{Progress: func(s Step) { s.Took = 0; steps = append(steps, s) }}))
	for i, want := range []string{"a", "", "b\nc"} {
		require.Equal(t, want, nb.Cells[i+1].Outputs[0].Text)
		require.Equal(t, i+1, *nb.Cells[i+1].ExecutionCount)
	}
	require.Nil(t, nb.Cells[4].ExecutionCount)
	require.Equal(t, []Step{{2, 1, 3, 0, false}, {3, 2, 3, 0, false}, {4, 3, 3, 0, false}}, steps)
}

// One failure each on the real kernel: located, and nothing left of kernel, cell and temporary folder.
func TestFailuresOnTheRealKernel(t *testing.T) {
	for _, tt := range []struct {
		name  string
		cells []string
		want  []string
	}{
		{"panic", []string{"func f(n int) int {\n\treturn 1 / n\n}", "%%\nfmt.Println(f(0))"}, []string{"n.ipynb, cell 2, line 2: panic: runtime error: integer divide by zero", "\treturn 1 / n"}},
		{"exit", []string{"%%\nos.Exit(3)"}, []string{"n.ipynb, cell 2: its program ended with exit status 3"}},
		{"fatal", []string{"%%\nlog.SetFlags(0)\nlog.Fatal(\"no sours tonight\")"}, []string{"n.ipynb, cell 2: no sours tonight (exit status 1)"}},
		{"shell line", []string{"!false"}, []string{"n.ipynb, cell 2: its program ended with exit status 1"}},
		{"mistyped", []string{"import \"lastsip/analysis/answer\"\n%%\n\tx := answer.Off(3)\n\tfmt.Println(x)"}, []string{"n.ipynb, cell 2, line 3: undefined: answer.Off", "\n    \tx := answer.Off(3)\n    \t            ^"}},
		{"syntax", []string{"x := 3"}, []string{"n.ipynb, cell 2, line 1: expected declaration, found x; statements follow a line that says %%", "\n    x := 3\n    ^"}},
		{"no such package", []string{"import \"lastsip/nowhere\"\n%%\nnowhere.F()"}, []string{"n.ipynb, cell 2, line 1: package lastsip/nowhere is not in std"}},
		{"deadlock", []string{"%%\nselect {}"}, []string{"n.ipynb, cell 2, line 2: fatal error: all goroutines are asleep"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			k := real(t)
			nb := cells(append(tt.cells, "%%\nfmt.Println(\"must not run\")")...)
			err := Run(context.Background(), k, nb, Options{})
			var failed *CellError
			require.ErrorAs(t, err, &failed)
			for _, want := range tt.want {
				require.ErrorContains(t, err, want)
			}
			require.NotContains(t, err.Error(), k.Temp)
			require.NotContains(t, err.Error(), "\x1b")
			last := nb.Cells[len(nb.Cells)-1]
			require.Empty(t, last.Outputs)
			require.Nil(t, last.ExecutionCount)
			out, encErr := nbformat.Encode(nb)
			require.NoError(t, encErr)
			require.NotContains(t, string(out), k.Temp)
			requireNothingLeft(t, k)
		})
	}
}

func requireNothingLeft(t *testing.T, k *kernel.Kernel) {
	t.Helper()
	require.NoError(t, k.Close())
	require.Eventually(t, func() bool { return jupytertest.GroupGone(k.PID()) }, 3*time.Second, 10*time.Millisecond, "a process is left")
	require.NoDirExists(t, k.Temp)
}

func TestFineCellsOnTheRealKernel(t *testing.T) {
	t.Parallel()
	nb := cells("const style = \"sour\"", "const style = \"stirred\"", "import \"lastsip/analysis/answer\"\n%%\nfmt.Println(style, answer.Of(3))",
		"%%\nfmt.Fprintln(os.Stderr, \"all is well\")\nfmt.Println(\"exit status 3\")", "// only a remark", "")
	require.NoError(t, Run(context.Background(), real(t), nb, Options{}))
	require.Equal(t, "stirred 3\n", nb.Cells[3].Outputs[0].Text)
	for i := range nb.Cells[1:] {
		require.Equal(t, i+1, *nb.Cells[i+1].ExecutionCount)
	}
}

func TestEndlessPrintingIsBounded(t *testing.T) {
	t.Parallel()
	k := real(t)
	nb := cells("%%\nfor i := 0; ; i++ {\n\tfmt.Println(\"line\", i)\n}")
	begin := time.Now()
	err := Run(context.Background(), k, nb, Options{MaxBytes: 1 << 20})
	require.ErrorIs(t, err, jupyter.ErrFlood)
	require.ErrorContains(t, err, "n.ipynb, cell 2: it gave more than 1048576 bytes of output")
	require.Less(t, time.Since(begin), 30*time.Second)
	require.True(t, strings.HasPrefix(nb.Cells[1].Outputs[0].Text, "line 0\nline 1\n"))
	requireNothingLeft(t, k)
}

func TestEndlessLoopIsTimedOut(t *testing.T) {
	t.Parallel()
	k := real(t)
	nb := cells("%%\nfmt.Println(\"on my way\")\nfor {\n}")
	err := Run(context.Background(), k, nb, Options{Timeout: 3 * time.Second})
	var failed *CellError
	require.ErrorAs(t, err, &failed)
	require.ErrorContains(t, err, "n.ipynb, cell 2: it took longer than 3s and was interrupted; -timeout sets another limit")
	require.NotErrorIs(t, err, jupyter.ErrStuck)
	require.Equal(t, "on my way\n", nb.Cells[1].Outputs[0].Text)
	requireNothingLeft(t, k)
}

func TestDeafCellIsKilled(t *testing.T) {
	t.Parallel()
	k := real(t)
	nb := cells("import \"os/signal\"\n%%\nsignal.Ignore(os.Interrupt)\nfor {\n}")
	err := Run(context.Background(), k, nb, Options{Timeout: 3 * time.Second})
	require.ErrorIs(t, err, jupyter.ErrStuck)
	requireNothingLeft(t, k)
}

func TestCancelledRunStops(t *testing.T) {
	t.Parallel()
	k := real(t)
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(2*time.Second, cancel)
	err := Run(ctx, k, cells("%%\ntime.Sleep(time.Hour)"), Options{})
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorContains(t, err, "n.ipynb, cell 2")
	requireNothingLeft(t, k)
}

func TestKilledKernelIsReported(t *testing.T) {
	t.Parallel()
	k := real(t)
	time.AfterFunc(2*time.Second, func() { _ = syscall.Kill(k.PID(), syscall.SIGKILL) })
	begin := time.Now()
	err := Run(context.Background(), k, cells("%%\ntime.Sleep(time.Hour)"), Options{})
	require.ErrorIs(t, err, kernel.ErrDied)
	require.ErrorContains(t, err, "n.ipynb, cell 2: the notebook kernel died (signal: killed)")
	require.Less(t, time.Since(begin), 10*time.Second)
	requireNothingLeft(t, k)
}

func TestTwoRunsDoNotMeet(t *testing.T) {
	t.Parallel()
	ks := []*kernel.Kernel{real(t), real(t)}
	errs := make(chan error, 2)
	nbs := []*nbformat.Notebook{cells("const who = \"a\"", "%%\nfmt.Print(who)"), cells("const who = \"b\"", "%%\nfmt.Print(who)")}
	for i := range nbs {
		go func() { errs <- Run(context.Background(), ks[i], nbs[i], Options{}) }()
	}
	require.NoError(t, <-errs)
	require.NoError(t, <-errs)
	require.Equal(t, "a", nbs[0].Cells[2].Outputs[0].Text)
	require.Equal(t, "b", nbs[1].Cells[2].Outputs[0].Text)
}
