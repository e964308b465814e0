package analysis_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/answer"
)

// Folders of the table of bad input that can be read, but not answered in full, are answered with the status that the table
// names; the faults of all others are told by Open.
func TestStatusOfDoubtfulFolders(t *testing.T) {
	const dir = "../testdata/badinput"
	f, err := os.Open(filepath.Join(dir, "table.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	statuses := 0
	for _, row := range rows[1:] {
		folder, expect := row[col["folder"]], row[col["expect"]]
		t.Run(folder, func(t *testing.T) {
			study, err := analysis.Open(filepath.Join(dir, folder))
			if expect == "error" {
				require.Error(t, err)
				return
			}
			statuses++
			require.NoError(t, err)
			life, err := study.Lifetime(study.Styles()[0])
			require.NoError(t, err)
			require.Equal(t, expect, life.Status)
			require.NotEqual(t, answer.OK, life.Status)
			act, err := study.ServeBy(study.Styles()[0])
			require.NoError(t, err)
			require.True(t, act.Act.Finite(), "every page has an act")
			require.NotEmpty(t, act.Sentences)
		})
	}
	require.GreaterOrEqual(t, statuses, 3)
}
