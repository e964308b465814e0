package report

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// Columns of results.csv; the first ten are the key.
var Columns = []string{"question", "session", "style", "serve", "attribute", "taster", "age_min", "statistic", "method", "variant",
	"value", "lower", "upper", "level", "unit", "status", "tasters", "batches", "tastes", "note"}

const keyColumns = 10

// ErrKey tells that two rows with one key say different things.
var ErrKey = errors.New("two rows have the same key and different contents")

// ResultsCSV writes rows sorted by their key. Identical rows are written once; rows that share a key and differ are an
// error (ErrKey) and nothing is written.
func ResultsCSV(w io.Writer, rows []answer.Row) error {
	lines, err := ordered(rows)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	out := csv.NewWriter(&buf)
	if err := out.Write(Columns); err != nil {
		return err
	}
	for _, l := range lines {
		if err := out.Write(l.fields); err != nil {
			return err
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	_, err = w.Write(buf.Bytes())
	return err
}

// line is a row and its fields as written.
type line struct {
	row    answer.Row
	fields []string
}

// ordered sorts rows by key and drops repeated ones; rows that share a key and differ are ErrKey.
func ordered(rows []answer.Row) ([]line, error) {
	lines := make([]line, len(rows))
	for i, r := range rows {
		lines[i] = line{r, fields(r)}
	}
	slices.SortStableFunc(lines, byKey)
	lines = slices.CompactFunc(lines, func(a, b line) bool { return slices.Equal(a.fields, b.fields) })
	for i := 1; i < len(lines); i++ {
		if slices.Equal(lines[i].fields[:keyColumns], lines[i-1].fields[:keyColumns]) {
			return nil, fmt.Errorf("%w: %s", ErrKey, strings.Join(lines[i].fields[:keyColumns], ","))
		}
	}
	return lines, nil
}

func fields(r answer.Row) []string {
	batches := ""
	if r.Batches > 0 {
		batches = strconv.Itoa(r.Batches)
	}
	return []string{r.Question, guard(r.Session), guard(r.Style), guard(r.Serve), guard(r.Attribute), guard(r.Taster), r.AgeMin.String(), r.Statistic, r.Method, guard(r.Variant),
		r.Value.String(), r.Lower.String(), r.Upper.String(), r.Level.String(), r.Unit, r.Status, strconv.Itoa(r.Tasters), batches, strconv.Itoa(r.Tastes), guard(r.Note)}
}

// byKey compares lines as they are written, key column by key column, ages by number.
func byKey(a, b line) int {
	for i := range keyColumns {
		c := cmp.Compare(a.fields[i], b.fields[i])
		if Columns[i] == "age_min" {
			c = compareAge(a.row.AgeMin, b.row.AgeMin)
		}
		if c != 0 {
			return c
		}
	}
	return slices.Compare(a.fields, b.fields)
}

func compareAge(a, b answer.Num) int {
	switch {
	case a.Empty() && b.Empty():
		return 0
	case a.Empty():
		return -1
	case b.Empty():
		return 1
	}
	return cmp.Compare(a.Float(), b.Float())
}

// guard puts an apostrophe before text that a spreadsheet would take for a formula, and before text that begins with an
// apostrophe, so that different texts stay different.
func guard(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r'", rune(s[0])) {
		return "'" + s
	}
	return s
}
