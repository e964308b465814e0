package panelcsv

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"lastsip/analysis/dataerr"
)

// Limits of what is read: an evening has thousands of short rows, so anything larger is another kind of file.
const (
	maxFile = 64 << 20 // bytes
	maxCell = 1 << 20  // bytes
	// maxCells bounds rows times columns: a small file of short rows under a very wide header would fill the memory.
	maxCells = 5_000_000
)

// table is a file of separated values as it stands: every cell a trimmed string, every row with its line.
type table struct {
	file   string         // as messages name it
	header int            // line of the header
	names  []string       // header cells, trimmed
	own    map[string]int // columns of ours, lower case
	extra  []int          // columns that are not ours
	rows   []record
	absent bool // there is no such file, and need not be
}

type record struct {
	line  int
	lines []int    // line of each cell, only where a quoted cell spans lines
	heads []string // heading of each cell as the file has it, only where it is not the column's name
	cells []string
}

// heading gives the column of a cell as the file writes it.
func (t *table) heading(row, column int, name string) string {
	if h := t.rows[row].heads; column >= 0 && column < len(h) && h[column] != "" {
		return h[column]
	}
	return name
}

// has tells whether the table has a column of ours.
func (t *table) has(column string) bool {
	if t == nil {
		return false
	}
	_, ok := t.own[column]
	return ok
}

// get gives a cell by column of ours; empty without the column.
func (t *table) get(row int, column string) string {
	if i, ok := t.own[column]; ok {
		return t.rows[row].cells[i]
	}
	return ""
}

// line gives the line of a cell; of the row where the column is not there.
func (t *table) line(row int, column int) int {
	r := &t.rows[row]
	if column >= 0 && column < len(r.lines) {
		return r.lines[column]
	}
	return r.line
}

// column gives the index of a column of ours, -1 without.
func (t *table) column(name string) int {
	if i, ok := t.own[name]; ok {
		return i
	}
	return -1
}

// slurp reads a file of the folder, bounded: its bytes as they stand and its text. What is no UTF-8 or UTF-16 text is
// refused; the faults say what to do instead.
func slurp(fsys fs.FS, path, shown string) (raw, text []byte, bad *dataerr.Cell) {
	if info, err := fs.Stat(fsys, path); err == nil && !info.Mode().IsRegular() && !info.IsDir() { // a pipe would block for ever
		return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it is a pipe or a device; name a plain file"}
	}
	f, err := fsys.Open(path)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrNoFile}
		}
		return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: err.Error()}
	}
	defer f.Close()
	raw, err = io.ReadAll(io.LimitReader(f, maxFile+1))
	switch {
	case err != nil:
		return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: err.Error()}
	case len(raw) > maxFile:
		return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it is over 64 MB; a tasting is far smaller, split it into evenings"}
	}
	text = raw
	if order, is := utf16Order(raw); is {
		if text, bad = fromUTF16(raw[2:], order, shown); bad != nil {
			return nil, nil, bad
		}
	}
	if want := notText(text); want != "" {
		return nil, nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: want}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !utf8.Valid(text) {
		line := 1
		for rest := text; len(rest) > 0; {
			r, n := utf8.DecodeRune(rest)
			if r == utf8.RuneError && n == 1 {
				break
			}
			if r == '\n' {
				line++
			}
			rest = rest[n:]
		}
		return nil, nil, &dataerr.Cell{File: shown, Row: line, Err: dataerr.ErrFormat, Want: "it is not UTF-8 text; save the sheet as CSV UTF-8"}
	}
	return raw, text, nil
}

// utf16Order recognises UTF-16 by its byte-order mark.
func utf16Order(raw []byte) (binary.ByteOrder, bool) {
	switch {
	case bytes.HasPrefix(raw, []byte("\xff\xfe")):
		return binary.LittleEndian, true
	case bytes.HasPrefix(raw, []byte("\xfe\xff")):
		return binary.BigEndian, true
	}
	return nil, false
}

// fromUTF16 turns UTF-16 into UTF-8; a character cut in two is a fault, as it cannot be kept.
func fromUTF16(raw []byte, order binary.ByteOrder, shown string) ([]byte, *dataerr.Cell) {
	bad := &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it is UTF-16 text with a character cut in two; save the sheet as CSV UTF-8"}
	if len(raw)%2 != 0 {
		return nil, bad
	}
	out := make([]byte, 0, len(raw)/2)
	line := 1
	for i := 0; i < len(raw); i += 2 {
		c := rune(order.Uint16(raw[i:]))
		if utf16.IsSurrogate(c) {
			next := rune(0)
			if i+3 < len(raw) {
				next = rune(order.Uint16(raw[i+2:]))
			}
			if c = utf16.DecodeRune(c, next); c == utf8.RuneError {
				bad.Row = line
				return nil, bad
			}
			i += 2
		}
		if c == '\n' {
			line++
		}
		out = utf8.AppendRune(out, c)
	}
	return out, nil
}

// notText recognises workbooks by their first bytes; empty when data may be plain text.
func notText(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "it is a workbook; save the sheet as CSV UTF-8"
	case bytes.IndexByte(data, 0) >= 0:
		return "it holds zero bytes, so it is not UTF-8 text; save the sheet as CSV UTF-8"
	}
	return ""
}

