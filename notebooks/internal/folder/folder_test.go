package folder

import (
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// with gives a filler that writes one file.
func with(name string) func(string) error {
	return func(dir string) error { return os.WriteFile(filepath.Join(dir, name), nil, 0o644) }
}

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

func TestReplace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "out")
	require.NoError(t, Replace(path, nil, with("a")))
	require.Equal(t, []string{"a"}, names(t, path))
	require.NoError(t, Replace(path, nil, with("b")))
	require.Equal(t, []string{"b"}, names(t, path))

	boom := errors.New("boom")
	require.ErrorIs(t, Replace(path, nil, func(string) error { return boom }), boom)
	require.ErrorIs(t, Replace(path, func() error { return boom }, with("c")), boom)
	require.Equal(t, []string{"b"}, names(t, path), "the old folder is as it was")
	require.Equal(t, []string{"out"}, names(t, filepath.Dir(path)), "nothing else is left")
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o755), info.Mode().Perm())
}

// What a killed program leaves, at every point where it can be killed.
func TestRecover(t *testing.T) {
	for _, tt := range []struct {
		name   string
		leaves []string // folders and, by their place, the file in them
		want   []string
	}{
		{"while filling", []string{"out/a", ".out.new-1/half"}, []string{"a"}},
		{"before the first rename", []string{"out/a", ".out.new-1/b", ".out.previous-2/"}, []string{"a"}},
		{"between the renames", []string{".out.new-1/b", ".out.previous-2/old/a"}, []string{"a"}},
		{"after the second rename", []string{"out/b", ".out.previous-2/old/a"}, []string{"b"}},
		{"while removing the old one", []string{"out/b", ".out.previous-2/"}, []string{"b"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			parent := t.TempDir()
			for _, f := range append(tt.leaves, ".other.new-1/x") {
				require.NoError(t, os.MkdirAll(filepath.Join(parent, filepath.Dir(f)), 0o755))
				if f[len(f)-1] != '/' {
					require.NoError(t, os.WriteFile(filepath.Join(parent, f), nil, 0o644))
				}
			}
			path := filepath.Join(parent, "out")
			require.NoError(t, Recover(path))
			require.Equal(t, tt.want, names(t, path))
			require.Equal(t, []string{".other.new-1", "out"}, names(t, parent))
		})
	}
	require.NoError(t, Recover(filepath.Join(t.TempDir(), "nowhere", "out")))
}

// Programs that replace one folder take turns: none sweeps away what another is filling.
func TestManyAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out")
	var all sync.WaitGroup
	errs := make(chan error, 60)
	for range 20 {
		all.Add(1)
		go func() {
			defer all.Done()
			errs <- Writable(path)
			errs <- Replace(path, nil, with("a"))
			errs <- Recover(path)
		}()
	}
	all.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	require.Equal(t, []string{"a"}, names(t, path))
	require.Equal(t, []string{"out"}, names(t, filepath.Dir(path)))
}

func TestWritable(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Writable(filepath.Join(dir, "a", "b", "out")))
	require.Empty(t, names(t, dir))
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	require.ErrorContains(t, Writable(filepath.Join(file, "out")), "is no folder")
	if os.Getuid() != 0 { // root may write anywhere
		require.NoError(t, os.Chmod(dir, 0o555))
		require.Error(t, Writable(filepath.Join(dir, "out")))
	}
}
