package panelcsv_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panelcsv"
)

// complete is an evening that leaves no doubt: descriptor, batches, volumes, seconds.
func complete() files {
	return files{
		"datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}]`),
		"pours.csv":        "pour,taster,style,batch,volume_ml,made_at\n1,ann,sour,a,120,21:30:00\n2,bob,sour,a,120,21:30:00\n",
		"tastes.csv": "taster,pour,mode,tasted_at,verdict,liking\nann,1,sip_through,21:32:00,yes,8\nann,1,sip_through,21:36:00,no,3\n" +
			"bob,2,sip_through,21:32:00,yes,7\nbob,2,sip_through,21:36:00,yes,6\n",
	}
}

func TestNoFindings(t *testing.T) {
	f := read(t, complete())
	require.Empty(t, f.Findings)
	require.Empty(t, f.Notes)
	require.Empty(t, f.Panel.LeftOut)
}

// TestFindings makes one doubt at a time in an evening that has none; the finding is located and the panel is still given.
func TestFindings(t *testing.T) {
	replace := func(file, old, new string) func(files) {
		return func(f files) { f[file] = strings.Replace(f[file], old, new, 1) }
	}
	add := func(file, line string) func(files) { return func(f files) { f[file] += line } }
	for _, tt := range []struct {
		name   string
		doubt  func(files)
		cause  error
		want   string
		tastes int
	}{
		{"off-scale score", replace("tastes.csv", "no,3", "no,33"), dataerr.ErrRange,
			`eve/tastes.csv, line 3, column liking: "33" is out of range; the scale runs from 0 to 10; this score is left out`, 4},
		{"age runs backwards", add("tastes.csv", "ann,1,sip_through,21:35:00,no,3\n"), dataerr.ErrOrder,
			`eve/tastes.csv, line 6, column age_min: "5" is out of order; line 3, before it, has 6 min for the same glass`, 5},
		{"exact duplicate", add("tastes.csv", "bob,2,sip_through,21:36:00,yes,6\n"), dataerr.ErrDuplicate,
			`eve/tastes.csv, line 6, column taster: "bob" stands twice; line 5 is the same row; it is used once`, 4},
		{"exact duplicate of a pour", add("pours.csv", "2,bob,sour,a,120,21:30:00\n"), dataerr.ErrDuplicate,
			`eve/pours.csv, line 4, column pour: "2" stands twice; line 3 is the same row; it is used once`, 4},
		{"pour never tasted", add("pours.csv", "3,bob,sour,a,120,21:30:00\n"), panelcsv.ErrNotTasted,
			`eve/pours.csv, line 4, column pour: "3" was never tasted; it is left out; is it written as in eve/tastes.csv?`, 4},
		{"half of the glass", replace("pours.csv", "1,ann,sour,a,120", "1,ann,sour,a,24"), panelcsv.ErrHalfGlass,
			`eve/pours.csv, line 2, column volume_ml: "24" lost half of the glass or more to sips; 2 sips of 6 mL were taken from pour 1, so its lifetime is a lower guess`, 4},
		{"over three hours", replace("tastes.csv", "21:36:00,no", "00:31:00,no"), panelcsv.ErrLong,
			`eve/tastes.csv, line 3, column age_min: "181" is over 3 hours; is it in minutes, and of this drink?`, 4},
		{"no seconds", replace("tastes.csv", "21:36:00,no", "21:36,no"), panelcsv.ErrDoubt,
			`eve/tastes.csv, line 3, column tasted_at: "21:36" is known to half a minute only; so in 1 of 4 tastes; write seconds too, such as 21:04:30`, 4},
		{"no seconds in the time of making", func(f files) { f["pours.csv"] = strings.ReplaceAll(f["pours.csv"], "21:30:00", "21:30") }, panelcsv.ErrDoubt,
			`eve/tastes.csv, line 2, column made_at: "21:30" is known to half a minute only; so in 4 of 4 tastes; write seconds too, such as 21:04:30`, 4},
		{"unknown key", replace("datapackage.json", `"attributes"`, `"prime_limt": 6, "attributes"`), dataerr.ErrUnknown,
			`eve/datapackage.json, line 1, column tasting.prime_limt: "6" is not known; nothing reads this key; is it spelled right?`, 4},
		{"unknown key of an attribute", replace("datapackage.json", `"low": 0`, `"low": 0, "lower": 0`), dataerr.ErrUnknown,
			`eve/datapackage.json, line 1, column tasting.attributes[1].lower: "0" is not known; nothing reads this key; is it spelled right?`, 4},
		{"no batches", func(f files) { f["pours.csv"] = strings.ReplaceAll(f["pours.csv"], ",a,", ",,") }, panelcsv.ErrNoBatch,
			`eve/tastes.csv, line 1, column batch: is not given; which glasses share a shake is unknown, so every interval is headed "for these drinks"`, 4},
		{"one batch not given", replace("pours.csv", "bob,sour,a", "bob,sour,"), panelcsv.ErrNoBatch,
			`eve/pours.csv, line 3, column batch: is not given; so for 1 of 2 glasses; which glasses share a shake is unknown, so every interval is headed "for these drinks"`, 4},
		{"attribute without a column", replace("datapackage.json", `"attributes": [`, `"attributes": [{"name": "bubbles", "low": 0, "high": 10}, `), dataerr.ErrNoColumn,
			`eve/tastes.csv, line 1, column bubbles: column is missing; the descriptor names this attribute; without scores it is left out`, 4},
		{"column that is not analysed", func(f files) {
			f["tastes.csv"] = strings.ReplaceAll(strings.ReplaceAll(f["tastes.csv"], "\n", ",4\n"), "liking,4", "liking,table")
		}, panelcsv.ErrNotAnalysed,
			`eve/tastes.csv, line 1, column table: is kept and not analysed; the descriptor does not name it among its attributes`, 4},
		{"column of pours that is not analysed", func(f files) {
			f["pours.csv"] = strings.ReplaceAll(strings.ReplaceAll(f["pours.csv"], "\n", ",4\n"), "made_at,4", "made_at,ice")
		}, panelcsv.ErrNotAnalysed, `eve/pours.csv, line 1, column ice: is kept and not analysed; pours have no such column`, 4},
		{"no descriptor", func(f files) {
			delete(f, "datapackage.json")
			f["tastes.csv"] = strings.NewReplacer(",liking", "", ",8", "", ",3", "", ",7", "", ",6", "").Replace(f["tastes.csv"])
		}, dataerr.ErrNoFile,
			`eve/datapackage.json: file is missing; our defaults are taken for scales, limits and rules; the settings list them`, 4},
		{"limit without an overall score", func(f files) {
			f["datapackage.json"] = tasting(`"attributes": [{"name": "bubbles"}], "overall": "bubbles", "reject_limit": 4`)
			f["tastes.csv"] = strings.Replace(f["tastes.csv"], "liking", "bubbles", 1)
			f["tastes.csv"] = strings.Replace(f["tastes.csv"], "yes,8", "yes,80", 1)
		}, panelcsv.ErrNotAnalysed, `eve/datapackage.json, line 1, column tasting.reject_limit: "4" is kept and not analysed; it needs an overall attribute with a scale`, 4},
		{"one taster left early", func(f files) {
			f["tastes.csv"] = strings.ReplaceAll(f["tastes.csv"], "sip_through", "")
			f["tastes.csv"] = strings.Replace(f["tastes.csv"], "bob,2,,21:36:00,yes,6\n", "", 1)
		}, panelcsv.ErrAssumed,
			`eve/tastes.csv, line 4, column mode: "side_by_side" is our assumption; this taster tastes no pour twice, others do; if they only left early, give a mode column with sip_through`, 3},
		{"planned age stands in", func(f files) {
			f["tastes.csv"] = strings.Replace(strings.Replace(f["tastes.csv"], "tasted_at", "planned_age_min,tasted_at", 1), "sip_through,", "sip_through,,", -1)
			f["tastes.csv"] = strings.Replace(f["tastes.csv"], ",21:36:00,no", "6,,no", 1)
		}, panelcsv.ErrPlannedAge, `eve/tastes.csv, line 3, column planned_age_min: "6" has no time, the planned age stands in; so in 1 of 4 tastes`, 4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := complete()
			tt.doubt(f)
			got := read(t, f)
			require.Equal(t, []string{tt.want}, found(got, tt.cause))
			require.Len(t, got.Panel.Tastes, tt.tastes)
			for _, c := range dataerr.All(got.Findings[0]) {
				require.NotEmpty(t, c.File)
			}
		})
	}
}

