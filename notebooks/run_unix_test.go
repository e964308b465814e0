//go:build unix

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/execute"
	"lastsip/notebooks/internal/jupyter/jupytertest"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// TestMain lets the test program play the drawing program, which cells call, and a kernel that refuses every cell.
func TestMain(m *testing.M) {
	switch {
	case len(os.Args) >= 2 && os.Args[1] == "draw":
		os.Exit(dispatch(context.Background(), os.Args[1:], os.Stdout, os.Stderr))
	case os.Getenv("LASTSIP_TEST_ROLE") == "refuses":
		k := jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
			status := "error"
			if r.Silent {
				status = "ok"
			}
			r.Reply(status)
			r.Status("idle")
		}}
		at := slices.Index(os.Args, "--kernel")
		if err := k.Serve(context.Background(), os.Args[at+1]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	default:
		os.Exit(m.Run())
	}
}

type cell struct{ kind, tag, source string }

// writeNotebook writes a throwaway notebook.
func writeNotebook(t *testing.T, dir, name string, cells ...cell) {
	t.Helper()
	nb := &nbformat.Notebook{Name: name}
	for _, c := range cells {
		var tags []string
		if c.tag != "" {
			tags = []string{c.tag}
		}
		nb.Cells = append(nb.Cells, nbformat.Cell{Type: c.kind, Tags: tags, Source: c.source})
	}
	b, err := nbformat.Encode(nb)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), b, 0o644))
}

const open = "%%\nstudy := analysis.MustOpen(show.Sessions()...)\n"

// goodNotebooks are a style notebook and one about all, small.
func goodNotebooks(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	writeNotebook(t, dir, "style.ipynb",
		cell{"code", "parameters", "const style = \"sour\"\nconst words = \"none\""},
		cell{"code", "", "import (\n\t\"lastsip/analysis\"\n\t\"lastsip/notebooks/show\"\n)\n\n" + open + "show.Headline(study.MustServeBy(style))\nshow.Figure(study.MustServeBy(style))"},
		cell{"code", "", open + "life := study.MustLifetime(style)\nshow.Say(life)\nshow.Figure(life)"},
		cell{"code", "detail", open + "show.Table(study.MustLifetime(style))\nfmt.Println(words)"})
	writeNotebook(t, dir, "overview.ipynb",
		cell{"markdown", "", "# What was tasted"},
		cell{"code", "", "import (\n\t\"lastsip/analysis\"\n\t\"lastsip/notebooks/show\"\n)\n\n" + open + "show.Opened(study)\nshow.Table(study.MustData())"})
	return dir
}

// testRunner is a run on small notebooks into a new folder.
func testRunner(t *testing.T, notebooks string) (*runner, *bytes.Buffer) {
	t.Helper()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(t, err)
	var said bytes.Buffer
	return &runner{
		timeout: execute.DefaultTimeout, out: filepath.Join(t.TempDir(), "reports"), repo: repo, notebooks: notebooks, stdout: &said, begun: time.Now(),
		prepare: func(ctx context.Context, repo string, say func(string)) (*kernel.Tools, error) {
			return kernel.Prepare(ctx, repo, say, "./notebooks/show")
		},
	}, &said
}

func needsKernel(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("the real kernel is not started under -short")
	}
}

func filesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(b)
	}
	return out
}

// whoAmI is a cell that tells the kernel's process group and temporary folder.
const whoAmI = "%%\nfmt.Println(syscall.Getpgrp(), filepath.Base(os.Getenv(\"TMPDIR\")))"

func requireKernelGone(t *testing.T, said string) {
	t.Helper()
	var group int
	var temp string
	_, err := fmt.Sscanln(said, &group, &temp)
	require.NoError(t, err)
	require.Positive(t, group)
	require.True(t, jupytertest.GroupGone(group), "a process of the kernel is left")
	require.NoDirExists(t, filepath.Join(os.TempDir(), fmt.Sprintf("lastsip-%d", os.Getuid()), temp))
}

