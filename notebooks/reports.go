package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/report"
	"lastsip/notebooks/internal/execute"
	"lastsip/notebooks/internal/folder"
	"lastsip/notebooks/internal/nbformat"
	"lastsip/notebooks/internal/page"
)

const (
	rowsType = "application/vnd.lastsip.rows+json" // show.RowsType
	svgType  = "image/svg+xml"
)

// marker lies in every report, so that a run never replaces a folder that holds something else.
const marker = ".written-by-lastsip"

// reportFiles makes every file of the report from the executed notebooks, by name. The same notebooks give the same bytes.
func reportFiles(study *analysis.Study, jobs []*job) (map[string][]byte, error) {
	files := map[string][]byte{marker: []byte("A run of lastsip replaces this folder as a whole.\n")}
	var rows []answer.Row
	var entries []page.Entry
	for _, j := range jobs {
		if j.err != nil {
			continue
		}
		executed, err := nbformat.Encode(j.nb)
		if err != nil {
			return nil, err
		}
		files[j.name+".ipynb"] = executed
		html, err := page.Render(j.nb, page.Options{})
		if err != nil {
			return nil, fmt.Errorf("page of %s: %w", j.name, err)
		}
		files[j.name+".html"] = html
		for name, svg := range figures(j) {
			files[name] = svg
		}
		some, err := rowsOf(j)
		if err != nil {
			return nil, err
		}
		rows = append(rows, some...)
		entry, err := entryOf(study, j)
		if err != nil {
			return nil, err
		}
		entries = append(entries, entry)
	}
	var csv bytes.Buffer
	if err := report.ResultsCSV(&csv, rows); err != nil {
		return nil, fmt.Errorf("results.csv: %w", err)
	}
	files["results.csv"] = csv.Bytes()
	var plain bytes.Buffer
	if err := report.ResultsJSON(&plain, rows); err != nil {
		return nil, fmt.Errorf("results.json: %w", err)
	}
	files["results.json"] = plain.Bytes()
	index, err := page.Index(entries, page.Options{Title: "How long it stays good", Lead: lead(study, jobs)})
	if err != nil {
		return nil, fmt.Errorf("index page: %w", err)
	}
	files["index.html"] = index
	return files, nil
}

// lead is what the index page says above its list: first what is missing from it.
func lead(study *analysis.Study, jobs []*job) string {
	var b strings.Builder
	for _, j := range jobs {
		var failed *execute.CellError
		switch {
		case j.err == nil:
		case errors.As(j.err, &failed):
			fmt.Fprintf(&b, "**Not in this report, as a cell failed: %s** (%s)\n\n", report.Escape(j.name), report.Escape(failed.Faults[0].Where()))
		default:
			fmt.Fprintf(&b, "**Not in this report, as it could not be run: %s**\n\n", report.Escape(j.name))
		}
	}
	if study.Invented() {
		b.WriteString("Invented data: a demonstration.\n\n")
	}
	b.WriteString("Every number of these pages, at full precision: [results.csv](results.csv), [results.json](results.json).\n")
	return b.String()
}

// entryOf is a job's line on the index page: for a style its act, what it rests on and when half would leave the rest, else
// the notebook's first heading.
func entryOf(study *analysis.Study, j *job) (page.Entry, error) {
	e := page.Entry{Title: j.base, File: j.name + ".html"}
	if j.style == "" {
		if title := headline(j.nb); title != "" {
			e.Title = title
		}
		return e, nil
	}
	act, err := study.ServeBy(j.style)
	if err != nil {
		return e, err
	}
	life, err := study.Lifetime(j.style)
	if err != nil {
		return e, err
	}
	e.Title = act.Title
	for _, sentences := range [][]string{act.Sentences, life.Sentences} {
		if len(sentences) > 0 && !strings.HasPrefix(sentences[0], "Nobody was asked") { // the act has said so
			e.Sentence += sentences[0] + " "
		}
	}
	e.Sentence += act.Kicker
	return e, nil
}

