package panelcsv_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// files are the files of a session folder.
type files map[string]string

func (f files) fs() fstest.MapFS {
	fsys := fstest.MapFS{}
	for name, text := range f {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return fsys
}

// read reads a folder called eve that must be fine.
func read(t testing.TB, f files) *panelcsv.Folder {
	t.Helper()
	got, err := panelcsv.Read(f.fs(), "eve")
	require.NoError(t, err)
	require.NoError(t, got.Panel.Validate())
	return got
}

// refuse reads a folder called eve that must not be, and gives its faults.
func refuse(t testing.TB, f files) []*dataerr.Cell {
	t.Helper()
	got, err := panelcsv.Read(f.fs(), "eve")
	require.Error(t, err)
	require.Nil(t, got)
	return dataerr.All(err)
}

// tasting wraps the inside of the tasting key.
func tasting(inside string) string { return `{"tasting": {` + inside + `}}` }

// found gives the findings with a cause.
func found(f *panelcsv.Folder, cause error) []string {
	var out []string
	for _, w := range f.Findings {
		if errors.Is(w, cause) {
			out = append(out, w.Error())
		}
	}
	return out
}

const plain = `taster,pour,style,serve,batch,age_min,verdict,liking
ann,1,sour,coupe,a,2.5,yes,7.5
ann,1,sour,coupe,a,8,no,3
bob,2,stirred,,b,2,yes,8
bob,2,stirred,,b,9,,5
`

// TestForms: the same evening in every form that spreadsheets write gives the same panel.
func TestForms(t *testing.T) {
	semicolons := strings.NewReplacer(",", ";", ".", ",").Replace(plain)
	quoted := func(s, sep string) string {
		var out []string
		for _, line := range strings.Split(strings.TrimSpace(s), "\n") {
			out = append(out, `"`+strings.ReplaceAll(line, sep, `"`+sep+`"`)+`"`)
		}
		return strings.Join(out, "\n")
	}
	reversed := func(s string) string {
		var out []string
		for _, line := range strings.Split(strings.TrimSpace(s), "\n") {
			cells := strings.Split(line, ",")
			for i, j := 0, len(cells)-1; i < j; i, j = i+1, j-1 {
				cells[i], cells[j] = cells[j], cells[i]
			}
			out = append(out, strings.Join(cells, ","))
		}
		return strings.Join(out, "\n")
	}
	padded := strings.ReplaceAll(plain, "\n", ",,\n")
	forms := map[string]files{
		"byte-order mark":             {"tastes.csv": "\ufeff" + plain},
		"CRLF":                        {"tastes.csv": strings.ReplaceAll(plain, "\n", "\r\n")},
		"CR":                          {"tastes.csv": strings.ReplaceAll(plain, "\n", "\r")},
		"no line end at the end":      {"tastes.csv": strings.TrimSpace(plain)},
		"semicolon and decimal comma": {"tastes.csv": semicolons},
		"semicolon, decimal point":    {"tastes.csv": strings.ReplaceAll(plain, ",", ";")},
		"tab":                         {"tastes.csv": strings.ReplaceAll(plain, ",", "\t")},
		"tab and decimal comma":       {"tastes.csv": strings.ReplaceAll(semicolons, ";", "\t")},
		"all quoted":                  {"tastes.csv": quoted(plain, ",")},
		"all quoted, semicolons":      {"tastes.csv": quoted(semicolons, ";")},
		"quoted decimal comma":        {"tastes.csv": strings.NewReplacer("2.5", `"2,5"`, "7.5", `"7,5"`).Replace(plain)},
		"columns in another order":    {"tastes.csv": reversed(plain)},
		"trailing empty columns":      {"tastes.csv": padded},
		"trailing separators":         {"tastes.csv": strings.Replace(strings.ReplaceAll(strings.ReplaceAll(plain, ",", ";"), "\n", ";\n"), "liking;", "liking", 1)},
		"blank lines":                 {"tastes.csv": "\n" + strings.ReplaceAll(plain, "\n", "\n\n,,,\n")},
		"spaces and capitals":         {"tastes.csv": strings.NewReplacer("taster", " Taster ", "age_min", "AGE_MIN", "ann", " ann ", "yes", " YES").Replace(plain)},
		"capitals in the file name":   {"Tastes.CSV": plain},
		"renamed by the descriptor":   {"sheets/evening 1.csv": plain, "datapackage.json": `{"resources": [{"name": "tastes", "path": "sheets/evening 1.csv"}]}`},
		"descriptor with a mark":      {"tastes.csv": plain, "datapackage.json": "\ufeff{}"},
	}
	want := origins(read(t, files{"tastes.csv": plain}).Panel)
	require.Equal(t, panel.Age(2.5), want.Tastes[0].Age)
	require.Equal(t, panel.Score{Value: 7.5, Given: true}, want.Tastes[0].Scores[0])
	require.Equal(t, panel.Reject, want.Tastes[1].Verdict)
	require.Equal(t, panel.NoVerdict, want.Tastes[3].Verdict)
	require.Equal(t, panel.Pour{Session: "eve", ID: "1", Taster: "ann", Style: "sour", Serve: "coupe", Batch: "a"}, want.Pours[0])
	for name, f := range forms {
		t.Run(name, func(t *testing.T) { require.Equal(t, want, origins(read(t, f).Panel)) })
	}
}

// origins takes the places away, which differ between forms.
func origins(p *panel.Panel) *panel.Panel {
	for i := range p.Tastes {
		p.Tastes[i].Origin = panel.Origin{}
	}
	for i := range p.Pours {
		p.Pours[i].Origin = panel.Origin{}
	}
	return p
}

// A number with a decimal comma that nobody quoted may leave an empty cell at the end of its row.
func TestBareDecimalCommaIsNotReadAsTwoCells(t *testing.T) {
	cells := refuse(t, files{"tastes.csv": "taster,pour,style,age_min,liking,note\nann,1,sour,4,5,6,\nann,1,sour,6,5,4,\n"})
	require.Len(t, cells, 2)
	require.Contains(t, cells[0].Want, "the header names 6 columns, this row has 7 cells")
}

func TestLines(t *testing.T) {
	p := read(t, files{"tastes.csv": "\n\ntaster,pour,style,age_min,verdict,note\n\nann,1,sour,2,yes,\"two\nlines\"\nann,1,sour,8,no,\n"}).Panel
	require.Equal(t, panel.Origin{File: "eve/tastes.csv", Line: 5}, p.Tastes[0].Origin)
	require.Equal(t, "two\nlines", p.Tastes[0].Note)
	require.Equal(t, 7, p.Tastes[1].Origin.Line)
	require.Equal(t, p.Tastes[0].Origin, p.Pours[0].Origin)

	// A cell after one that spans lines is located at its own line.
	cells := refuse(t, files{"tastes.csv": "taster,note,pour,style,age_min,verdict\nann,\"two\nlines\",1,sour,x,yes\n"})
	require.Equal(t, 3, cells[0].Row)
}

// TestAllAtOnce: faults of every file are told together, in order of file and line.
func TestAllAtOnce(t *testing.T) {
	_, err := panelcsv.Read(files{
		"datapackage.json": tasting(`"date": "4 March", "start": "half past nine", "room_c": 70, "sip_ml": 0, "improves_first": "no"`),
		"pours.csv":        "pour,style,volume_ml,made_at\n1,sour,12O,\n,sour,,\n2,sour,120,25:00\n",
		"tastes.csv":       "taster,pour,age_min,verdict\nann,3,4,yes\nann,1,x,yes\n,2,4,no\nbob,2,4,so so\n",
	}.fs(), "eve")
	require.EqualError(t, err, strings.Join([]string{
		`eve/datapackage.json, line 1, column tasting.date: "4 March" is not a time; write a date such as 2031-03-04`,
		`eve/datapackage.json, line 1, column tasting.start: "half past nine" is not a time; write a time of day such as 21:04:30 or 21:04`,
		`eve/datapackage.json, line 1, column tasting.room_c: "70" is out of range; write degrees Celsius between -10 and 50`,
		`eve/datapackage.json, line 1, column tasting.sip_ml: "0" is out of range; write a number above 0 (mL)`,
		`eve/datapackage.json, line 1, column tasting.improves_first: "no" cannot be read; write true or false`,
		`eve/pours.csv, line 2, column volume_ml: "12O" is not a number; write a number such as 4.5`,
		`eve/pours.csv, line 3, column pour: is empty; name the pour as tastes.csv does`,
		`eve/pours.csv, line 4, column made_at: "25:00" is not a time; write a time of day such as 21:04:30 or 21:04`,
		`eve/tastes.csv, line 2, column pour: "3" is not known; eve/pours.csv has no such pour, and no style stands here`,
		`eve/tastes.csv, line 3, column age_min: "x" is not a number; write a number such as 4.5`,
		`eve/tastes.csv, line 4, column taster: is empty; every taste has a taster`,
		`eve/tastes.csv, line 5, column verdict: "so so" is not known; accepted words are: accept, yes, reject, no`,
	}, "\n"))
}

func TestManyFaultsAreCounted(t *testing.T) {
	var b strings.Builder
	b.WriteString("taster,pour,style,age_min,verdict\n")
	for i := range 50 {
		fmt.Fprintf(&b, "ann,1,sour,x%d,yes\n", i)
	}
	_, err := panelcsv.Read(files{"tastes.csv": b.String()}.fs(), "eve")
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, 21)
	require.Equal(t, `eve/tastes.csv, column age_min: and 30 more like this (is not a number)`, lines[20])
	require.Len(t, dataerr.All(err), 50)
}