func TestReportOnTheRealKernel(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := goodNotebooks(t)
	before := filesOf(t, dir)
	r, said := testRunner(t, dir)
	var errs bytes.Buffer
	require.Zero(t, r.report(context.Background(), &errs), errs.String())
	got := filesOf(t, r.out)
	for _, name := range []string{"index.html", "results.csv", "overview.html", "overview.ipynb", "style-sour.html", "style-sour.ipynb", "style-stirred.html", "style-stirred.ipynb",
		"style-sour-cell-2.svg", "style-sour-cell-3.svg", "style-stirred-cell-2.svg", "style-stirred-cell-3.svg"} {
		require.Contains(t, got, name)
	}
	require.Contains(t, got["style-sour-cell-3.svg"], "<svg")
	require.Equal(t, 4, strings.Count(got["style-sour.html"], `data-lastsip="figure"`), "two figures, each wide and narrow, stand in the page")
	require.Contains(t, got["style-stirred.ipynb"], `const style = \"stirred\"`)
	require.Contains(t, got["style-stirred.ipynb"], "application/vnd.lastsip.rows+json")
	require.Contains(t, got["index.html"], "style-sour.html")
	require.Contains(t, got["index.html"], "What was tasted")
	require.Contains(t, got["results.csv"], "\nserve_by,,sour,")
	require.Contains(t, got["results.csv"], "\nlifetime,,stirred,")
	require.Equal(t, before, filesOf(t, dir), "the notebooks are as they were")
	require.Contains(t, said.String(), "style-stirred, parameters (8 of 16)")
	requireAlone(t, r.out)

	again, _ := testRunner(t, dir)
	again.out = r.out
	require.Zero(t, again.report(context.Background(), &errs), errs.String())
	require.Equal(t, got, filesOf(t, r.out), "same inputs, same bytes")
}

// requireAlone looks for half-written things beside a report.
func requireAlone(t *testing.T, out string) {
	t.Helper()
	beside, err := filepath.Glob(filepath.Join(filepath.Dir(out), ".*"))
	require.NoError(t, err)
	require.Empty(t, beside)
}

func TestFailedCellLeavesTheLastReport(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := t.TempDir()
	writeNotebook(t, dir, "broken.ipynb", cell{"markdown", "", "# b"}, cell{"code", "", whoAmI},
		cell{"code", "", "import \"lastsip/analysis\"\n%%\nanalysis.MustOpen(\"nowhere\")"}, cell{"code", "", "%%\nfmt.Println(\"never\")"})
	r, _ := testRunner(t, dir)
	require.NoError(t, writeReport(r.out, map[string][]byte{marker: nil, "index.html": []byte("the last good one")}))
	var errs bytes.Buffer
	require.Equal(t, 1, r.report(context.Background(), &errs))
	require.Contains(t, errs.String(), "broken.ipynb, cell 3: nowhere:\nnowhere: file is missing")
	require.Contains(t, errs.String(), filepath.Join(r.out+"-failed", "broken.ipynb"))
	require.Equal(t, map[string]string{marker: "", "index.html": "the last good one"}, filesOf(t, r.out))
	kept, err := nbformat.ReadFile(filepath.Join(r.out+"-failed", "broken.ipynb"))
	require.NoError(t, err)
	requireKernelGone(t, kept.Cells[1].Outputs[0].Text)
	require.Empty(t, kept.Cells[3].Outputs)
	requireAlone(t, r.out)
}

func TestKernelThatRefusesFailsTheRun(t *testing.T) {
	t.Parallel()
	r, _ := testRunner(t, goodNotebooks(t))
	r.prepare = func(context.Context, string, func(string)) (*kernel.Tools, error) {
		dir := t.TempDir()
		self, err := os.Executable()
		require.NoError(t, err)
		script := fmt.Sprintf("#!/bin/sh\nLASTSIP_TEST_ROLE=refuses exec '%s' \"$@\"\n", self)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "gonb"), []byte(script), 0o755))
		return &kernel.Tools{Dir: dir, Repo: r.repo}, nil
	}
	var errs bytes.Buffer
	require.Equal(t, 1, r.report(context.Background(), &errs))
	require.Contains(t, errs.String(), "overview.ipynb, cell 2: Refused: not today")
	require.NoDirExists(t, r.out)
}

func TestInterruptedRunWritesNothing(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := t.TempDir()
	writeNotebook(t, dir, "slow.ipynb", cell{"code", "", "%%\ntime.Sleep(time.Hour)"})
	r, _ := testRunner(t, dir)
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(3*time.Second, cancel)
	var errs bytes.Buffer
	require.Equal(t, 1, r.report(ctx, &errs))
	require.Contains(t, errs.String(), "interrupted: ")
	require.NoDirExists(t, r.out)
	require.NoDirExists(t, r.out+"-failed")
	requireAlone(t, r.out)
}

func TestTwoRunsAtOnceIntoOneFolder(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := t.TempDir()
	writeNotebook(t, dir, "quick.ipynb", cell{"code", "", whoAmI})
	a, _ := testRunner(t, dir)
	b, _ := testRunner(t, dir)
	b.out = a.out
	var errsA, errsB bytes.Buffer
	codes := make(chan int, 2)
	go func() { codes <- a.report(context.Background(), &errsA) }()
	go func() { codes <- b.report(context.Background(), &errsB) }()
	require.Zero(t, <-codes+<-codes, errsA.String()+errsB.String())
	nb, err := nbformat.ReadFile(filepath.Join(a.out, "quick.ipynb"))
	require.NoError(t, err)
	requireKernelGone(t, nb.Cells[0].Outputs[0].Text)
	requireAlone(t, a.out)
}