// readTable splits text into cells. known are the columns of ours. It returns nil when the header cannot be used.
func (r *reader) readTable(shown string, data []byte, known []string) *table {
	if bytes.IndexByte(data, '\n') < 0 { // very old spreadsheets end lines with CR alone
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.Comma = separator(data, known)
	c.FieldsPerRecord = -1
	t := &table{file: shown, own: map[string]int{}}
	for total := 0; ; total += max(1, len(t.names)) {
		cells, err := c.Read()
		if err == io.EOF {
			break
		}
		if total > maxCells {
			r.fault(dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it has over 5 million cells; a tasting is far smaller, split it into evenings"})
			return nil
		}
		if err != nil {
			r.syntax(shown, err)
			if t.names == nil {
				return nil
			}
			continue
		}
		blank := true
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
			blank = blank && cells[i] == ""
		}
		if blank {
			continue
		}
		line, _ := c.FieldPos(0)
		if t.names == nil {
			t.header = line
			t.names = cells
			if !r.header(t, known) {
				return nil
			}
			continue
		}
		r.addRecord(t, c, record{line: line, cells: cells})
	}
	if t.names == nil {
		r.faults = append(r.faults, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it is empty; the first line names the columns"})
		return nil
	}
	if !r.unnamed(t) {
		return nil
	}
	return t
}

// addRecord brings a record to the width of the header and keeps it.
func (r *reader) addRecord(t *table, c *csv.Reader, rec record) {
	n := len(rec.cells)
	if last, _ := c.FieldPos(n - 1); last != rec.line {
		rec.lines = make([]int, n)
		for i := range rec.lines {
			rec.lines[i], _ = c.FieldPos(i)
		}
	}
	for i, cell := range rec.cells {
		if len(cell) > maxCell {
			r.faults = append(r.faults, &dataerr.Cell{File: t.file, Row: rec.line, Column: t.name(i), Value: cell[:100], Err: dataerr.ErrFormat,
				Want: "a cell over 1 MB is not read; is a quotation mark missing?"})
			return
		}
	}
	if n > len(t.names) {
		// Where the comma separates, one cell too many may be a decimal comma that cut a number in two.
		extra := strings.Join(rec.cells[len(t.names):], "")
		if extra != "" || c.Comma == ',' {
			want := fmt.Sprintf("the header names %d columns, this row has %d cells", len(t.names), n)
			if c.Comma == ',' {
				want += "; put a number with a decimal comma, or a note with a comma, in quotation marks"
			}
			r.faults = append(r.faults, &dataerr.Cell{File: t.file, Row: rec.line, Value: extra, Err: dataerr.ErrFormat, Want: want})
			return
		}
		rec.cells = rec.cells[:len(t.names)]
	}
	for len(rec.cells) < len(t.names) {
		rec.cells = append(rec.cells, "")
	}
	t.rows = append(t.rows, rec)
}

// name gives a column's name, or its number where it has none.
func (t *table) name(i int) string {
	if i < len(t.names) && t.names[i] != "" {
		return t.names[i]
	}
	return fmt.Sprint(i + 1)
}

// syntax turns an error of encoding/csv into a located fault.
func (r *reader) syntax(shown string, err error) {
	cell := &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: err.Error()}
	var p *csv.ParseError
	if errors.As(err, &p) {
		cell.Row = p.StartLine
		cell.Want = fmt.Sprintf("a quotation mark is out of place or never closed (seen at line %d); put a cell that holds one in quotation marks and write it twice inside", p.Line)
	}
	r.faults = append(r.faults, cell)
}

// separator picks, of comma, semicolon and tab, the one under which the header names most columns of ours; then the one
// that gives most columns; then the comma.
func separator(data []byte, known []string) rune {
	best, bestKnown, bestN := ',', -1, -1
	for _, sep := range []rune{',', ';', '\t'} {
		c := csv.NewReader(bytes.NewReader(data))
		c.Comma, c.FieldsPerRecord, c.LazyQuotes = sep, -1, true
		cells, err := c.Read()
		if err != nil {
			continue
		}
		n := 0
		for _, cell := range cells {
			name := strings.ToLower(strings.TrimSpace(cell))
			for _, k := range known {
				if k == name {
					n++
				}
			}
		}
		if n > bestKnown || n == bestKnown && len(cells) > bestN {
			best, bestKnown, bestN = sep, n, len(cells)
		}
	}
	return best
}

// header files the columns as ours or extra; false when a name stands twice.
func (r *reader) header(t *table, known []string) bool {
	ok := true
	seen := map[string]bool{}
	for i, name := range t.names {
		if name == "" {
			continue
		}
		key := name
		for _, k := range known {
			if k == strings.ToLower(name) {
				key = k
			}
		}
		if seen[key] {
			r.faults = append(r.faults, &dataerr.Cell{File: t.file, Row: t.header, Column: name, Err: dataerr.ErrDuplicate, Want: "give every column a name of its own"})
			ok = false
			continue
		}
		seen[key] = true
		if key == strings.ToLower(name) && isKnown(known, key) {
			t.own[key] = i
		} else {
			t.extra = append(t.extra, i)
		}
	}
	return ok
}

func isKnown(known []string, name string) bool {
	for _, k := range known {
		if k == name {
			return true
		}
	}
	return false
}

// unnamed refuses values under a column without a name; false when there are any.
func (r *reader) unnamed(t *table) bool {
	ok := true
	for i, name := range t.names {
		if name != "" {
			continue
		}
		for _, rec := range t.rows {
			if rec.cells[i] != "" {
				r.faults = append(r.faults, &dataerr.Cell{File: t.file, Row: rec.line, Column: t.name(i), Value: rec.cells[i], Err: dataerr.ErrNoColumn,
					Want: fmt.Sprintf("line %d gives this column no name", t.header)})
				ok = false
				break
			}
		}
	}
	return ok
}
