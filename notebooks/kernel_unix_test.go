//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/jupyter/jupytertest"
)

// startAsJupyter starts the installed kernel as a front end does: argv of the kernelspec, in the notebook's folder; before
// is put before argv.
func startAsJupyter(t *testing.T, place, dir string, before ...string) (*exec.Cmd, *jupyter.Client, *bytes.Buffer) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(place, "kernel.json"))
	require.NoError(t, err)
	var spec struct{ Argv []string }
	require.NoError(t, json.Unmarshal(b, &spec))
	conn, err := jupyter.NewConnection()
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "connection.json")
	require.NoError(t, conn.WriteFile(file))
	for i, a := range spec.Argv {
		spec.Argv[i] = strings.ReplaceAll(a, "{connection_file}", file)
	}
	// A front end started from a desktop has a short PATH, and the network is not there.
	argv := append(before, spec.Argv...)
	cmd := exec.Command(argv[0], argv[1:]...)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "PATH=/usr/bin:/bin", "GOPROXY=off")
	var words bytes.Buffer
	cmd.Stderr = &words
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	client, err := jupyter.Dial(ctx, conn)
	require.NoError(t, err, words.String())
	return cmd, client, &words
}

func TestInstalledKernel(t *testing.T) {
	needsKernel(t)
	data := t.TempDir()
	t.Setenv("JUPYTER_DATA_DIR", data)
	var out, errs bytes.Buffer
	require.Zero(t, dispatch(context.Background(), []string{"kernel"}, &out, &errs), errs.String())
	place := filepath.Join(data, "kernels", "lastsip")
	require.Contains(t, out.String(), place)
	entries, err := os.ReadDir(filepath.Dir(place))
	require.NoError(t, err)
	require.Len(t, entries, 1, "nothing else is left")

	dir := filepath.Join(t.TempDir(), "far from the checkout")
	require.NoError(t, os.CopyFS(filepath.Join(dir, "my evening"), os.DirFS("../datasets/sour-evening")))
	cmd, client, words := startAsJupyter(t, place, dir)
	defer client.Close()
	do := func(code string) *jupyter.Result {
		t.Helper()
		r, err := client.Execute(context.Background(), code, jupyter.Options{})
		require.NoError(t, err, words.String())
		return r
	}
	r := do("import (\"lastsip/analysis\"; \"lastsip/notebooks/show\")\n%%\nstudy := analysis.MustOpen(\"my evening\")\nshow.Figure(study.MustServeBy(study.Styles()[0]))")
	require.Equal(t, "ok", r.Status, r.Reason)
	require.Empty(t, r.LastStderr)
	require.Contains(t, r.Outputs[0].Data["image/svg+xml"], "<svg")
	r = do("%%\nshow.Opened(show.Study())")
	require.Empty(t, r.LastStderr, "a fresh kernel is not stale")
	require.Contains(t, r.Outputs[0].Data["text/markdown"], "tasters")
	r = do("%%\nshow.Opend()")
	require.Equal(t, "error", r.Status)
	require.Contains(t, r.Reason, "undefined: show.Opend")
	r = do(whoAmI)
	var group int
	var temp string
	_, err = fmt.Sscanln(r.Outputs[0].Text, &group, &temp)
	require.NoError(t, err)
	require.NotEqual(t, syscall.Getpgrp(), group)

	require.NoError(t, client.Shutdown())
	require.NoError(t, cmd.Wait(), words.String())
	require.Empty(t, words.String())
	requireKernelGone(t, r.Outputs[0].Text)

	// Front ends kill what does not end in time, or are killed themselves.
	for _, before := range [][]string{nil, {"/bin/sh", "-c", "\"$@\" & wait", "sh"}} {
		cmd, client, words := startAsJupyter(t, place, dir, before...)
		defer client.Close()
		r, err := client.Execute(context.Background(), whoAmI, jupyter.Options{})
		require.NoError(t, err, words.String())
		_, err = fmt.Sscanln(r.Outputs[0].Text, &group, &temp)
		require.NoError(t, err)
		require.NoError(t, cmd.Process.Kill())
		require.Eventually(t, func() bool { return jupytertest.GroupGone(group) }, 5*time.Second, 10*time.Millisecond)
		_ = cmd.Wait()
	}
}

// A trial that fails, or a foreign kernel, leaves everything as it was.
func TestInstallIsWholeOrNotAtAll(t *testing.T) {
	needsKernel(t)
	data := t.TempDir()
	t.Setenv("JUPYTER_DATA_DIR", data)
	place := filepath.Join(data, "kernels", "lastsip")
	require.NoError(t, os.MkdirAll(place, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(place, "kernel.json"), []byte("{}"), 0o644))
	var out, errs bytes.Buffer
	require.Equal(t, 1, dispatch(context.Background(), []string{"kernel"}, &out, &errs))
	require.Contains(t, errs.String(), "holds a kernel that is not ours")
	require.Contains(t, errs.String(), "nothing was installed")
	require.Equal(t, map[string]string{"kernel.json": "{}"}, filesOf(t, place))
	entries, err := os.ReadDir(filepath.Dir(place))
	require.NoError(t, err)
	require.Len(t, entries, 1)
}
