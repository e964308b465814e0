package panelcsv_test

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// placeless takes the places out of a panel, so that the same evening in two files is equal.
func placeless(p *panel.Panel) *panel.Panel {
	q := *p
	q.Sessions = append([]panel.Session(nil), p.Sessions...)
	for i := range q.Sessions {
		q.Sessions[i].Dir = ""
	}
	q.Pours = append([]panel.Pour(nil), p.Pours...)
	for i := range q.Pours {
		q.Pours[i].Origin = panel.Origin{}
	}
	q.Tastes = append([]panel.Taste(nil), p.Tastes...)
	for i := range q.Tastes {
		q.Tastes[i].Origin = panel.Origin{}
	}
	return &q
}

func TestUTF16(t *testing.T) {
	text := strings.Replace(plain, "ann", "änn\U0001F378", 2)
	want := read(t, files{"tastes.csv": text}).Panel
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		raw := order.AppendUint16(nil, 0xfeff)
		for _, u := range utf16.Encode([]rune(text)) {
			raw = order.AppendUint16(raw, u)
		}
		f := read(t, files{"tastes.csv": string(raw)})
		require.Equal(t, want, f.Panel)
		require.Equal(t, raw, f.Raw("tastes.csv"), "the file as it stands")
	}
}

const wide = `taster;style;batch;2;4 min;6,5;4 liking;why;note;extra
ann;sour;a;yes;yes;no;7,5;drink;"good; cold";1
bob;sour;a;yes;no;;3;;;2
cat;sour;b;;;;;;;3
`

func TestWideTable(t *testing.T) {
	f := read(t, files{"tastes.csv": wide, "datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}]`)})
	require.True(t, f.Wide())
	p := f.Panel
	require.Len(t, p.Tastes, 5)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "row without score, verdict or why", Rows: 1}}, p.LeftOut, "a glass without an answer")
	score := func(x float64) []panel.Score { return []panel.Score{{Value: x, Given: true}} }
	taste := func(taster string, pour int, age float64, v panel.Verdict, line int) panel.Taste {
		return panel.Taste{Session: "eve", Taster: taster, Pour: pour, Mode: panel.SipThrough, Age: panel.Age(age), Verdict: v, Scores: []panel.Score{{}},
			Origin: panel.Origin{File: "eve/tastes.csv", Line: line}}
	}
	want := []panel.Taste{taste("ann", 0, 2, panel.Accept, 2), taste("ann", 0, 4, panel.Accept, 2), taste("ann", 0, 6.5, panel.Reject, 2),
		taste("bob", 1, 2, panel.Accept, 3), taste("bob", 1, 4, panel.Reject, 3)}
	want[0].Note, want[2].Why, want[1].Scores, want[4].Scores = "good; cold", panel.WhyDrink, score(7.5), score(3)
	require.Equal(t, want, p.Tastes)
	require.Equal(t, []string{"glass 1", "a", "ann"}, []string{p.Pours[0].ID, p.Pours[0].Batch, p.Pours[0].Taster})
	require.Contains(t, f.Notes, "eve/tastes.csv is a wide table: a row is a glass, 3 ages stand in the headings, from 2 to 6,5 min.")

	long := f.Long()
	require.Equal(t, `taster,style,batch,why,note,extra,pour,mode,age_min,verdict,liking
ann,sour,a,,good; cold,1,glass 1,sip_through,2,yes,
ann,sour,a,,,,glass 1,sip_through,4,yes,"7,5"
ann,sour,a,drink,,,glass 1,sip_through,"6,5",no,
bob,sour,a,,,2,glass 2,sip_through,2,yes,
bob,sour,a,,,,glass 2,sip_through,4,no,3
cat,sour,b,,,3,glass 3,sip_through,"6,5",,
`, string(long["tastes.csv"]))
	again := read(t, files{"tastes.csv": string(long["tastes.csv"]), "datapackage.json": string(long["datapackage.json"])})
	require.False(t, again.Wide())
	require.Equal(t, placeless(p), placeless(again.Panel), "the long form says the same")
	same := again.Long()
	require.Equal(t, long, same)
}

