//go:build unix

package kernel

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/jupyter/jupytertest"
)

// role makes the test program play another program: a kernel that tests script, or a runner that a test kills.
const role = "LASTSIP_TEST_ROLE"

func TestMain(m *testing.M) {
	switch os.Getenv(role) {
	case "fine":
		serve(&jupytertest.Kernel{})
	case "dies":
		fmt.Fprintln(os.Stderr, "no such luck")
		os.Exit(3)
	case "port taken":
		fmt.Fprintln(os.Stderr, "bind: address already in use")
		os.Exit(255)
	case "mute":
		time.Sleep(time.Minute)
	case "runner":
		runner()
	default:
		os.Exit(m.Run())
	}
}

func serve(k *jupytertest.Kernel) {
	for i, a := range os.Args {
		if a == "--kernel" {
			if err := k.Serve(context.Background(), os.Args[i+1]); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
	}
}

// acting gives tools whose kernel is this test program in a role.
func acting(t *testing.T, as string) *Tools {
	t.Helper()
	dir := t.TempDir()
	self, err := os.Executable()
	require.NoError(t, err)
	script := fmt.Sprintf("#!/bin/sh\n%s='%s' exec '%s' \"$@\"\n", role, as, self)
	require.NoError(t, os.WriteFile(filepath.Join(dir, binary), []byte(script), 0o755))
	return &Tools{Dir: dir, Repo: repoRoot(t)}
}

func repoRoot(t *testing.T) string {
	t.Helper()
	repo, err := FindRepo(".", "lastsip")
	require.NoError(t, err)
	return repo
}

// real gives the real kernel.
func real(t *testing.T) *Tools {
	t.Helper()
	if testing.Short() {
		t.Skip("the real kernel is not started under -short")
	}
	tools, err := Prepare(context.Background(), repoRoot(t), nil, "./analysis/answer")
	require.NoError(t, err)
	return tools
}

func requireGone(t *testing.T, k *Kernel) {
	t.Helper()
	require.Eventually(t, func() bool { return jupytertest.GroupGone(k.PID()) }, 3*time.Second, 10*time.Millisecond, "a process of the group is left")
	require.NoDirExists(t, k.Temp)
}

func TestStartAndClose(t *testing.T) {
	k, err := acting(t, "fine").Start(context.Background(), Settings{})
	require.NoError(t, err)
	info, err := os.Stat(k.Temp)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	require.NoError(t, k.Close())
	require.NoError(t, k.Close())
	requireGone(t, k)
}

func TestStartSaysWhyTheKernelDied(t *testing.T) {
	_, err := acting(t, "dies").Start(context.Background(), Settings{})
	require.ErrorIs(t, err, ErrDied)
	require.ErrorContains(t, err, "exit status 3")
	require.ErrorContains(t, err, "no such luck")
	_, err = acting(t, "mute").Start(context.Background(), Settings{Startup: 300 * time.Millisecond})
	require.ErrorContains(t, err, "did not answer within 300ms")
	_, err = acting(t, "port taken").Start(context.Background(), Settings{})
	require.ErrorContains(t, err, "address already in use")
	_, err = (&Tools{Dir: t.TempDir(), Repo: repoRoot(t)}).Start(context.Background(), Settings{})
	require.ErrorIs(t, err, os.ErrNotExist)
	left, err := filepath.Glob(filepath.Join(os.TempDir(), fmt.Sprintf("lastsip-%d", os.Getuid()), "kernel-*", "kernel.json"))
	require.NoError(t, err)
	for _, f := range left { // other tests of this machine may be running: theirs are locked
		_, err := lock(filepath.Join(filepath.Dir(f), lockName), false)
		require.Error(t, err, "%s is left and nobody holds it", f)
	}
}

func TestStartHearsTheContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(200*time.Millisecond, cancel)
	begin := time.Now()
	_, err := acting(t, "mute").Start(ctx, Settings{})
	require.ErrorIs(t, err, context.Canceled)
	require.Less(t, time.Since(begin), 5*time.Second)
}

func TestDeadKernelIsExplained(t *testing.T) {
	k, err := acting(t, "fine").Start(context.Background(), Settings{})
	require.NoError(t, err)
	defer k.Close()
	require.NoError(t, syscall.Kill(k.PID(), syscall.SIGKILL))
	_, err = k.Client.Execute(context.Background(), "x", jupyter.Options{})
	require.Error(t, err)
	require.ErrorIs(t, k.Explain(err), ErrDied)
	require.ErrorContains(t, k.Explain(err), "killed")
	require.NoError(t, k.Explain(nil))
}

// endlessCell says by a file that it runs.
const endlessCell = "%%\nif err := os.WriteFile(os.Getenv(\"TMPDIR\")+\"/running\", nil, 0o600); err != nil {\n\tpanic(err)\n}\nfor {\n}"

