package simulate_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/simulate"
)

// awkward is an evening whose free text needs care in a table.
func awkward() simulate.Evening {
	return simulate.Evening{Name: "Tuesday; late", Start: "23:50", Tasters: 6, Low: -1, High: 2, Step: 0.25,
		Styles:     []simulate.Style{{Name: `sour, "house" style; 2`, Serve: "coupe; small"}, {Name: "höher ball"}},
		Attributes: []simulate.Attribute{{Name: `joy, overall`}, {Name: `"zip"; zing`, Better: panel.BetterLow}},
		Overall:    "joy, overall"}
}

// TestFilesReadBack parses every form with encoding/csv alone and finds each recorded value where it should stand.
func TestFilesReadBack(t *testing.T) {
	s := run(t, awkward(), 20)
	s.Tastes[3].Scores[1] = panel.Score{}
	s.Tastes[4].Scores[0].Value = 17.5
	s.Tastes[5].Note = "spilt, \"some\"\tof it; sorry"
	formats := []simulate.Format{{}, {Quote: true, DecimalComma: true}, {DecimalComma: true}, {Separator: ';', DecimalComma: true, CRLF: true, BOM: true},
		{Separator: '\t', ClockTimes: true}, {OneTable: true, ClockTimes: true, SessionColumn: true, Quote: true, CRLF: true},
		{NoDescriptor: true, Accept: "ja", Reject: "nein, danke", Separator: ';'}}
	for _, f := range formats {
		for _, shuffled := range []bool{false, true} {
			name := fmt.Sprintf("%+v shuffled %v", f, shuffled)
			if shuffled {
				f.Columns = rand.New(rand.NewPCG(3, 3))
			}
			files, err := s.Files(f)
			require.NoError(t, err)
			want := 3
			if f.OneTable {
				want--
			}
			if f.NoDescriptor {
				want--
			}
			require.Len(t, files, want, name)
			tastes := readTable(t, files["tastes.csv"], f)
			require.Len(t, tastes, len(s.Tastes), name)
			var pours map[string]map[string]string
			if !f.OneTable {
				pours = byPour(readTable(t, files["pours.csv"], f))
				require.Len(t, pours, len(s.Pours))
			}
			for i, row := range tastes {
				same(t, s, i, row, pours, f, name)
			}
		}
	}
}

func byPour(rows []map[string]string) map[string]map[string]string {
	out := map[string]map[string]string{}
	for _, r := range rows {
		out[r["pour"]+"/"+r["taster"]] = r
	}
	return out
}

func readTable(t *testing.T, b []byte, f simulate.Format) []map[string]string {
	require.Equal(t, f.BOM, bytes.HasPrefix(b, []byte("\xef\xbb\xbf")))
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	require.Equal(t, f.CRLF, bytes.HasSuffix(b, []byte("\r\n")))
	require.Equal(t, f.Quote, bytes.Contains(b, []byte(`"taster"`)))
	r := csv.NewReader(bytes.NewReader(b))
	if f.Separator != 0 {
		r.Comma = f.Separator
	}
	rows, err := r.ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

// same compares one row of text with what was recorded.
func same(t *testing.T, s *simulate.Session, i int, row map[string]string, pours map[string]map[string]string, f simulate.Format, name string) {
	x := s.Tastes[i]
	p, e := s.Pours[x.Pour], s.Spec()
	about := row
	if pours != nil {
		about = pours[row["pour"]+"/"+row["taster"]]
	}
	accept, reject := "accept", "reject"
	if f.Accept != "" {
		accept, reject = f.Accept, f.Reject
	}
	require.Equal(t, []string{p.Taster, p.ID, e.Styles[p.Style].Name, e.Styles[p.Style].Serve, p.Batch, map[panel.Verdict]string{panel.Accept: accept, panel.Reject: reject}[x.Verdict], x.Note},
		[]string{row["taster"], row["pour"], about["style"], about["serve"], about["batch"], row["verdict"], row["note"]}, name)
	if f.SessionColumn {
		require.Equal(t, e.Name, row["session"])
	}
	if f.ClockTimes {
		age := at(t, row["tasted_at"]) - at(t, about["made_at"])
		if age < 0 {
			age += 24 * time.Hour
		}
		require.Equal(t, x.Age, age, name)
	} else {
		require.Equal(t, x.Age, panel.Age(number(t, row["age_min"], f)), "the age is exact: %s", name)
	}
	require.Equal(t, x.Planned, panel.Age(number(t, row["planned_age_min"], f)))
	for k, a := range e.Attributes {
		if !x.Scores[k].Given {
			require.Empty(t, row[a.Name])
			continue
		}
		require.Equal(t, x.Scores[k].Value, number(t, row[a.Name], f), "the score is exact: %s", name)
	}
}

func at(t *testing.T, text string) time.Duration {
	c, err := time.Parse("15:04:05", text)
	require.NoError(t, err)
	return c.Sub(time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC))
}