func TestManyFindingsAreCounted(t *testing.T) {
	var b strings.Builder
	b.WriteString("taster,pour,style,batch,age_min,verdict,liking\n")
	for i := range 50 {
		fmt.Fprintf(&b, "ann,1,sour,a,%d,yes,99\n", i)
	}
	f := read(t, files{"tastes.csv": b.String(), "datapackage.json": tasting(`"attributes": [{"name": "liking", "low": 0, "high": 10}]`)})
	require.Len(t, f.Findings, 21)
	require.EqualError(t, f.Findings[20], "eve/tastes.csv, column liking: and 30 more like this (is out of range)")
	require.Len(t, dataerr.All(errors.Join(f.Findings...)), 50)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "score off the scale", Rows: 50}}, f.Panel.LeftOut)
}

func TestBounds(t *testing.T) {
	cells := refuse(t, files{"tastes.csv": plain + strings.Repeat("x", 64<<20)})
	require.Contains(t, cells[0].Error(), "over 64 MB")
	cells = refuse(t, files{"tastes.csv": plain + "ann,1,sour,,,9,yes,\"" + strings.Repeat("x", 1<<20+1) + "\"\n"})
	require.Len(t, cells, 1)
	require.Contains(t, cells[0].Error(), "line 6, column liking")
	require.Contains(t, cells[0].Error(), "over 1 MB")
}

