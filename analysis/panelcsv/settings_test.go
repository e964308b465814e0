package panelcsv_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// column writes tastes whose only extra column has these scores.
func column(name string, scores ...string) string {
	var b strings.Builder
	b.WriteString("taster;pour;style;batch;age_min;" + name + "\n")
	for i, s := range scores {
		b.WriteString("ann;1;sour;a;" + string(rune('0'+i)) + ";" + s + "\n")
	}
	return b.String()
}

func TestAttributesWithoutDescriptor(t *testing.T) {
	for _, tt := range []struct {
		name      string
		scores    []string
		low, high float64
		ranged    bool
	}{
		{"whole numbers 1 to 9", []string{"1", "9", "5"}, 1, 9, true},
		{"a zero", []string{"0", "9", "5"}, 0, 10, true},
		{"a ten", []string{"1", "10", "5"}, 0, 10, true},
		{"a fraction", []string{"1", "8,5", "5"}, 0, 10, true},
		{"above ten", []string{"1", "11", "5"}, 0, 0, false},
		{"below zero", []string{"-1", "9", "5"}, 0, 0, false},
		{"half filled", []string{"7", "", "", "5"}, 1, 9, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := column("freshness", tt.scores...)
			if strings.Contains(text, ";\n") { // rows without a score still need an answer
				text = strings.ReplaceAll(strings.ReplaceAll(text, "\n", ";yes\n"), "freshness;yes", "freshness;verdict")
			}
			f := read(t, files{"tastes.csv": text})
			require.Len(t, f.Panel.Attributes, 1)
			a := f.Panel.Attributes[0]
			require.Equal(t, [3]any{tt.low, tt.high, tt.ranged}, [3]any{a.Low, a.High, a.Ranged})
			require.Len(t, found(f, panelcsv.ErrAssumed), 1, "it is said")
			require.Equal(t, "freshness", f.Panel.Settings.Overall, "the only attribute")
			require.Equal(t, tt.ranged, f.Panel.Settings.HasLimits)
		})
	}
	for _, tt := range []struct{ name, why string }{{"words", "it is not numbers"}, {"sparse", "less than half"}, {"empty", "it is empty"}} {
		scores := map[string][]string{"words": {"good", "bad", "7"}, "sparse": {"7", "", ""}, "empty": {"", "", ""}}[tt.name]
		text := strings.ReplaceAll(strings.ReplaceAll(column("extra", scores...), "\n", ";yes\n"), "extra;yes", "extra;verdict")
		f := read(t, files{"tastes.csv": text})
		require.Empty(t, f.Panel.Attributes, tt.name)
		require.Len(t, found(f, panelcsv.ErrNotAnalysed), 1, tt.name)
		require.Contains(t, found(f, panelcsv.ErrNotAnalysed)[0], tt.why)
		require.Empty(t, f.Panel.Settings.Overall)
	}
	// One slip of the pen in a column of scores is a fault; it does not make words of the column.
	cells := refuse(t, files{"tastes.csv": column("liking", "7", "6", "x", "5", "4", "3")})
	require.Len(t, cells, 1)
	require.Equal(t, [2]any{"liking", 4}, [2]any{cells[0].Column, cells[0].Row})
}

func TestOverall(t *testing.T) {
	two := "taster,pour,style,age_min,%,sourness\nann,1,sour,2,7,5\nann,1,sour,4,3,5\n"
	require.Equal(t, "liking", read(t, files{"tastes.csv": strings.Replace(two, "%", "liking", 1)}).Panel.Settings.Overall)
	p := read(t, files{"tastes.csv": strings.Replace(two, "%", "joy", 1)}).Panel
	require.Empty(t, p.Settings.Overall)
	require.False(t, p.Settings.HasLimits)
	p = read(t, files{"tastes.csv": strings.Replace(two, "%", "joy", 1), "datapackage.json": tasting(`"overall": "joy"`)}).Panel
	require.Equal(t, "joy", p.Settings.Overall)
	cells := refuse(t, files{"tastes.csv": two, "datapackage.json": tasting(`"attributes": [{"name": "sourness", "low": 0, "high": 10, "better": "middle"}], "overall": "sourness"`)})
	require.ErrorIs(t, cells[0], dataerr.ErrConflict)
}

