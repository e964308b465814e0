package kernel

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestFindRepo(t *testing.T) {
	root := t.TempDir()
	deep := filepath.Join(root, "lastsip", "a", "other", "b")
	require.NoError(t, os.MkdirAll(deep, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(root, "lastsip", "go.mod"), []byte("// x\nmodule lastsip\n\ngo 1.24\n"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(root, "lastsip", "a", "other", "go.mod"), []byte("module lastsip/other\n"), 0o644))
	got, err := FindRepo(deep, "lastsip")
	require.NoError(t, err)
	want, err := filepath.EvalSymlinks(filepath.Join(root, "lastsip"))
	require.NoError(t, err)
	require.Equal(t, want, got)
	_, err = FindRepo(root, "lastsip")
	require.ErrorContains(t, err, "is not inside a checkout of lastsip")
}

func TestCommaInPathIsRefused(t *testing.T) {
	require.ErrorContains(t, checkRepo("/home/a,b/lastsip"), "has a comma, at which the kernel would cut it in two")
	require.NoError(t, checkRepo("/home/a b/lastsip"))
}

func TestCellFlags(t *testing.T) {
	for in, want := range map[string]string{
		"":                                 "-ldflags=-s",
		"-mod=vendor -buildvcs=false":      "-buildvcs=false -ldflags=-s",
		"--mod=mod -modcacherw -tags=x,y ": "-modcacherw -tags=x,y -ldflags=-s",
	} {
		require.Equal(t, want, cellFlags(in))
	}
}

func TestNoexecIsExplained(t *testing.T) {
	err := Explain(&fs.PathError{Op: "fork/exec", Path: "/x/gonb", Err: syscall.EACCES})
	require.ErrorContains(t, err, "/x/gonb may not be run")
	require.ErrorContains(t, err, "noexec")
	require.Equal(t, os.ErrNotExist, Explain(os.ErrNotExist))
}

func TestLogKeepsItsEnd(t *testing.T) {
	var l tail
	for range 1000 {
		_, _ = l.Write([]byte("a line of chatter\n"))
	}
	_, _ = l.Write([]byte("fatal: the end"))
	require.True(t, strings.HasSuffix(l.String(), "a line of chatter\nfatal: the end"))
	require.LessOrEqual(t, strings.Count(l.String(), "\n"), 7)
}
