package simulate

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// Format says how the tables are written; the zero value is plain: commas, decimal points, line feeds, ages in minutes.
type Format struct {
	Separator     rune       // 0 means ','; else ';' or '\t'
	DecimalComma  bool       // with ',' as separator such cells are quoted
	CRLF          bool       // line ends as spreadsheets write them
	BOM           bool       // byte-order mark of UTF-8
	Quote         bool       // every cell in quotes
	ClockTimes    bool       // tasted_at and made_at instead of age_min
	OneTable      bool       // no pours.csv: its columns (but volume_ml) stand in tastes.csv
	SessionColumn bool       // the session's name in every row, else the folder's name is meant
	NoDescriptor  bool       // no datapackage.json: scale, limits and start are then for the reader to guess
	Columns       *rand.Rand // shuffles the columns; nil: usual order
	Accept        string     // verdict words; "" means accept and reject
	Reject        string
}

// Files writes the session's tastes.csv, pours.csv and datapackage.json, and readings.csv, choices.csv and paces.csv where
// there are any. Text is quoted where it must be and never changed.
func (s *Session) Files(f Format) (map[string][]byte, error) {
	if f.Separator == 0 {
		f.Separator = ','
	}
	if !strings.ContainsRune(",;\t", f.Separator) {
		return nil, &dataerr.Cell{Column: "Separator", Value: string(f.Separator), Err: dataerr.ErrUnknown, Want: "give a comma, a semicolon or a tab"}
	}
	f.Accept, f.Reject = textOr(f.Accept, "accept"), textOr(f.Reject, "reject")
	if f.Accept == f.Reject {
		return nil, &dataerr.Cell{Column: "Reject", Value: f.Reject, Err: dataerr.ErrDuplicate, Want: "give two different words"}
	}
	tables := []table{s.tastes(f)}
	if !f.OneTable {
		tables = append(tables, s.pours(f))
	}
	tables = append(tables, s.besideTables(f)...)
	out := map[string][]byte{}
	for i := range tables {
		tables[i].shuffle(f.Columns)
		b, err := tables[i].encode(f)
		if err != nil {
			return nil, fmt.Errorf("write %s: %w", tables[i].name, err)
		}
		out[tables[i].name+".csv"] = b
	}
	if f.NoDescriptor {
		return out, nil
	}
	b, err := marshal(s.descriptor(f, tables))
	if err != nil {
		return nil, fmt.Errorf("write datapackage.json: %w", err)
	}
	out["datapackage.json"] = b
	return out, nil
}

// table is columns of text, all of one length.
type table struct {
	name    string
	columns []column
}

type column struct {
	name, kind string // kind: a type of Table Schema
	cells      []string
}

func (t *table) add(name, kind string, cells []string) {
	t.columns = append(t.columns, column{name, kind, cells})
}

func (t *table) shuffle(rng *rand.Rand) {
	if rng != nil {
		rng.Shuffle(len(t.columns), func(i, j int) { t.columns[i], t.columns[j] = t.columns[j], t.columns[i] })
	}
}

func (s *Session) tastes(f Format) table {
	t := table{name: "tastes"}
	text := func(of func(Taste) string) []string {
		cells := make([]string, len(s.Tastes))
		for i := range s.Tastes {
			cells[i] = of(s.Tastes[i])
		}
		return cells
	}
	pour := func(x Taste) Pour { return s.Pours[x.Pour] }
	if f.SessionColumn {
		t.add("session", "string", text(func(Taste) string { return s.spec.Name }))
	}
	t.add("taster", "string", text(func(x Taste) string { return x.Taster }))
	t.add("pour", "string", text(func(x Taste) string { return pour(x).ID }))
	if f.OneTable {
		t.add("style", "string", text(func(x Taste) string { return s.spec.Styles[pour(x).Style].Name }))
		t.add("serve", "string", text(func(x Taste) string { return s.spec.Styles[pour(x).Style].Serve }))
		t.add("batch", "string", text(func(x Taste) string { return pour(x).Batch }))
		t.add("made_at", "time", text(func(x Taste) string { return clock(pour(x).Made) }))
	}
	if len(s.spec.Tables) > 0 {
		t.add("mode", "string", text(func(x Taste) string { return x.Mode.String() }))
		t.add("flight", "string", text(func(x Taste) string { return x.Flight }))
		t.add("position", "integer", text(func(x Taste) string {
			if x.Position == 0 {
				return ""
			}
			return strconv.Itoa(x.Position)
		}))
	}
	t.add("planned_age_min", "number", text(func(x Taste) string { return f.number(panel.Minutes(x.Planned)) }))
	if f.ClockTimes {
		t.add("tasted_at", "time", text(func(x Taste) string { return clock(s.TastedAt(x)) }))
	} else {
		t.add("age_min", "number", text(func(x Taste) string { return f.number(panel.Minutes(x.Age)) }))
	}
	if !s.spec.NoVerdicts {
		t.add("verdict", "string", text(func(x Taste) string { return [...]string{"", f.Accept, f.Reject}[x.Verdict] }))
	}
	for i, a := range s.spec.Attributes {
		t.add(a.Name, "number", text(func(x Taste) string {
			if !x.Scores[i].Given {
				return ""
			}
			return f.number(x.Scores[i].Value)
		}))
	}
	if notes := text(func(x Taste) string { return x.Note }); strings.Join(notes, "") != "" {
		t.add("note", "string", notes)
	}
	return t
}