// TestDefaultLimits: hand-worked from the conventions: prime at 70 %, reject and attributes at 40 % of the scale, mirrored
// where low is better, 60 % of the larger side where the middle is.
func TestDefaultLimits(t *testing.T) {
	const text = "taster,pour,style,age_min,liking,dull,sourness,bubbles\nann,1,sour,2,7,1,5,8\n"
	p := read(t, files{"tastes.csv": text, "datapackage.json": tasting(`"attributes": [
		{"name": "liking", "low": 1, "high": 9},
		{"name": "dull", "low": 0, "high": 10, "better": "low"},
		{"name": "sourness", "low": 0, "high": 10, "better": "middle", "best": 4},
		{"name": "bubbles", "low": 0, "high": 10, "limit": 3, "scale": "category", "low_means": "flat", "high_means": "lively"}]`)}).Panel
	require.InDelta(t, 6.6, p.Settings.PrimeLimit, 1e-12)
	require.InDelta(t, 4.2, p.Settings.RejectLimit, 1e-12)
	a := p.Attributes
	require.InDelta(t, 4.2, a[0].Limit, 1e-12)
	require.InDelta(t, 6.0, a[1].Limit, 1e-12)
	require.Equal(t, 4.0, a[2].Best)
	require.InDelta(t, 3.6, a[2].Limit, 1e-12, "60 % of the side from 4 to 10")
	require.Equal(t, panel.Attribute{Name: "bubbles", Category: true, Ranged: true, High: 10, LowMeans: "flat", HighMeans: "lively", Limit: 3}, a[3])

	p = read(t, files{"tastes.csv": text, "datapackage.json": tasting(`"attributes": [{"name": "dull", "low": 0, "high": 10, "better": "low"},
		{"name": "sourness", "low": 0, "high": 10, "better": "middle"}], "overall": "dull"`)}).Panel
	require.InDelta(t, 3.0, p.Settings.PrimeLimit, 1e-12, "mirrored")
	require.InDelta(t, 6.0, p.Settings.RejectLimit, 1e-12)
	require.Equal(t, 5.0, p.Attributes[1].Best, "the middle of the scale")

	p = read(t, files{"tastes.csv": text, "datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}], "reject_limit": 5, "prime_limit": 8`)}).Panel
	require.Equal(t, 5.0, p.Attributes[0].Limit, "the overall attribute fails at the reject limit")
}

// TestTaken: every setting is listed with its value, and as ours only where the descriptor is silent.
func TestTaken(t *testing.T) {
	taken := func(descriptor string) map[string]panel.Taken {
		f := files{"tastes.csv": "taster,pour,style,age_min,liking\nann,1,sour,2,7.5\nann,1,sour,4,3\n"}
		if descriptor != "" {
			f["datapackage.json"] = descriptor
		}
		out := map[string]panel.Taken{}
		for _, x := range read(t, f).Panel.Settings.Taken {
			require.NotContains(t, out, x.Name)
			out[x.Name] = x
		}
		return out
	}
	values := map[string]string{"overall": "liking", "prime_limit": "7", "reject_limit": "4", "scale of liking": "0 to 10", "limit of liking": "4", "prime_drop": "none",
		"same_margin": "none", "improves_first": "false", "unclear": "either_side", "verdict words for accept": "accept, yes", "verdict words for reject": "reject, no",
		"sip_ml": "6 in sip-through, 12 side by side", "standard_drink_g": "10", "allergens": "none"}
	ours := taken("")
	require.Len(t, ours, len(values))
	for name, value := range values {
		require.Equal(t, panel.Taken{Name: name, Value: value, Default: true}, ours[name])
	}
	given := taken(tasting(`"attributes": [{"name": "liking", "low": 0, "high": 12, "limit": 2}], "overall": "liking", "prime_limit": 8, "reject_limit": 5, "prime_drop": 1.5,
		"same_margin": 0.5, "improves_first": true, "unclear": "first_no", "verdicts": {"accept": ["ja"], "reject": ["nein"]}, "sip_ml": 8, "standard_drink_g": 14, "allergens": ["egg", "nuts"]`))
	values = map[string]string{"overall": "liking", "prime_limit": "8", "reject_limit": "5", "scale of liking": "0 to 12", "limit of liking": "2", "prime_drop": "1.5", "same_margin": "0.5",
		"improves_first": "true", "unclear": "first_no", "verdict words for accept": "ja, accept, yes", "verdict words for reject": "nein, reject, no", "sip_ml": "8", "standard_drink_g": "14", "allergens": "egg, nuts"}
	require.Len(t, given, len(values))
	for name, value := range values {
		require.Equal(t, panel.Taken{Name: name, Value: value}, given[name])
	}
}

func TestSettingsAndSession(t *testing.T) {
	f := read(t, files{"tastes.csv": plain, "datapackage.json": `{"name": "weeknight", "title": "Sours after the rush", "licenses": [], "tasting": {
		"date": "2031-03-04", "start": "21:30", "room_c": 21, "sip_ml": 8, "standard_drink_g": 14, "allergens": ["egg"], "invented": true, "prime_drop": 1, "same_margin": 0.5,
		"improves_first": true, "unclear": "last_yes", "attributes": [{"name": "liking", "low": 0, "high": 10}]}}`})
	require.Equal(t, []panel.Session{{Name: "eve", Title: "Sours after the rush", Date: "2031-03-04", Start: "21:30", RoomC: 21, HasRoomC: true, Invented: true, Dir: "eve"}}, f.Panel.Sessions)
	s := f.Panel.Settings
	s.Taken = nil
	require.Equal(t, panel.Settings{Overall: "liking", PrimeLimit: 7, RejectLimit: 4, HasLimits: true, PrimeDrop: 1, SameMargin: 0.5, ImprovesFirst: true, Unclear: "last_yes",
		SipML: 8, StandardDrinkG: 14, Allergens: []string{"egg"}}, s)
	require.Empty(t, found(f, dataerr.ErrUnknown), "keys of the open standard are not ours to judge")
	require.Equal(t, []string{"datapackage.json", "tastes.csv"}, f.Files())
}

func TestDescriptorFaults(t *testing.T) {
	const liking = `{"name": "liking", "low": 0, "high": 10}`
	for inside, want := range map[string]struct {
		column string
		err    error
	}{
		`"attributes": {}`:                                                                {"tasting.attributes", dataerr.ErrFormat},
		`"attributes": ["liking"]`:                                                        {"tasting.attributes[1]", dataerr.ErrFormat},
		`"attributes": [{"low": 0, "high": 10}]`:                                          {"tasting.attributes[1].name", dataerr.ErrMissing},
		`"attributes": [` + liking + `, ` + liking + `]`:                                  {"tasting.attributes[2].name", dataerr.ErrDuplicate},
		`"attributes": [{"name": "Verdict"}]`:                                             {"tasting.attributes[1].name", dataerr.ErrConflict},
		`"attributes": [{"name": "age_from"}]`:                                            {"tasting.attributes[1].name", dataerr.ErrConflict},
		`"attributes": [{"name": "liking", "low": 0}]`:                                    {"tasting.attributes.liking", dataerr.ErrMissing},
		`"attributes": [{"name": "liking", "low": 3, "high": 3}]`:                         {"tasting.attributes.liking.low", dataerr.ErrOrder},
		`"attributes": [{"name": "liking", "low": 0, "high": 1e999}]`:                     {"tasting.attributes[1].high", dataerr.ErrRange},
		`"attributes": [{"name": "liking", "low": 0, "high": 10, "limit": 11}]`:           {"tasting.attributes.liking.limit", dataerr.ErrRange},
		`"attributes": [{"name": "liking", "low": 0, "high": 10, "best": 5}]`:             {"tasting.attributes.liking.best", dataerr.ErrConflict},
		`"attributes": [{"name": "liking", "low": 0, "high": 10, "better": "up"}]`:        {"tasting.attributes[1].better", dataerr.ErrUnknown},
		`"attributes": [{"name": "liking", "low": 0, "high": 10, "scale": "hedonic"}]`:    {"tasting.attributes[1].scale", dataerr.ErrUnknown},
		`"attributes": [{"name":"liking","low":0,"high":10,"better":"middle","best":11}]`: {"tasting.attributes.liking.best", dataerr.ErrRange},
		`"attributes": [{"name":"liking","low":0,"high":9,"better":"middle","limit":5}]`:  {"tasting.attributes.liking.limit", dataerr.ErrRange},
		`"prime_limit": 11`:                     {"tasting.prime_limit", dataerr.ErrRange},
		`"reject_limit": 8`:                     {"tasting.reject_limit", dataerr.ErrOrder},
		`"verdicts": ["yes"]`:                   {"tasting.verdicts", dataerr.ErrFormat},
		`"verdicts": {"accept": "yes"}`:         {"tasting.verdicts.accept", dataerr.ErrFormat},
		`"allergens": "egg"`:                    {"tasting.allergens", dataerr.ErrFormat},
		`"allergens": [3]`:                      {"tasting.allergens[1]", dataerr.ErrFormat},
		`"invented": 1`:                         {"tasting.invented", dataerr.ErrFormat},
		`"same_margin": -1`:                     {"tasting.same_margin", dataerr.ErrRange},
		`"prime_drop": 0`:                       {"tasting.prime_drop", dataerr.ErrRange},
		`"standard_drink_g": "10"`:              {"tasting.standard_drink_g", dataerr.ErrNumber},
		`"date": "2031-02-30"`:                  {"tasting.date", dataerr.ErrTime},
		`"start": 2130`:                         {"tasting.start", dataerr.ErrFormat},
		`"unclear": 3`:                          {"tasting.unclear", dataerr.ErrUnknown},
		`"overall": "liking", "overall": "joy"`: {"tasting.overall", dataerr.ErrDuplicate},
	} {
		cells := refuse(t, files{"tastes.csv": plain, "datapackage.json": tasting(inside)})
		require.Len(t, cells, 1, inside)
		require.Equal(t, want.column, cells[0].Column, inside)
		require.ErrorIs(t, cells[0], want.err, inside)
		require.Equal(t, "eve/datapackage.json", cells[0].File)
	}
	for text, want := range map[string]string{
		`[]`:                     "the descriptor is one object",
		`{"tasting": []}`:        "write an object",
		`{"resources": {}}`:      "write a list",
		`{"resources": ["a"]}`:   "a resource is an object",
		"{\n\"a\": 1\n\"b\": 2}": "line 3: cannot be read; it is not JSON",
		`{`:                      "it is not JSON",
		``:                       "it is not JSON",
	} {
		cells := refuse(t, files{"tastes.csv": plain, "datapackage.json": text})
		require.Len(t, cells, 1, text)
		require.Contains(t, cells[0].Error(), want, text)
	}
	read(t, files{"tastes.csv": plain, "datapackage.json": tasting(`"overall": null, "attributes": null, "prime_limit": null`)})
}

// A line in the descriptor is that of the key, also far down.
func TestDescriptorLines(t *testing.T) {
	cells := refuse(t, files{"tastes.csv": plain, "datapackage.json": "{\n\n  \"tasting\": {\n    \"attributes\": [\n      {\"name\": \"liking\",\n       \"low\": 0,\n       \"high\": \"10\"}\n    ],\n    \"room_c\":\n      99\n  }\n}\n"})
	require.Equal(t, [2]int{7, 10}, [2]int{cells[0].Row, cells[1].Row})
}