func TestOffScaleScoreIsLeftOut(t *testing.T) {
	f := complete()
	f["tastes.csv"] = strings.Replace(f["tastes.csv"], "no,3", "no,33", 1)
	p := read(t, f).Panel
	require.False(t, p.Tastes[1].Scores[0].Given)
	require.Equal(t, "reject", p.Tastes[1].Verdict.String(), "the row itself stays")
}

// The sip of the descriptor counts, and only sips from the own glass do.
func TestHalfGlass(t *testing.T) {
	f := complete()
	f["pours.csv"] = strings.ReplaceAll(f["pours.csv"], "120", "25")
	require.Empty(t, found(read(t, f), panelcsv.ErrHalfGlass), "12 mL of 25")
	f["datapackage.json"] = tasting(`"sip_ml": 6.25, "attributes": [{"name": "liking", "low": 0, "high": 10}]`)
	require.Len(t, found(read(t, f), panelcsv.ErrHalfGlass), 2, "12.5 mL of 25")
	f["tastes.csv"] = strings.ReplaceAll(f["tastes.csv"], "sip_through", "side_by_side")
	require.Empty(t, found(read(t, f), panelcsv.ErrHalfGlass), "side by side a pour is portioned")
}

func TestPositionsOrderAGlass(t *testing.T) {
	const text = "taster,pour,style,batch,mode,position,age_min,verdict\nann,1,sour,a,sip_through,2,6,no\nann,1,sour,a,sip_through,%d,%s,yes\n"
	require.Empty(t, found(read(t, files{"tastes.csv": fmt.Sprintf(text, 1, "2")}), dataerr.ErrOrder))
	require.Len(t, found(read(t, files{"tastes.csv": fmt.Sprintf(text, 3, "2")}), dataerr.ErrOrder), 1)
	require.Len(t, found(read(t, files{"tastes.csv": fmt.Sprintf(text, 1, "7")}), dataerr.ErrOrder), 1)
}

