package report

import (
	"bytes"
	"encoding/json"
	"io"

	"lastsip/analysis/answer"
)

// jsonRow is a row of results.json: the columns of results.csv, numbers as numbers, "inf" for an open end, null for empty.
type jsonRow struct {
	Question  string     `json:"question"`
	Session   string     `json:"session"`
	Style     string     `json:"style"`
	Serve     string     `json:"serve"`
	Attribute string     `json:"attribute"`
	Taster    string     `json:"taster"`
	AgeMin    answer.Num `json:"age_min"`
	Statistic string     `json:"statistic"`
	Method    string     `json:"method"`
	Variant   string     `json:"variant"`
	Value     answer.Num `json:"value"`
	Lower     answer.Num `json:"lower"`
	Upper     answer.Num `json:"upper"`
	Level     answer.Num `json:"level"`
	Unit      string     `json:"unit"`
	Status    string     `json:"status"`
	Tasters   int        `json:"tasters"`
	Batches   *int       `json:"batches"`
	Tastes    int        `json:"tastes"`
	Note      string     `json:"note"`
}

// ResultsJSON writes the rows of results.csv as a JSON array, in the same order and under the same rules, text as it is.
func ResultsJSON(w io.Writer, rows []answer.Row) error {
	lines, err := ordered(rows)
	if err != nil {
		return err
	}
	out := make([]jsonRow, len(lines))
	for i, l := range lines {
		r := l.row
		out[i] = jsonRow{r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin, r.Statistic, r.Method, r.Variant,
			r.Value, r.Lower, r.Upper, r.Level, r.Unit, r.Status, r.Tasters, nil, r.Tastes, r.Note}
		if r.Batches > 0 {
			out[i].Batches = &r.Batches
		}
	}
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(true)
	enc.SetIndent("", " ")
	if err := enc.Encode(out); err != nil {
		return err
	}
	_, err = w.Write(buf.Bytes())
	return err
}
