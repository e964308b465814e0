package panelcsv_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panelcsv"
)

// FuzzRead: no bytes make the reader panic; what is read is a valid panel with a frame; what is refused is located.
func FuzzRead(f *testing.F) {
	f.Add(plain, "pour,style\n1,sour\n", tasting(`"overall": "liking"`))
	folders, err := os.ReadDir(badinput)
	require.NoError(f, err)
	for _, e := range folders {
		dir := filepath.Join(badinput, e.Name())
		var text [3]string
		for i, name := range []string{"tastes.csv", "pours.csv", "datapackage.json"} {
			data, err := os.ReadFile(filepath.Join(dir, name))
			if err == nil {
				text[i] = string(data)
			}
		}
		f.Add(text[0], text[1], text[2])
	}
	c := complete()
	f.Add(c["tastes.csv"], c["pours.csv"], c["datapackage.json"])
	f.Fuzz(func(t *testing.T, tastes, pours, descriptor string) {
		folder := files{"tastes.csv": tastes}
		if pours != "" {
			folder["pours.csv"] = pours
		}
		if descriptor != "" {
			folder["datapackage.json"] = descriptor
		}
		got, err := panelcsv.Read(folder.fs(), "eve")
		if err != nil {
			require.NotEmpty(t, dataerr.All(err), "%v", err)
			for _, c := range dataerr.All(err) {
				require.NotEmpty(t, c.File)
				require.NotEmpty(t, c.Error())
			}
			return
		}
		require.NoError(t, got.Panel.Validate())
		if len(got.Panel.Tastes) == 0 {
			require.Contains(t, fmt.Sprint(got.Findings), panelcsv.ErrNothingYet.Error())
		}
		for _, w := range got.Findings {
			require.NotEmpty(t, w.Error())
		}
		if df, err := got.Frame(); err == nil {
			require.Equal(t, len(got.Panel.Tastes), df.Nrow())
		}
	})
}