func (s *Session) pours(f Format) table {
	t := table{name: "pours"}
	text := func(of func(Pour) string) []string {
		cells := make([]string, len(s.Pours))
		for i, p := range s.Pours {
			cells[i] = of(p)
		}
		return cells
	}
	style := func(p Pour) Style { return s.spec.Styles[p.Style] }
	if f.SessionColumn {
		t.add("session", "string", text(func(Pour) string { return s.spec.Name }))
	}
	t.add("pour", "string", text(func(p Pour) string { return p.ID }))
	t.add("taster", "string", text(func(p Pour) string { return p.Taster }))
	t.add("style", "string", text(func(p Pour) string { return style(p).Name }))
	t.add("serve", "string", text(func(p Pour) string { return style(p).Serve }))
	t.add("batch", "string", text(func(p Pour) string { return p.Batch }))
	t.add("volume_ml", "number", text(func(p Pour) string { return f.number(style(p).VolumeML) }))
	t.add("made_at", "time", text(func(p Pour) string { return clock(p.Made) }))
	return t
}

// besideTables are the files that stand beside tastes.csv; none that would be empty.
func (s *Session) besideTables(f Format) []table {
	var out []table
	start := func(name string, rows int) (*table, func(column, kind string, of func(i int) string)) {
		t := &table{name: name}
		add := func(column, kind string, of func(i int) string) {
			cells := make([]string, rows)
			for i := range cells {
				cells[i] = of(i)
			}
			t.add(column, kind, cells)
		}
		if f.SessionColumn {
			add("session", "string", func(int) string { return s.spec.Name })
		}
		return t, add
	}
	if len(s.Readings) > 0 {
		t, add := start("readings", len(s.Readings))
		add("pour", "string", func(i int) string { return s.Pours[s.Readings[i].Pour].ID })
		add("age_min", "number", func(i int) string { return f.number(panel.Minutes(s.Readings[i].Age)) })
		add("quantity", "string", func(i int) string { return s.Readings[i].Quantity })
		add("value", "number", func(i int) string { return f.number(s.Readings[i].Value) })
		add("unit", "string", func(i int) string { return s.Readings[i].Unit })
		out = append(out, *t)
	}
	if len(s.Choices) > 0 {
		t, add := start("choices", len(s.Choices))
		add("taster", "string", func(i int) string { return s.Choices[i].Taster })
		add("trial", "string", func(i int) string { return strconv.Itoa(s.Choices[i].Trial) })
		add("test", "string", func(i int) string { return s.Choices[i].Test })
		add("pour_a", "string", func(i int) string { return s.Pours[s.Choices[i].Older].ID })
		add("pour_b", "string", func(i int) string { return s.Pours[s.Choices[i].Younger].ID })
		add("age_a_min", "number", func(i int) string { return f.number(panel.Minutes(s.Choices[i].AgeO)) })
		add("age_b_min", "number", func(i int) string { return f.number(panel.Minutes(s.Choices[i].AgeY)) })
		add("answer", "string", func(i int) string { return rightWords(s.Choices[i].Right) })
		out = append(out, *t)
	}
	if len(s.Paces) > 0 {
		t, add := start("paces", len(s.Paces))
		style := func(i int) Style { return s.spec.Styles[s.Paces[i].Style] }
		add("style", "string", func(i int) string { return style(i).Name })
		add("serve", "string", func(i int) string { return style(i).Serve })
		add("volume_ml", "number", func(i int) string { return f.number(style(i).VolumeML) })
		add("age_at_first_sip_min", "number", func(i int) string { return f.number(s.Paces[i].AgeAtFirstSip) })
		add("minutes", "number", func(i int) string { return f.number(s.Paces[i].Minutes) })
		add("finished", "string", func(i int) string {
			if s.Paces[i].Finished {
				return "yes"
			}
			return "no"
		})
		add("why", "string", func(i int) string { return s.Paces[i].Why.String() })
		out = append(out, *t)
	}
	return out
}

// number writes with as many digits as are needed to read the same number back; whole ages of the grid give two decimals.
func (f Format) number(v float64) string {
	text := strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
	if f.DecimalComma {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

// clock writes HH:MM:SS; past midnight it begins again at 00.
func clock(d time.Duration) string {
	d %= 24 * time.Hour
	return fmt.Sprintf("%02d:%02d:%02d", int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60)
}

func (t *table) encode(f Format) ([]byte, error) {
	var b bytes.Buffer
	if f.BOM {
		b.WriteString("\ufeff")
	}
	w := csv.NewWriter(&b)
	w.Comma, w.UseCRLF = f.Separator, f.CRLF
	rows := len(t.columns[0].cells)
	line := make([]string, len(t.columns))
	for r := -1; r < rows; r++ {
		for c, col := range t.columns {
			if line[c] = col.name; r >= 0 {
				line[c] = col.cells[r]
			}
		}
		if f.Quote { // encoding/csv quotes only where it must
			quoteAll(&b, line, f)
		} else if err := w.Write(line); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func quoteAll(b *bytes.Buffer, line []string, f Format) {
	for i, cell := range line {
		if i > 0 {
			b.WriteRune(f.Separator)
		}
		b.WriteByte('"')
		b.WriteString(strings.ReplaceAll(cell, `"`, `""`))
		b.WriteByte('"')
	}
	if f.CRLF {
		b.WriteByte('\r')
	}
	b.WriteByte('\n')
}
