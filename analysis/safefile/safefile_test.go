package safefile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// names lists a folder.
func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestWrite(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "results.csv")
	require.NoError(t, Write(path, []byte("old")))
	require.NoError(t, Write(path, []byte("new and longer")))
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "new and longer", string(got))
	require.Equal(t, []string{"results.csv"}, names(t, dir), "no temporary file stays")
}

func TestWriteKeepsPermission(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no such permissions")
	}
	path := filepath.Join(t.TempDir(), "private.csv")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o600))
	require.NoError(t, os.Chmod(path, 0o640))
	require.NoError(t, Write(path, []byte("new")))
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, fs.FileMode(0o640), info.Mode().Perm())
}

func TestOldFileSurvivesFailure(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "report.html")
	require.NoError(t, os.WriteFile(path, []byte("the last good report"), 0o644))
	full := errors.New("no space left")
	err := write(path, func(f *os.File) error {
		_, _ = f.WriteString("the first ha")
		return full
	})
	require.ErrorIs(t, err, full)
	require.ErrorContains(t, err, path)
	got, readErr := os.ReadFile(path)
	require.NoError(t, readErr)
	require.Equal(t, "the last good report", string(got))
	require.Equal(t, []string{"report.html"}, names(t, dir))
}

// A reader that looks while the new bytes are being written sees the old file whole.
func TestNothingHalfWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o644))
	require.NoError(t, write(path, func(f *os.File) error {
		_, err := f.WriteString("ne")
		require.NoError(t, err)
		got, readErr := os.ReadFile(path)
		require.NoError(t, readErr)
		require.Equal(t, "old", string(got))
		_, err = f.WriteString("w")
		return err
	}))
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "new", string(got))
}

func TestWriteRefuses(t *testing.T) {
	dir := t.TempDir()
	require.ErrorIs(t, Write(filepath.Join(dir, "missing", "a.csv"), nil), fs.ErrNotExist)

	sub := filepath.Join(dir, "sub")
	require.NoError(t, os.MkdirAll(filepath.Join(sub, "full"), 0o755))
	require.Error(t, Write(sub, []byte("x")), "a folder is not replaced")
	require.Equal(t, []string{"sub"}, names(t, dir))
}

func TestLeftoverDoesNotBlock(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	first, err := temporary(path)
	require.NoError(t, err)
	require.NoError(t, first.Close()) // as a killed process would leave it
	require.NoError(t, Write(path, []byte("x")))
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "x", string(got))
}
