package panelcsv_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panelcsv"
)

// sound holds what must be true of any folder: no panic, a valid panel or located faults, and the long form says the same.
func sound(t *testing.T, folder files) {
	got, err := panelcsv.Read(folder.fs(), "eve")
	if err != nil {
		require.NotEmpty(t, dataerr.All(err), "%v", err)
		for _, c := range dataerr.All(err) {
			require.NotEmpty(t, c.File)
			require.Error(t, c.Err)
			require.NotEmpty(t, c.Error())
		}
		return
	}
	require.NoError(t, got.Panel.Validate())
	for _, w := range got.Findings {
		require.NotEmpty(t, w.Error())
	}
	for name, text := range folder {
		if raw := got.Raw(name); raw != nil {
			require.Equal(t, text, string(raw), "the bytes as they stand")
		}
	}
	if !got.Wide() {
		return
	}
	long := got.Long()
	again := files{}
	for name, text := range folder {
		again[name] = text
		if l, ok := long[name]; ok {
			again[name] = string(l)
		}
	}
	f, err := panelcsv.Read(again.fs(), "eve")
	require.NoError(t, err, "the long form reads")
	require.Equal(t, len(got.Panel.Tastes), len(f.Panel.Tastes))
	for i := range f.Panel.Tastes {
		a, b := got.Panel.Tastes[i], f.Panel.Tastes[i]
		require.Equal(t, a.Age, b.Age)
		require.Equal(t, a.Verdict, b.Verdict)
		require.Equal(t, a.Scores, b.Scores)
	}
}

// fuzzFile changes one file of an evening that has them all; seeds are that file everywhere in testdata/badinput.
func fuzzFile(f *testing.F, name string, evening func() files) {
	f.Add(evening()[name])
	folders, err := os.ReadDir(badinput)
	require.NoError(f, err)
	for _, e := range folders {
		if data, err := os.ReadFile(filepath.Join(badinput, e.Name(), name)); err == nil {
			f.Add(string(data))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		folder := evening()
		folder[name] = text
		sound(t, folder)
	})
}

func FuzzReadings(f *testing.F) { fuzzFile(f, "readings.csv", besides) }
func FuzzChoices(f *testing.F)  { fuzzFile(f, "choices.csv", besides) }
func FuzzRankings(f *testing.F) { fuzzFile(f, "rankings.csv", besides) }
func FuzzPaces(f *testing.F)    { fuzzFile(f, "paces.csv", besides) }
func FuzzRounds(f *testing.F)   { fuzzFile(f, "rounds.csv", rounds) }
func FuzzKey(f *testing.F)      { fuzzFile(f, "key.csv", coded) }

// FuzzBlind changes the plan and the tastes of an evening whose key is missing.
func FuzzBlind(f *testing.F) {
	c := coded()
	f.Add(c["plan.json"], c["tastes.csv"], c["rankings.csv"])
	f.Add("[]", plain, "")
	f.Fuzz(func(t *testing.T, plan, tastes, rankings string) {
		folder := coded()
		delete(folder, "key.csv")
		folder["plan.json"], folder["tastes.csv"], folder["rankings.csv"] = plan, tastes, rankings
		sound(t, folder)
	})
}

// FuzzWide changes a wide table and its descriptor.
func FuzzWide(f *testing.F) {
	f.Add(wide, tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}]`))
	f.Add("taster,style,2,6\nann,sour,8,3\n", "{}")
	for _, name := range []string{"wide-table", "wide-age-twice", "wide-style-by-age", "wide-scores-twice", "utf-16"} {
		data, err := os.ReadFile(filepath.Join(badinput, name, "tastes.csv"))
		require.NoError(f, err)
		f.Add(string(data), "{}")
	}
	f.Fuzz(func(t *testing.T, tastes, descriptor string) {
		sound(t, files{"tastes.csv": tastes, "datapackage.json": descriptor})
	})
}

// FuzzReadFile reads any bytes as a whole session.
func FuzzReadFile(f *testing.F) {
	f.Add("eve.csv", plain)
	f.Add("eve", wide)
	f.Add("datapackage.json", "{}")
	f.Fuzz(func(t *testing.T, name, text string) {
		got, err := panelcsv.ReadFile(files{"f": text}.fs(), "f")
		if err == nil {
			require.NoError(t, got.Panel.Validate())
			require.Equal(t, text, string(got.Raw("f")))
		}
		if _, err := panelcsv.ReadFile(files{"f": text}.fs(), name); err != nil {
			require.NotEmpty(t, err.Error())
		}
	})
}