// A wide header over many short rows would fill the memory, were every row brought to its width.
func TestVeryWideTable(t *testing.T) {
	cells := refuse(t, files{"tastes.csv": "taster,pour" + strings.Repeat(",x", 10) + strings.Repeat(",", 50_000) + "\n" + strings.Repeat("a\n", 1000)})
	require.Contains(t, cells[len(cells)-1].Error(), "stands twice")
	cells = refuse(t, files{"tastes.csv": "taster,pour,style,age_min,verdict" + strings.Repeat(",", 50_000) + "\n" + strings.Repeat("a\n", 1000)})
	require.Len(t, cells, 1)
	require.Contains(t, cells[0].Error(), "over 5 million cells")
}

func TestNoName(t *testing.T) {
	f, err := panelcsv.Read(files{"tastes.csv": plain}.fs(), "")
	require.NoError(t, err)
	require.Equal(t, "session", f.Panel.Sessions[0].Name)
	require.Equal(t, "tastes.csv", f.Panel.Tastes[0].Origin.File)
}

func TestOddBytes(t *testing.T) {
	require.Contains(t, refuse(t, files{"tastes.csv": "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"})[0].Error(), "workbook")
	require.Contains(t, refuse(t, files{"tastes.csv": "\xfe\xff\x00t\x00"})[0].Error(), "UTF-16 text with a character cut in two")
	require.Contains(t, refuse(t, files{"tastes.csv": "\xfe\xff\x00t\x00\n\xd8\x3c\x00t"})[0].Error(), "line 2: cannot be read; it is UTF-16 text with a character cut in two")
	require.Contains(t, refuse(t, files{"tastes.csv": "t\x00a\x00"})[0].Error(), "zero bytes")
	require.Contains(t, refuse(t, files{"tastes.csv": plain, "datapackage.json": "\xff\xfe{\x00}"})[0].Error(), "datapackage.json: cannot be read; it is UTF-16")
	require.Contains(t, refuse(t, files{"Evening.XLSX": "PK\x03\x04"})[0].Error(), "save the sheet of Evening.XLSX as CSV UTF-8 under this name")
}