func number(t *testing.T, text string, f simulate.Format) float64 {
	if f.DecimalComma {
		require.NotContains(t, text, ".")
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

func TestColumnsAreShuffled(t *testing.T) {
	s := run(t, simulate.Evening{Tasters: 2}, 21)
	head := func(f simulate.Format) string {
		files, err := s.Files(f)
		require.NoError(t, err)
		line, _, _ := strings.Cut(string(files["tastes.csv"]), "\n")
		return line
	}
	require.Equal(t, "taster,pour,planned_age_min,age_min,verdict,liking,liveliness,coldness", head(simulate.Format{}))
	seen := map[string]bool{}
	for n := range uint64(5) {
		seen[head(simulate.Format{Columns: stream(n)})] = true
	}
	require.Greater(t, len(seen), 3)
}

func TestDescriptor(t *testing.T) {
	s := run(t, awkward(), 22)
	files, err := s.Files(simulate.Format{Separator: ';', DecimalComma: true, Accept: "ja", Reject: "nein"})
	require.NoError(t, err)
	var d struct {
		Name      string
		Resources []struct {
			Name, Path string
			Dialect    struct{ Delimiter string }
			Schema     struct {
				Fields []struct{ Name, Type, DecimalChar string }
			}
		}
		Tasting struct {
			Invented   bool
			Start      string
			Overall    string
			Verdicts   map[string][]string
			Attributes []struct {
				Name, Better, Scale string
				Low, High           float64
			}
			SipML float64 `json:"sip_ml"`
		}
	}
	require.NoError(t, json.Unmarshal(files["datapackage.json"], &d))
	require.Equal(t, "Tuesday; late", d.Name)
	require.True(t, d.Tasting.Invented, "invented data say so")
	require.Equal(t, map[string][]string{"accept": {"ja"}, "reject": {"nein"}}, d.Tasting.Verdicts)
	require.Equal(t, "joy, overall", d.Tasting.Overall)
	require.Equal(t, "low", d.Tasting.Attributes[1].Better)
	require.Equal(t, 2.0, d.Tasting.Attributes[0].High)
	require.Equal(t, 6.0, d.Tasting.SipML)
	require.Len(t, d.Resources, 2)
	for _, r := range d.Resources {
		require.Equal(t, ";", r.Dialect.Delimiter)
		head, _, _ := strings.Cut(string(files[r.Path]), "\n")
		cells, err := csv.NewReader(strings.NewReader(strings.ReplaceAll(head, ";", ","))).Read()
		if r.Name == "pours" { // no awkward headings there
			require.NoError(t, err)
			require.Len(t, r.Schema.Fields, len(cells))
		}
		for _, f := range r.Schema.Fields {
			require.Equal(t, f.Type == "number", f.DecimalChar == ",", f.Name)
		}
	}
}

func TestFilesRefuses(t *testing.T) {
	s := run(t, simulate.Evening{Tasters: 1}, 23)
	_, err := s.Files(simulate.Format{Separator: '|'})
	require.ErrorIs(t, err, dataerr.ErrUnknown)
	_, err = s.Files(simulate.Format{Accept: "reject"})
	require.ErrorIs(t, err, dataerr.ErrDuplicate)
}

func TestSameSeedSameBytes(t *testing.T) {
	all := func(n uint64) map[string][]byte {
		s := run(t, awkward(), n)
		files, err := s.Files(simulate.Format{Columns: stream(n)})
		require.NoError(t, err)
		files["truth.json"], err = s.Truth.JSON()
		require.NoError(t, err)
		files["truth.csv"], err = s.Truth.CSV()
		require.NoError(t, err)
		return files
	}
	require.Equal(t, all(24), all(24))
	for name, b := range all(25) {
		if name != "datapackage.json" && name != "pours.csv" {
			require.NotEqual(t, string(all(24)[name]), string(b), name)
		}
	}
}

func TestPanelIsReady(t *testing.T) {
	s := run(t, awkward(), 26)
	s.Tastes[4].Scores[0].Value = 17.5 // a slip of the pen
	p := s.Panel()
	require.NoError(t, p.Validate())
	require.Len(t, p.Tastes, len(s.Tastes))
	require.False(t, p.Tastes[4].Scores[0].Given)
	require.Equal(t, []panel.LeftOut{{Session: "Tuesday; late", Reason: "score off the scale", Rows: 1}}, p.LeftOut)
	require.InDelta(t, -1+0.7*3, p.Settings.PrimeLimit, 1e-12)
	require.InDelta(t, -1+0.4*3, p.Settings.RejectLimit, 1e-12)
	for i, x := range p.Tastes {
		require.Equal(t, s.Tastes[i].Age, x.Age)
		require.Equal(t, x.Taster, p.Pours[x.Pour].Taster)
		require.Equal(t, panel.SipThrough, x.Mode)
	}
	require.True(t, p.Sessions[0].Invented)
}

// The two forms of the truth say the same numbers.
func TestTruthForms(t *testing.T) {
	s := run(t, simulate.Evening{Tasters: 3, BatchSD: 0.2}, 27)
	b, err := s.Truth.JSON()
	require.NoError(t, err)
	var back simulate.Truth
	require.NoError(t, json.Unmarshal(b, &back))
	b, err = s.Truth.CSV()
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	require.NoError(t, err)
	find := func(about, taster, batch, quantity string) float64 {
		for _, r := range rows {
			if r[0] == about && r[2] == taster && (about == "limit" || r[4] == batch) && r[5] == quantity {
				v, err := strconv.ParseFloat(r[6], 64)
				require.NoError(t, err)
				return v
			}
		}
		require.Fail(t, "no such row", "%s %s %s", about, taster, quantity)
		return 0
	}
	require.Equal(t, back.Styles[0].MedianMin, find("style", "", "", "limit_median"))
	require.Equal(t, back.Batches[1].Pace, find("batch", "", "B2", "pace"))
	for i, l := range back.Limits {
		require.Equal(t, l.LimitMin, find("limit", l.Taster, "", "limit"))
		require.Equal(t, l.GlassMin, find("limit", l.Taster, "", "limit_this_glass"))
		require.InDelta(t, s.Truth.Limits[i].LimitMin, l.LimitMin, 5e-7)
	}
	require.Contains(t, back.Invented, "No one tasted anything")
}