// Headings that are ages alone hold verdicts where every cell is a verdict word, else the overall score.
func TestWideTableOfScores(t *testing.T) {
	scores := "taster,style,\"2,5\",6\nann,sour,8,3\nbob,sour,7,\n"
	for descriptor, want := range map[string]string{tasting(`"overall": "joy", "attributes": [{"name": "joy", "low": 0, "high": 10}, {"name": "liking", "low": 0, "high": 10}]`): "joy",
		tasting(`"attributes": [{"name": "joy", "low": 0, "high": 10}]`): "joy", "{}": "liking"} {
		p := read(t, files{"tastes.csv": scores, "datapackage.json": descriptor}).Panel
		require.Equal(t, want, p.Settings.Overall)
		require.Len(t, p.Tastes, 3)
		require.Equal(t, panel.Age(2.5), p.Tastes[2].Age)
		require.Equal(t, panel.Score{Value: 3, Given: true}, p.Tastes[1].Scores[0])
	}
	p := read(t, files{"tastes.csv": "taster,style,2,6\nann,sour,Ja,Nein\nbob,sour,JA,\n", "datapackage.json": tasting(`"verdicts": {"accept": ["ja"], "reject": ["nein"]}`)}).Panel
	require.Equal(t, panel.Reject, p.Tastes[1].Verdict)
	require.Empty(t, p.Attributes)
	p = read(t, files{"tastes.csv": "taster,pour,style,2,6\nann,g7,sour,yes,no\n"}).Panel
	f := read(t, files{"tastes.csv": "taster,style,2,6,20310304\nann,sour,yes,no,checked\n"})
	require.Len(t, f.Panel.Tastes, 2, "a heading over a week is no age")
	require.Len(t, found(f, panelcsv.ErrNotAnalysed), 1)
	require.Equal(t, "g7", p.Pours[0].ID, "a wide table may name its glasses")
}

func TestWideTableFaults(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"taster,style,2,6 min,6\nann,sour,yes,no,no\n", `eve/tastes.csv, line 1, column 6: stands twice; "6 min" means the verdict at the same age; give every age once`},
		{"taster,style,2,6 style\nann,sour,yes,x\n", `eve/tastes.csv, line 1, column 6 style: contradicts another place; beside an age stands verdict, why, note or an attribute; style holds for the whole glass and has a column of its own`},
		{"taster,style,verdict,2 liking,6 liking\nann,sour,yes,3,4\n", `eve/tastes.csv, line 1, column verdict: contradicts another place; in a wide table the headings are the ages: write them as 4 verdict, 6 verdict`},
		{"taster,style,liking,2,6 verdict\nann,sour,4,3,yes\n", `eve/tastes.csv, line 1, column 2: contradicts another place; there is a column liking without an age too; write the age into its heading`},
		{"taster,style,2 verdict,6 verdict\nann,sour,yes,maybe\n", `eve/tastes.csv, line 2, column 6 verdict: "maybe" is not known; accepted words are: accept, yes, reject, no`},
		{"taster,style,2,6\nann,sour,8,7\nbob,sour,8,7\ncat,sour,8,yes\nann,sour,8,7\ndan,sour,8,7\n", `eve/tastes.csv, line 4, column 6: "yes" is not a number; write a number such as 4.5`},
		{"style,2,6\nsour,yes,no\n", `eve/tastes.csv, line 1, column taster: column is missing; the columns are style, pour, mode, age_min, verdict`},
	} {
		cells := refuse(t, files{"tastes.csv": tt.text})
		require.Equal(t, tt.want, cells[0].Error())
	}
}

func TestReadFile(t *testing.T) {
	fsys := files{"late.csv": plain, "wide.csv": wide, "book.xlsx": "PK\x03\x04", "tastes.csv": "never read", "pours.csv": "never read"}.fs()
	f, err := panelcsv.ReadFile(fsys, "late.csv")
	require.NoError(t, err)
	require.Equal(t, "late", f.Name)
	require.Equal(t, "late", f.Panel.Sessions[0].Name)
	require.Equal(t, panel.Origin{File: "late.csv", Line: 2}, f.Panel.Tastes[0].Origin)
	require.Equal(t, []string{"late.csv"}, f.Files())
	f, err = panelcsv.ReadFile(fsys, "wide.csv")
	require.NoError(t, err)
	long := f.Long()
	require.Contains(t, string(long["tastes.csv"]), "age_min")
	_, err = panelcsv.ReadFile(fsys, "book.xlsx")
	require.EqualError(t, err, "book.xlsx: cannot be read; it is a workbook; save the sheet as CSV UTF-8")
	_, err = panelcsv.ReadFile(fsys, "nothing.csv")
	require.ErrorContains(t, err, "nothing.csv: file is missing")
}

