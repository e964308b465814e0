package panelcsv_test

import (
	"strings"
	"testing"

	"github.com/go-gota/gota/series"
	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

func TestFrame(t *testing.T) {
	f := read(t, files{
		"datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}, {"name": "Note 2", "low": 0, "high": 10}]`),
		"pours.csv":        "pour,style,serve,batch,volume_ml\n007,sour,NA,a,120\n8,stirred,,,\n",
		"tastes.csv": "taster,pour,age_min,planned_age_min,verdict,why,aware,flight,position,note,liking,Note 2\n" +
			"ann,007,2.1,2,yes,,x,f1,1,\"a \"\"good\"\" one\",7.5,\nann,007,6,,no,drink,,,,,,3\nbob,8,2,2,,,,,,,99,4\n",
	})
	df, err := f.Frame()
	require.NoError(t, err)
	require.NoError(t, df.Err)
	require.Equal(t, []string{"session", "taster", "pour", "style", "serve", "batch", "mode", "age_min", "age_from", "planned_age_min", "flight", "position", "verdict", "why",
		"aware", "note", "volume_ml", "liking", "Note 2"}, df.Names())
	require.Equal(t, 3, df.Nrow())
	require.Equal(t, []string{"007", "007", "8"}, df.Col("pour").Records(), "leading zeros stay")
	require.Equal(t, []string{"NA", "NA", ""}, df.Col("serve").Records(), "text that looks like a missing value stays text")
	require.Equal(t, []string{`a "good" one`, "", ""}, df.Col("note").Records())
	require.Equal(t, []string{"stated", "stated", "stated"}, df.Col("age_from").Records())
	require.Equal(t, []float64{2.1, 6, 2}, df.Col("age_min").Float())
	require.Equal(t, []bool{false, true, false}, df.Col("planned_age_min").IsNaN())
	require.Equal(t, []bool{false, true, true}, df.Col("liking").IsNaN(), "a score off the scale is not used")
	require.Equal(t, []float64{3, 4}, df.Col("Note 2").Float()[1:])
	require.Equal(t, 120.0, df.Col("volume_ml").Float()[1])
	require.True(t, df.Col("volume_ml").IsNaN()[2])
	aware, err := df.Col("aware").Bool()
	require.NoError(t, err)
	require.Equal(t, []bool{true, false, false}, aware)
	for name, kind := range map[string]series.Type{"taster": series.String, "age_min": series.Float, "aware": series.Bool, "liking": series.Float, "position": series.Float} {
		require.Equal(t, kind, df.Col(name).Type(), name)
	}
}

// What the table library would change is an error, never a silent change.
func TestFrameRefuses(t *testing.T) {
	f := read(t, files{"tastes.csv": strings.Replace(plain, "ann,1,sour,coupe,a,2.5", "NaN,1,sour,coupe,a,2.5", 1)})
	_, err := f.Frame()
	require.ErrorContains(t, err, `column taster, row 1: the text "NaN" would be read as a missing value`)

	f = read(t, files{"tastes.csv": plain})
	f.Panel.Attributes = append(f.Panel.Attributes, panel.Attribute{Name: "taster"})
	for i := range f.Panel.Tastes {
		f.Panel.Tastes[i].Scores = append(f.Panel.Tastes[i].Scores, panel.Score{})
	}
	_, err = panelcsv.FrameOf(f.Panel)
	require.ErrorContains(t, err, `column "taster" would be renamed`)
}
