// Package golden compares bytes with a file kept beside the tests. It is imported by tests alone.
//
// `go test ./PACKAGE -update` writes the files anew; the change is then read in review like code. A golden file shows
// that an output changed, never that a number is right: numbers are held against a source with mathtest.
// Line ends are compared as they are, so golden files must not be converted on checkout (.gitattributes: * -text).
package golden

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write golden files anew instead of comparing with them")

// Check fails t unless got equals the file at path (relative to the package's folder) byte for byte. With -update it
// writes got to path instead, making folders where needed.
func Check(t testing.TB, path string, got []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "no golden file yet? run this package's tests once with -update and read what it wrote")
	if !bytes.Equal(want, got) {
		require.Equal(t, string(want), string(got), "%s differs; when the change is meant, run with -update", path)
	}
}
