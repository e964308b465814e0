//go:build unix

package kernel

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDataFolder(t *testing.T) {
	t.Setenv("JUPYTER_DATA_DIR", "/a/b")
	got, err := DataFolder()
	require.NoError(t, err)
	require.Equal(t, "/a/b", got)
	t.Setenv("JUPYTER_DATA_DIR", "")
	t.Setenv("XDG_DATA_HOME", "")
	t.Setenv("HOME", "/homes/x")
	want := "/homes/x/.local/share/jupyter" // `jupyter --data-dir` of Debian's jupyter-core 4.12
	if runtime.GOOS == "darwin" {
		want = "/homes/x/Library/Jupyter" // documentation of jupyter-core
	}
	got, err = DataFolder()
	require.NoError(t, err)
	require.Equal(t, want, got)
	if runtime.GOOS != "darwin" {
		t.Setenv("XDG_DATA_HOME", "/data")
		got, err = DataFolder()
		require.NoError(t, err)
		require.Equal(t, "/data/jupyter", got) // the same command
	}
}

// toy is a module with a program, and an installation of it whose kernel program is a file.
func toy(t *testing.T) (*Installed, func(name, text string)) {
	t.Helper()
	repo := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(repo, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(repo, name), []byte(text), 0o644))
	}
	write("go.mod", "module lastsip\n\ngo 1.24\n")
	write("go.sum", "")
	write("bar/bar.go", "package bar\n\nconst Word = 1\n")
	write("other/other.go", "package other\n")
	write("notebooks/main.go", "package main\n\nimport \"lastsip/bar\"\n\nfunc main() { println(bar.Word) }\n")
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir, err := toolsDir(context.Background(), repo)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(dir, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, binary), nil, 0o755))
	in := &Installed{Repo: repo, Tools: dir, Go: "/nowhere"}
	require.NoError(t, in.describe(context.Background(), "./notebooks"))
	require.NotEmpty(t, in.Sources)
	return in, write
}

func TestReadySaysWhatIsStale(t *testing.T) {
	in, write := toy(t)
	ready := func() (*Tools, string) {
		t.Helper()
		tools, stale, err := in.Ready(context.Background(), "./notebooks", "install again")
		require.NoError(t, err)
		return tools, stale
	}
	tools, stale := ready()
	require.Empty(t, stale)
	require.Equal(t, &Tools{Dir: in.Tools, Repo: in.Repo}, tools)
	write("other/other.go", "package other\n\n// not part of the program\n")
	write("bar/bar_test.go", "package bar\n")
	_, stale = ready()
	require.Empty(t, stale)
	write("bar/bar.go", "package bar\n\nconst Word = 2\n")
	_, stale = ready()
	require.Equal(t, "This kernel is stale: the code of the checkout has changed since it was installed. Cells use the code as it is now; figures are drawn by the code as it was. Run `install again` in "+in.Repo+", then restart the kernel.", stale)
	write("bar/bar.go", "package bar\n\nconst Word = 1\n")
	_, stale = ready()
	require.Empty(t, stale)
	write("bar/bar.go", "no Go\n")
	_, stale = ready()
	require.Contains(t, stale, "does not build as it stands")
	write("bar/bar.go", "package bar\n\nconst Word = 1\n")

	write("go.mod", "module lastsip\n\ngo 1.24\n\n// other pins\n")
	tools, stale = ready()
	require.Contains(t, stale, "go.mod, go.sum or Go itself has changed")
	require.Equal(t, in.Tools, tools.Dir, "the kernel of the new pins is not built")
	now, err := toolsDir(context.Background(), in.Repo)
	require.NoError(t, err)
	require.NotEqual(t, in.Tools, now)
	require.NoError(t, os.Rename(in.Tools, now))
	tools, _ = ready()
	require.Equal(t, now, tools.Dir, "a run has built it meanwhile")
}

func TestReadyRefusesWithTheReason(t *testing.T) {
	in, _ := toy(t)
	why := func() string {
		t.Helper()
		_, _, err := in.Ready(context.Background(), "./notebooks", "install again")
		require.Error(t, err)
		return err.Error()
	}
	require.NoError(t, os.Remove(filepath.Join(in.Tools, binary)))
	require.Contains(t, why(), "the kernel program is gone")
	require.Contains(t, why(), "run `install again` in "+in.Repo)
	require.NoError(t, os.Remove(filepath.Join(in.Repo, "go.mod")))
	require.Contains(t, why(), "the checkout that this kernel was installed from is gone")
	t.Setenv("PATH", "/nowhere")
	require.Contains(t, why(), "the go command is neither on PATH nor in /nowhere any more")
}

func TestForeignKernelIsNotReplaced(t *testing.T) {
	place := filepath.Join(t.TempDir(), "lastsip")
	require.NoError(t, ours(place))
	require.NoError(t, os.Mkdir(place, 0o755))
	require.NoError(t, ours(place))
	in := &Installed{Repo: "/r", Program: "/p"}
	require.NoError(t, in.write(place, Spec{Name: "n", DisplayName: "N", Launch: "go"}))
	require.NoError(t, ours(place))
	got, err := ReadInstalled(filepath.Join(place, "n"))
	require.NoError(t, err)
	require.Equal(t, in, got)
	b, err := os.ReadFile(filepath.Join(place, specFile))
	require.NoError(t, err)
	var spec map[string]any
	require.NoError(t, json.Unmarshal(b, &spec))
	require.Equal(t, []any{"/p", "go", "{connection_file}"}, spec["argv"])
	require.Equal(t, "message", spec["interrupt_mode"])
	require.NoError(t, os.Remove(filepath.Join(place, installedFile)))
	require.ErrorContains(t, ours(place), "holds a kernel that is not ours")
}