func TestSpellings(t *testing.T) {
	for _, tt := range []struct {
		names string
		want  []string // names that are said to be a second spelling
	}{
		{"ann Ann", []string{"Ann"}},
		{"mary-lou mary-lou", nil},
		{"annika anika", []string{"anika"}},
		{"annika annikа", []string{"annikа"}}, // the last letter is Cyrillic
		{"édouard edouard", []string{"edouard"}},
		{"ann anna", nil},                     // too short to tell
		{"t001 t002 t003", nil},               // numbers
		{"t001 t002", nil},                    // numbers
		{"panela panelb panelc", nil},         // a scheme of names
		{"anika annika anikas", nil},          // a scheme of names, it seems
		{"anna hannah bob", nil},              // two letters
		{"Ada Bruno Carla Ingrid Jonas", nil}, // names
	} {
		var b strings.Builder
		b.WriteString("taster,pour,style,age_min,verdict\n")
		for i, n := range strings.Fields(tt.names) {
			fmt.Fprintf(&b, "%s,%d,sour,2,yes\n", n, i)
		}
		f := read(t, files{"tastes.csv": b.String()})
		var got []string
		for _, w := range f.Findings {
			if c := dataerr.All(w)[0]; c.Err == panelcsv.ErrSpelling {
				require.Equal(t, "taster", c.Column)
				got = append(got, c.Value)
			}
		}
		require.Equal(t, tt.want, got, tt.names)
	}
	f := read(t, files{"tastes.csv": "taster,pour,style,serve,age_min,verdict\nMary Lou,1,sour,coupe,2,yes\nmary  lou,2,Sour,Coupe,2,yes\n"})
	require.Equal(t, []string{
		`eve/tastes.csv, line 3, column taster: "mary  lou" may be a second spelling of one name; line 2 has "Mary Lou"; they count as two unless written alike`,
		`eve/tastes.csv, line 3, column style: "Sour" may be a second spelling of one name; line 2 has "sour"; they count as two unless written alike`,
		`eve/tastes.csv, line 3, column serve: "Coupe" may be a second spelling of one name; line 2 has "coupe"; they count as two unless written alike`,
	}, found(f, panelcsv.ErrSpelling))
}