// Writing a session back loses and changes nothing: over random sessions the files are the same bytes, and read the same.
func TestWriteBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 6))
	odd := []string{"", "=1+1", " a b ", "\"q\"\"q\"", "\"two\nlines\"", "é", "007", "1e3"}
	for n := range 20 {
		f := besides()
		sep := []string{",", ";", "\t"}[n%3]
		var b strings.Builder
		b.WriteString([]string{"", "\ufeff"}[n%2] + strings.Join([]string{"taster", "pour", "style", "age_min", "verdict", "liking", "note", "extra"}, sep) + "\r\n")
		for i := range 1 + rng.IntN(30) {
			b.WriteString(strings.Join([]string{string(rune('a' + rng.IntN(5))), fmt.Sprint("p", rng.IntN(4)), "sour", fmt.Sprint(i), []string{"yes", "no", "YES"}[rng.IntN(3)], fmt.Sprint(rng.IntN(11)),
				odd[rng.IntN(len(odd))], odd[rng.IntN(len(odd))]}, sep) + []string{"\r\n", "\n"}[rng.IntN(2)])
		}
		f["tastes.csv"] = b.String()
		if n%4 == 0 {
			f["tastes.csv"] = wide
		}
		f["pours.csv"] = strings.ReplaceAll(f["pours.csv"], "1,ann", "p9,ann")
		f["readings.csv"] = "pour,age_min,quantity,value,unit\nx,4,foam,12,mm\n"
		f["key.csv"] = "code,pour,style\n412,x,sour\n"
		f["rounds.csv"] = "round,called_at\n1,21:30\n"
		f["plan.json"] = `{"code_key": "key.csv"}`
		got := read(t, f)
		dir := filepath.Join(t.TempDir(), "deep", "copy")
		require.NoError(t, got.WriteTo(dir))
		for name, text := range f {
			raw, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			require.Equal(t, text, string(raw), name)
		}
		again, err := panelcsv.Read(os.DirFS(dir), "eve")
		require.NoError(t, err)
		require.Equal(t, got.Panel, again.Panel)
		require.Equal(t, fmt.Sprint(got.Findings, got.Notes), fmt.Sprint(again.Findings, again.Notes))
	}
}

func TestWriteFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	bad := map[string][]byte{"a.csv": []byte("a"), "b": []byte("b"), "b/c.csv": []byte("c")} // b cannot be both
	require.Error(t, panelcsv.WriteFolder(dir, bad))
	require.NoDirExists(t, dir)
	left, err := os.ReadDir(filepath.Dir(dir))
	require.NoError(t, err)
	require.Empty(t, left, "nothing half-written")

	require.NoError(t, os.Mkdir(dir, 0o755))
	require.Error(t, panelcsv.WriteFolder(dir, bad))
	left, err = os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left)

	require.NoError(t, panelcsv.WriteFolder(dir, map[string][]byte{"a.csv": []byte("a"), "deep/er/c.csv": []byte("c")}))
	require.FileExists(t, filepath.Join(dir, "deep", "er", "c.csv"))
	require.ErrorContains(t, panelcsv.WriteFolder(dir, map[string][]byte{"a.csv": []byte("X")}), "holds files already (a.csv ...)")
	raw, err := os.ReadFile(filepath.Join(dir, "a.csv"))
	require.NoError(t, err)
	require.Equal(t, "a", string(raw), "nothing is written over")
	for _, name := range []string{"../x.csv", "/x.csv", `..\x.csv`, "."} {
		require.ErrorContains(t, panelcsv.WriteFolder(filepath.Join(dir, "other"), map[string][]byte{name: nil}), "leads out of the folder")
	}
	require.NoDirExists(t, filepath.Join(dir, "other"))
	require.Error(t, panelcsv.WriteFolder(filepath.Join(dir, "a.csv"), nil), "a file is in the way")
}