// runner starts a real kernel with an endless cell, says who it is, and waits to be killed.
func runner() {
	tools := &Tools{Dir: os.Getenv("LASTSIP_TEST_TOOLS"), Repo: os.Getenv("LASTSIP_TEST_REPO")}
	k, err := tools.Start(context.Background(), Settings{})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println(k.PID(), k.Temp)
	_, err = k.Client.Execute(context.Background(), endlessCell, jupyter.Options{})
	fmt.Println(err)
}

// A runner that is killed outright cannot clean up: the watcher ends kernel and cell, and the next start sweeps its folder.
func TestKilledRunnerLeavesNothing(t *testing.T) {
	tools := real(t)
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), role+"=runner", "LASTSIP_TEST_TOOLS="+tools.Dir, "LASTSIP_TEST_REPO="+tools.Repo)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	var pid int
	var temp string
	_, err = fmt.Fscanln(bufio.NewReader(out), &pid, &temp)
	require.NoError(t, err)
	require.Eventually(t, func() bool { _, err := os.Stat(filepath.Join(temp, "running")); return err == nil }, 30*time.Second, 20*time.Millisecond, "the cell runs")
	require.NoError(t, cmd.Process.Kill())
	_, _ = io.Copy(io.Discard, out)
	_ = cmd.Wait()
	require.Eventually(t, func() bool { return jupytertest.GroupGone(pid) }, 3*time.Second, 10*time.Millisecond)
	require.DirExists(t, temp)
	k, err := acting(t, "fine").Start(context.Background(), Settings{})
	require.NoError(t, err)
	require.NoError(t, k.Close())
	require.NoDirExists(t, temp)
}

func TestRunningFoldersAreNotSwept(t *testing.T) {
	a, err := newTemp()
	require.NoError(t, err)
	b, err := newTemp()
	require.NoError(t, err)
	require.DirExists(t, a.path)
	require.NoError(t, b.remove())
	a.lock.Close() // as when its process dies
	c, err := newTemp()
	require.NoError(t, err)
	require.NoDirExists(t, a.path)
	require.NoError(t, c.remove())
}

func TestSharedTempFolderOfAnotherIsRefused(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	require.NoError(t, os.Mkdir(filepath.Join(os.TempDir(), fmt.Sprintf("lastsip-%d", os.Getuid())), 0o777))
	require.NoError(t, os.Chmod(filepath.Join(os.TempDir(), fmt.Sprintf("lastsip-%d", os.Getuid())), 0o777))
	_, err := newTemp()
	require.ErrorContains(t, err, "is not a private folder")
}

func TestToolsAreBuiltAnewForOtherPins(t *testing.T) {
	repo := t.TempDir()
	write := func(mod string) string {
		require.NoError(t, os.WriteFile(filepath.Join(repo, "go.mod"), []byte(mod), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(repo, "go.sum"), nil, 0o644))
		dir, err := toolsDir(context.Background(), repo)
		require.NoError(t, err)
		return dir
	}
	a := write("module lastsip\n")
	require.Equal(t, a, write("module lastsip\n"))
	require.NotEqual(t, a, write("module lastsip\n\ngo 1.24.4\n"))
}

func TestPreparedKernelSaysItsVersion(t *testing.T) {
	tools := real(t)
	mod, err := os.ReadFile(filepath.Join(tools.Repo, "go.mod"))
	require.NoError(t, err)
	require.Contains(t, string(mod), "github.com/janpfeifer/gonb "+tools.Version)
	require.FileExists(t, filepath.Join(tools.Dir, "goimports"))
}

// Every import of a cell is built from the sources as they stand: change one between two cells and the second sees it.
func TestCellsSeeChangedSources(t *testing.T) {
	tools := real(t)
	repo := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(repo, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(repo, name), []byte(text), 0o644))
	}
	write("go.mod", "module lastsip\n\ngo 1.24\n")
	write("bar/bar.go", "package bar\n\nconst Word = \"first\"\n")
	k, err := (&Tools{Dir: tools.Dir, Repo: repo}).Start(context.Background(), Settings{Dir: repo})
	require.NoError(t, err)
	defer k.Close()
	const cell = "import \"lastsip/bar\"\n%%\nfmt.Print(bar.Word)"
	for _, want := range []string{"first", "later"} {
		write("bar/bar.go", "package bar\n\nconst Word = \""+want+"\"\n")
		r, err := k.Client.Execute(context.Background(), cell, jupyter.Options{})
		require.NoError(t, err)
		require.Equal(t, "ok", r.Status, r.Reason)
		require.Equal(t, want, r.Outputs[0].Text)
	}
}
