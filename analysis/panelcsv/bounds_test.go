package panelcsv_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panelcsv"
)

// Numbers whose sums would no longer be numbers are refused where they stand.
func TestHugeNumbersAreRefused(t *testing.T) {
	bad := refuse(t, files{"tastes.csv": "taster,pour,style,age_min,liking\na,1,sour,2,1e308\na,1,sour,4,-2e9\n", "datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}]`)})
	require.Len(t, bad, 2)
	require.ErrorIs(t, bad[0], dataerr.ErrRange)
	require.Contains(t, bad[1].Error(), "line 3, column liking")
	bad = refuse(t, files{"tastes.csv": "taster,pour,style,age_min,liking\na,1,sour,2,5\n", "datapackage.json": tasting(`"attributes": [{"name": "liking", "low": -1e308, "high": 1e308}]`)})
	require.Contains(t, bad[0].Error(), "between -1e9 and 1e9")
}

// What is no plain file is refused before it is opened: a pipe would block for ever.
func TestDevicesAreRefused(t *testing.T) {
	dir := t.TempDir()
	if err := os.Symlink("/dev/zero", filepath.Join(dir, "tastes.csv")); err != nil {
		t.Logf("no symbolic links here: %v", err)
		return
	}
	if _, err := os.Stat(filepath.Join(dir, "tastes.csv")); err != nil {
		return // a system without that device
	}
	err := readDir(dir)
	require.ErrorContains(t, err, "it is a pipe or a device")
	require.False(t, strings.Contains(err.Error(), "64 MB"))
}

func readDir(dir string) error {
	_, err := panelcsv.Read(os.DirFS(dir), "evening")
	return err
}