// headline is a notebook's first level-1 heading, in a Markdown cell or in what a cell showed; empty where there is none.
func headline(nb *nbformat.Notebook) string {
	for _, c := range nb.Cells {
		var texts []string
		if c.Type == "markdown" {
			texts = append(texts, c.Source)
		}
		for _, o := range c.Outputs {
			if text, ok := o.Data["text/markdown"].(string); ok {
				texts = append(texts, text)
			}
		}
		for _, line := range strings.Split(strings.Join(texts, "\n"), "\n") {
			if title, ok := strings.CutPrefix(line, "# "); ok {
				return strings.ReplaceAll(title, "\\", "")
			}
		}
	}
	return ""
}

// figures gives the SVG outputs of a notebook by file name: job, cell, and a number where a cell has several.
func figures(j *job) map[string][]byte {
	out := map[string][]byte{}
	for i, c := range j.nb.Cells {
		id := c.ID
		if id == "" {
			id = fmt.Sprintf("cell-%d", i+1)
		}
		n := 0
		for _, o := range c.Outputs {
			svg, ok := o.Data[svgType].(string)
			if !ok {
				continue
			}
			n++
			name := j.name + "-" + id
			if n > 1 {
				name += fmt.Sprintf("-%d", n)
			}
			out[name+".svg"] = []byte(svg)
		}
	}
	return out
}

// rowsOf collects the rows of results.csv that a notebook's outputs carry.
func rowsOf(j *job) ([]answer.Row, error) {
	var out []answer.Row
	for i, c := range j.nb.Cells {
		for _, o := range c.Outputs {
			data, ok := o.Data[rowsType]
			if !ok {
				continue
			}
			b, err := json.Marshal(data)
			if err != nil {
				return nil, fmt.Errorf("%s, cell %d: rows: %w", j.name, i+1, err)
			}
			var rows []answer.Row
			d := json.NewDecoder(bytes.NewReader(b))
			d.DisallowUnknownFields()
			if err := d.Decode(&rows); err != nil {
				return nil, fmt.Errorf("%s, cell %d: rows: %w", j.name, i+1, err)
			}
			out = append(out, rows...)
		}
	}
	return out, nil
}

// checkOut refuses to replace a folder that no run has written.
func checkOut(out string) error {
	entries, err := os.ReadDir(out)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("-out: %w", err)
	case len(entries) > 0 && !slices.ContainsFunc(entries, func(e os.DirEntry) bool { return e.Name() == marker }):
		return fmt.Errorf("%w: -out %s: the folder is not empty and no run has written it; name a new one", errUse, out)
	}
	return nil
}

// openOut makes sure, before anything slow, that the report can be written: it brings back what an interrupted run left,
// and tries the disk.
func openOut(out string) error {
	if err := folder.Recover(out); err != nil {
		return fmt.Errorf("-out: %w", err)
	}
	if err := checkOut(out); err != nil {
		return err
	}
	if err := folder.Writable(out); err != nil {
		return fmt.Errorf("-out %s: no report can be written there: %w", out, err)
	}
	return nil
}

// writeReport puts all files at out, whole or not at all.
func writeReport(out string, files map[string][]byte) error {
	err := folder.Replace(out, func() error { return checkOut(out) }, func(dir string) error { // somebody may have put something there meanwhile
		for _, name := range slices.Sorted(maps.Keys(files)) {
			if err := os.WriteFile(filepath.Join(dir, name), files[name], 0o644); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("the report was not written to %s: %w\none that was there before is as it was", out, err)
	}
	return nil
}

// keepFailed writes a notebook as far as it ran beside the report, and gives its path.
func keepFailed(out string, j *job) (string, error) {
	b, err := nbformat.Encode(j.nb)
	if err != nil {
		return "", err
	}
	dir := out + "-failed"
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	path := filepath.Join(dir, j.name+".ipynb")
	temp, err := os.CreateTemp(dir, ".new-")
	if err != nil {
		return "", err
	}
	defer os.Remove(temp.Name())
	_, err = temp.Write(b)
	if err := errors.Join(err, temp.Chmod(0o644), temp.Close()); err != nil {
		return "", err
	}
	return path, os.Rename(temp.Name(), path)
}
