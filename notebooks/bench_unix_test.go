//go:build unix

package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/execute"
	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/kernel"
)

// BenchmarkTenWarmCells runs ten cells, no two alike and none like an earlier one, on a kernel whose packages are built:
// six figures (drawn by another program), two tables, two in words, on a demonstration session. It reports the median and
// the slowest cell in seconds.
//
//	go test ./notebooks -run - -bench TenWarmCells -benchtime 3x
func BenchmarkTenWarmCells(b *testing.B) {
	b.ReportAllocs()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(b, err)
	tools, err := kernel.Prepare(context.Background(), repo, nil, "./notebooks/show")
	require.NoError(b, err)
	self, err := os.Executable()
	require.NoError(b, err)
	k, err := tools.Start(context.Background(), kernel.Settings{Dir: filepath.Join(repo, "notebooks"), Env: []string{sessionsVariable + "=demo:sour-evening", drawVariable + "=" + self}})
	require.NoError(b, err)
	defer k.Close()
	do := func(code string) time.Duration {
		begin := time.Now()
		r, err := k.Client.Execute(context.Background(), code, jupyter.Options{})
		require.NoError(b, err)
		require.Equal(b, "ok", r.Status, r.Reason)
		require.NotEmpty(b, r.Outputs)
		require.Empty(b, r.LastStderr)
		return time.Since(begin)
	}
	do("import (\n\t\"lastsip/analysis\"\n\t\"lastsip/notebooks/show\"\n)\n" + open + "show.Opened(study)")
	cells := []string{"show.Figure(study.MustServeBy(style))", "show.Figure(study.MustLifetime(style))", "show.Figure(study.MustRejections(style))",
		"show.Figure(study.MustScores(style))", "life := study.MustLifetime(style)\nshow.Say(life)\nshow.Figure(life)", "act := study.MustServeBy(style)\nshow.Headline(act)\nshow.Figure(act)",
		"show.Table(study.MustLifetime(style))", "show.Table(study.MustScores(style))", "show.Say(study.MustRejections(style))", "show.Say(study.MustGlass(style))"}
	var took []time.Duration
	n := 0
	for b.Loop() {
		for _, c := range cells {
			n++
			took = append(took, do(fmt.Sprintf("%sconst style = \"sour\"\n_ = %d\n%s", open, n, c)))
		}
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2].Seconds(), "s/cell-median")
	b.ReportMetric(took[len(took)-1].Seconds(), "s/cell-slowest")
}

// BenchmarkSideBySide runs a whole report on the demonstration sessions, no notebook reused, with one and with two notebooks
// at a time.
//
//	go test ./notebooks -run - -bench SideBySide -benchtime 3x
func BenchmarkSideBySide(b *testing.B) {
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(b, err)
	for _, atOnce := range []int{1, 2} {
		b.Run(fmt.Sprintf("at once=%d", atOnce), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r := &runner{
					timeout: execute.DefaultTimeout, out: filepath.Join(b.TempDir(), "reports"), repo: repo, notebooks: filepath.Join(repo, "notebooks"),
					only: "style", atOnce: atOnce, stdout: io.Discard, begun: time.Now(),
					prepare: func(ctx context.Context, repo string, say func(string)) (*kernel.Tools, error) {
						return kernel.Prepare(ctx, repo, say, "./notebooks/show")
					},
				}
				require.NoError(b, r.run(context.Background()))
			}
		})
	}
}

// BenchmarkUnchangedCell runs one cell that draws a figure again and again, unchanged.
//
//	go test ./notebooks -run - -bench UnchangedCell -benchtime 10x
func BenchmarkUnchangedCell(b *testing.B) {
	b.ReportAllocs()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(b, err)
	tools, err := kernel.Prepare(context.Background(), repo, nil, "./notebooks/show")
	require.NoError(b, err)
	self, err := os.Executable()
	require.NoError(b, err)
	k, err := tools.Start(context.Background(), kernel.Settings{Dir: filepath.Join(repo, "notebooks"), Env: []string{sessionsVariable + "=demo:sour-evening", drawVariable + "=" + self}})
	require.NoError(b, err)
	defer k.Close()
	do := func() {
		r, err := k.Client.Execute(context.Background(), "import \"lastsip/notebooks/show\"\n%%\nshow.Figure(show.Study().MustLifetime(\"sour\"))", jupyter.Options{})
		require.NoError(b, err)
		require.Equal(b, "ok", r.Status, r.Reason)
	}
	do()
	for b.Loop() {
		do()
	}
}
