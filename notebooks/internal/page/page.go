package page

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/url"
	"strings"

	"lastsip/notebooks/internal/nbformat"
)

// Options of a page.
type Options struct {
	Title    string // of the browser's window; empty: the headline
	Lang     string // BCP 47 tag of the text; empty: "en"
	HideCode bool   // leave code out instead of folding it
	Lead     string // Markdown above the list of an index page
}

// Entry is one line of an index page.
type Entry struct {
	Title    string
	File     string // relative path with forward slashes
	Sentence string // its answer in a sentence; plain text
}

// Tags that a cell may carry.
const (
	tagDetail     = "detail" // runs, and stays in the executed notebook, but not on the page
	tagParameters = "parameters"
	tagInjected   = "injected-parameters"
)

// fewestSections is the least number of sections that are listed.
const fewestSections = 3

//go:embed style.css
var style string

// The policy allows images and styles that are in the page, and nothing else.
const policyCSP = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

var frame = template.Must(template.New("page").Parse(`<!doctype html>
<html lang="{{.Lang}}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{{.CSP}}">
<meta name="viewport" content="width=device-width,initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>{{.Title}}</title>
<style>
{{.Style}}</style>
</head>
<body>
<main>
{{.Body}}</main>
</body>
</html>
`))

// Render makes the page of an executed notebook. The notebook is not changed. It fails only on a notebook that is nil.
func Render(nb *nbformat.Notebook, opt Options) ([]byte, error) {
	if nb == nil {
		return nil, errors.New("page: no notebook given")
	}
	w := &writer{hideCode: opt.HideCode}
	for i := range nb.Cells {
		w.cell(&nb.Cells[i])
	}
	if opt.Title == "" {
		opt.Title = w.heads.title
	}
	if opt.Title == "" {
		opt.Title = nb.Name
	}
	return finish(w.body(), opt)
}

// Index makes a page that lists others. It fails on a file that is not a relative path inside the page's folder.
func Index(entries []Entry, opt Options) ([]byte, error) {
	w := &writer{}
	if opt.Lead != "" {
		w.markdown(opt.Lead)
	}
	if w.heads.title == "" {
		w.heads.title = opt.Title
		w.add("<h1>" + escape(opt.Title) + "</h1>\n")
	}
	w.add("<ul class=\"index\">\n")
	for i, e := range entries {
		if !fs.ValidPath(e.File) || e.File == "." || strings.Contains(e.File, `\`) {
			return nil, fmt.Errorf("page: entry %d, %q: file %q: want a relative path below the index page", i+1, e.Title, e.File)
		}
		// "./" keeps a name with a colon from being read as a scheme.
		href := "./" + (&url.URL{Path: e.File}).EscapedPath()
		w.add(fmt.Sprintf("<li><a href=\"%s\">%s</a>", template.HTMLEscapeString(href), escape(e.Title)))
		if e.Sentence != "" {
			w.add("<p>" + escape(e.Sentence) + "</p>")
		}
		w.add("</li>\n")
	}
	w.add("</ul>\n")
	if opt.Title == "" {
		opt.Title = w.heads.title
	}
	return finish(w.body(), opt)
}

func finish(body string, opt Options) ([]byte, error) {
	if opt.Lang == "" {
		opt.Lang = "en"
	}
	var out bytes.Buffer
	err := frame.Execute(&out, map[string]any{
		"Lang": opt.Lang, "CSP": policyCSP, "Title": withoutTurns(opt.Title),
		"Style": template.CSS(style), "Body": template.HTML(body), // both made safe before they come here
	})
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return out.Bytes(), nil
}

// writer gathers the page's body.
type writer struct {
	hideCode bool
	heads    headings
	before   strings.Builder // what stands above the headline
	folded   strings.Builder // code from before the headline, shown after the headline's cell
	rest     strings.Builder
}

// add appends HTML that is safe as it is.
func (w *writer) add(html string) {
	if w.heads.title == "" {
		w.before.WriteString(html)
		return
	}
	w.rest.WriteString(html)
}

// body joins the lines above the headline, set small, and the rest. A page without a headline is all body.
func (w *writer) body() string {
	if w.heads.title == "" {
		return w.before.String() + w.folded.String()
	}
	above := w.before.String()
	if above != "" {
		above = "<div class=\"above\">\n" + above + "</div>\n"
	}
	rest := w.rest.String()
	if at := strings.Index(rest, `<h2 id="`); at >= 0 { // only our own headings have an id
		rest = rest[:at] + w.heads.contents() + rest[at:]
	}
	return above + rest + w.folded.String()
}

// contents lists the sections, where there are enough to be lost among.
func (h *headings) contents() string {
	if len(h.sections) < fewestSections {
		return ""
	}
	var b strings.Builder
	b.WriteString("<nav class=\"contents\" aria-label=\"contents\"><ul>\n")
	for _, s := range h.sections {
		b.WriteString("<li><a href=\"#" + template.HTMLEscapeString(url.PathEscape(s.id)) + "\">" + template.HTMLEscapeString(s.text) + "</a></li>\n")
	}
	b.WriteString("</ul></nav>\n")
	return b.String()
}

// cell adds one cell: what it shows first, then its code.
func (w *writer) cell(c *nbformat.Cell) {
	if c.HasTag(tagDetail) {
		return
	}
	switch c.Type {
	case "markdown":
		w.markdown(c.Source)
	case "code":
		for i := range c.Outputs {
			w.output(&c.Outputs[i])
		}
		if w.heads.title != "" {
			w.add(w.folded.String())
			w.folded.Reset()
		}
		name := "Code"
		switch {
		case c.HasTag(tagInjected):
			name = "Parameters of this run"
		case c.HasTag(tagParameters):
			name = "Parameters of the notebook"
		}
		if !w.hideCode && strings.TrimSpace(c.Source) != "" {
			w.fold(name, c.Source)
		}
	}
}

// fold adds code that a reader may open.
func (w *writer) fold(name, source string) {
	code := "<details class=\"code\"><summary>" + name + "</summary><pre><code>" + highlight(source) + "</code></pre></details>\n"
	if w.heads.title == "" {
		w.folded.WriteString(code)
		return
	}
	w.add(code)
}