func TestFileTwice(t *testing.T) {
	cells := refuse(t, files{"tastes.csv": plain, "Tastes.csv": plain})
	require.Len(t, cells, 1)
	require.ErrorIs(t, cells[0], dataerr.ErrDuplicate)
	cells = refuse(t, files{"tastes.csv": plain, "datapackage.json": "{}", "DataPackage.json": "{}"})
	require.Len(t, cells, 1)
	require.ErrorIs(t, cells[0], dataerr.ErrDuplicate)
}

func TestPathsStayInside(t *testing.T) {
	for _, p := range []string{`"../tastes.csv"`, `"/etc/tastes.csv"`, `"a/../../tastes.csv"`, `"C:/tastes.csv"`, `"..\\tastes.csv"`, `"http://x/y.csv"`, `"."`, `""`, `["tastes.csv"]`} {
		cells := refuse(t, files{"datapackage.json": `{"resources": [{"name": "tastes", "path": ` + p + `}]}`})
		require.Len(t, cells, 1, p)
		require.Equal(t, "resources[1].path", cells[0].Column, p)
	}
}

func TestRaw(t *testing.T) {
	f := read(t, files{"tastes.csv": "\ufeff" + plain, "notes.txt": "", "truth.json": ""})
	require.NotContains(t, strings.Join(f.Notes, " "), "truth")
	require.Equal(t, []string{"tastes.csv"}, f.Files())
	require.Equal(t, "\ufeff"+plain, string(f.Raw("tastes.csv")), "as on disk")
	require.Nil(t, f.Raw("key.csv"))
	f.Raw("tastes.csv")[0] = 'X'
	require.Equal(t, "\ufeff"+plain, string(f.Raw("tastes.csv")))
}

func TestNumbers(t *testing.T) {
	for cell, want := range map[string]float64{"4": 4, "4.5": 4.5, "+4.5": 4.5, ".5": 0.5, "5.": 5, "1e1": 10, "007": 7, "0": 0, "4,5": 4.5} {
		p := read(t, files{"tastes.csv": "taster;pour;style;age_min;verdict\nann;1;sour;" + cell + ";yes\n"}).Panel
		require.Equal(t, panel.Age(want), p.Tastes[0].Age, cell)
	}
	for cell, cause := range map[string]error{"NaN": dataerr.ErrNumber, "nan": dataerr.ErrNumber, "inf": dataerr.ErrNumber, "-Inf": dataerr.ErrNumber, "0x10": dataerr.ErrNumber,
		"1_0": dataerr.ErrNumber, "1 000": dataerr.ErrNumber, "1.000,5": dataerr.ErrNumber, "1'000": dataerr.ErrNumber, "4 min": dataerr.ErrNumber, "e": dataerr.ErrNumber,
		"--1": dataerr.ErrNumber, "1e999": dataerr.ErrRange, "n/a": dataerr.ErrNumber, "-": dataerr.ErrNumber, "12,": nil, "-0.1": dataerr.ErrRange, "10081": dataerr.ErrRange} {
		f := files{"tastes.csv": "taster;pour;style;age_min;verdict\nann;1;sour;" + cell + ";yes\n"}
		if cause == nil {
			read(t, f)
			continue
		}
		cells := refuse(t, f)
		require.Len(t, cells, 1, cell)
		require.ErrorIs(t, cells[0], cause, cell)
		require.Equal(t, cell, cells[0].Value)
	}
}