func TestCellsSeeTheSessionsGiven(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := t.TempDir()
	writeNotebook(t, dir, "which.ipynb", cell{"code", "", "import (\n\t\"lastsip/notebooks/show\"\n)\n%%\nfor _, s := range show.Sessions() {\n\tfmt.Println(s)\n}"})
	session := filepath.Join(t.TempDir(), "an evening: late")
	require.NoError(t, os.CopyFS(session, os.DirFS("../datasets/sour-evening")))
	r, _ := testRunner(t, dir)
	r.sessions = []string{session, "demo:stirred-evening"}
	var errs bytes.Buffer
	require.Zero(t, r.report(context.Background(), &errs), errs.String())
	nb, err := nbformat.ReadFile(filepath.Join(r.out, "which.ipynb"))
	require.NoError(t, err)
	require.Equal(t, session+"\ndemo:stirred-evening\n", nb.Cells[0].Outputs[0].Text)
}

// requireReport runs and gives the files of the report and what was said.
func requireReport(t *testing.T, r *runner, said *bytes.Buffer) (map[string]string, string) {
	t.Helper()
	said.Reset()
	var errs bytes.Buffer
	require.Zero(t, r.report(context.Background(), &errs), errs.String())
	return filesOf(t, r.out), said.String()
}

func TestUnchangedNotebooksAreNotRunAgain(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir, session := goodNotebooks(t), filepath.Join(t.TempDir(), "evening")
	require.NoError(t, os.CopyFS(session, os.DirFS("../datasets/sour-evening")))
	r, said := testRunner(t, dir)
	r.sessions, r.cache, r.atOnce = []string{session}, t.TempDir(), 2
	first, words := requireReport(t, r, said)
	require.Contains(t, words, "Running 2 notebooks")
	real := r.prepare
	r.prepare = func(context.Context, string, func(string)) (*kernel.Tools, error) {
		require.Fail(t, "a kernel is wanted")
		return nil, nil
	}
	again, words := requireReport(t, r, said)
	require.Contains(t, words, "2 notebooks of 2: nothing has changed")
	require.Equal(t, first, again, "kept notebooks make the same bytes")

	r.prepare = real
	writeNotebook(t, dir, "overview.ipynb", cell{"code", "", "%%\nshow.Opened(show.Study())"})
	_, words = requireReport(t, r, said)
	require.Contains(t, words, "1 notebook of 2: nothing has changed")
	require.Contains(t, words, "Running 1 notebook ")
	require.Contains(t, words, "overview, cell 1 (1 of 1)")
	appendTo(t, filepath.Join(session, "tastes.csv"), "\n")
	_, words = requireReport(t, r, said)
	require.Contains(t, words, "Running 2 notebooks")
	r.force = true
	_, words = requireReport(t, r, said)
	require.Contains(t, words, "Running 2 notebooks")
}

func TestKeepGoing(t *testing.T) {
	needsKernel(t)
	t.Parallel()
	dir := t.TempDir()
	writeNotebook(t, dir, "a_broken.ipynb", cell{"markdown", "", "# b"}, cell{"code", "", "%%\nfmt.Println(1)\npanic(\"no ice\")"})
	writeNotebook(t, dir, "b_good.ipynb", cell{"code", "", whoAmI})
	r, _ := testRunner(t, dir)
	r.keepGoing, r.cache = true, t.TempDir()
	for _, r.atOnce = range []int{1, 2} {
		var errs bytes.Buffer
		require.Equal(t, 1, r.report(context.Background(), &errs))
		require.Contains(t, errs.String(), "a_broken.ipynb, cell 2, line 3: panic: no ice")
		require.Contains(t, errs.String(), "    panic(\"no ice\")")
		require.Contains(t, errs.String(), filepath.Join(r.out+"-failed", "a_broken.ipynb"))
		require.Contains(t, errs.String(), "the report was written without 1 notebook")
		got := filesOf(t, r.out)
		require.Contains(t, got, "b_good.html")
		require.NotContains(t, got, "a_broken.html")
		require.Contains(t, got["index.html"], "Not in this report, as a cell failed: a_broken")
		require.Contains(t, got["index.html"], "a_broken.ipynb, cell 2, line 3")
	}
	require.NoError(t, os.Remove(filepath.Join(dir, "b_good.ipynb")))
	before := filesOf(t, r.out)
	var errs bytes.Buffer
	require.Equal(t, 1, r.report(context.Background(), &errs))
	require.Contains(t, errs.String(), "every notebook failed: no report was written")
	require.Equal(t, before, filesOf(t, r.out))
}
