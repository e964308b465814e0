package panelcsv_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panelcsv"
)

const badinput = "../../testdata/badinput"

// TestBadInput reads every folder of testdata/badinput and compares what is said with table.csv, word for word. Every
// message is located: it names a file, and a line where the fault has one.
func TestBadInput(t *testing.T) {
	f, err := os.Open(filepath.Join(badinput, "table.csv"))
	require.NoError(t, err)
	defer f.Close()
	table, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"folder", "expect", "message"}, table[0])
	listed := map[string]bool{}
	said := map[string]string{}
	for _, row := range table[1:] {
		name, expect, message := row[0], row[1], row[2]
		listed[name] = true
		t.Run(name, func(t *testing.T) {
			got, err := panelcsv.Read(os.DirFS(filepath.Join(badinput, name)), name)
			if expect != "error" {
				require.NoError(t, err)
				require.NoError(t, got.Panel.Validate())
				require.Empty(t, message)
				return
			}
			require.EqualError(t, err, message)
			require.Nil(t, got)
			cells := dataerr.All(err)
			require.NotEmpty(t, cells)
			cause := strings.ReplaceAll(cells[0].Err.Error()+"; "+cells[0].Want, name, "")
			require.Empty(t, said[cause], "no two folders have the same cause")
			said[cause] = name
			for _, c := range cells {
				require.NotEmpty(t, c.File)
				require.Error(t, c.Err)
				require.NotEmpty(t, c.Want, "a message says what would be right")
			}
		})
	}
	folders, err := os.ReadDir(badinput)
	require.NoError(t, err)
	for _, e := range folders {
		if e.IsDir() {
			require.True(t, listed[e.Name()], "%s is missing from table.csv", e.Name())
		}
	}
	require.GreaterOrEqual(t, len(said), 80)
}