func TestWords(t *testing.T) {
	p := read(t, files{"tastes.csv": "taster,pour,style,age_min,verdict,why,aware,mode,flight,position,note\n" +
		"ann,1,sour,2,YES,,x,sip-through,f1,1,=1+1\nann,1,sour,4,Accept,,no,Sip Through,f1,2,\nann,1,sour,6,no,Drink,,sip_through,,,\nann,1,sour,8,reject,full,TRUE,SIP_THROUGH,,,\n" +
		"bob,2,sour,2,,bored,,side by side,,,\nbob,3,sour,2,,left,0,side-by-side,,,\n"}).Panel
	var verdicts, whys, aware []string
	for _, s := range p.Tastes {
		verdicts, whys, aware = append(verdicts, s.Verdict.String()), append(whys, s.Why.String()), append(aware, fmt.Sprint(s.Aware))
	}
	require.Equal(t, []string{"accept", "accept", "reject", "reject", "", ""}, verdicts)
	require.Equal(t, []string{"", "", "drink", "full", "bored", "left"}, whys)
	require.Equal(t, []string{"true", "false", "false", "true", "false", "false"}, aware)
	require.Equal(t, panel.SideBySide, p.Tastes[5].Mode)
	require.Equal(t, panel.SipThrough, p.Tastes[1].Mode)
	require.Equal(t, "f1", p.Tastes[0].Flight)
	require.Equal(t, 2, p.Tastes[1].Position)
	require.Equal(t, "=1+1", p.Tastes[0].Note, "kept as written")
	for column, value := range map[string]string{"aware": "maybe", "position": "1.5", "why": "tired", "mode": "blind"} {
		cells := refuse(t, files{"tastes.csv": "taster,pour,style,age_min,verdict," + column + "\nann,1,sour,2,yes," + value + "\n"})
		require.Len(t, cells, 1)
		require.Equal(t, [2]string{column, value}, [2]string{cells[0].Column, cells[0].Value})
	}
}

func TestVerdictWords(t *testing.T) {
	const rows = "taster,pour,style,age_min,verdict\nann,1,sour,2,%s\nann,1,sour,4,%s\n"
	verdicts := func(descriptor, first, second string) []panel.Verdict {
		p := read(t, files{"tastes.csv": fmt.Sprintf(rows, first, second), "datapackage.json": descriptor}).Panel
		return []panel.Verdict{p.Tastes[0].Verdict, p.Tastes[1].Verdict}
	}
	own := tasting(`"verdicts": {"accept": ["weiter"], "reject": ["Stehen Lassen"]}`)
	require.Equal(t, []panel.Verdict{panel.Accept, panel.Reject}, verdicts(own, "WEITER", "stehen lassen"))
	require.Equal(t, []panel.Verdict{panel.Accept, panel.Reject}, verdicts(own, "yes", "no"), "our words stay")
	asked := tasting(`"verdicts": {"accept": ["no"], "reject": ["yes"]}`)
	require.Equal(t, []panel.Verdict{panel.Reject, panel.Accept}, verdicts(asked, "yes", "no"), "the descriptor's meaning wins: would you leave it?")
}
