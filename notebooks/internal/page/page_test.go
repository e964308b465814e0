package page

import (
	"encoding/base64"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/nbformat"
)

// drawings are real figures of this project, and hold invented numbers.
func drawing(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("../../../testdata/figure", name))
	require.NoError(t, err)
	return string(b)
}

// onePixel is a PNG of one paper-coloured pixel.
const onePixel = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAADElEQVR42mP4/fMrAAXQAukSVg92AAAAAElFTkSuQmCC"

func markdownCell(source string, tags ...string) nbformat.Cell {
	return nbformat.Cell{Type: "markdown", Source: source, Tags: tags}
}

func codeCell(source string, outputs ...nbformat.Output) nbformat.Cell {
	return nbformat.Cell{Type: "code", Source: source, Outputs: outputs}
}

func display(kv ...string) nbformat.Output {
	data := map[string]any{}
	for i := 0; i < len(kv); i += 2 {
		data[kv[i]] = kv[i+1]
	}
	return nbformat.Output{Type: "display_data", Data: data}
}

func render(t testing.TB, opt Options, cells ...nbformat.Cell) string {
	t.Helper()
	b, err := Render(&nbformat.Notebook{Name: "test.ipynb", Cells: cells}, opt)
	require.NoError(t, err)
	return string(b)
}

// body is the part of a page that came from the notebook.
func body(t testing.TB, page string) string {
	t.Helper()
	_, after, ok := strings.Cut(page, "<main>\n")
	require.True(t, ok)
	inside, _, ok := strings.Cut(after, "</main>")
	require.True(t, ok)
	return inside
}

func TestFiguresStandOnThePage(t *testing.T) {
	wide, narrow := drawing(t, "ribbon_usual.wide.svg"), drawing(t, "ribbon_usual.narrow.svg")
	life := drawing(t, "lifetime_usual.wide.svg")
	p := body(t, render(t, Options{},
		codeCell("", display(mimeSVG, wide, mimeNarrow, narrow, "image/png", onePixel, "text/plain", "words")),
		codeCell("", display(mimeSVG, life, "text/plain", "words"), display(mimeSVG, wide, mimeNarrow, narrow)),
	))
	require.Equal(t, 5, strings.Count(p, "<svg "), "three figures, two of them in two widths")
	require.Equal(t, 3, strings.Count(p, "<figure>"))
	require.Equal(t, 2, strings.Count(p, `<div class="narrow"><svg `))
	require.Equal(t, strings.Count(wide, "<path ")*2+strings.Count(narrow, "<path ")*2+strings.Count(life, "<path "), strings.Count(p, "<path "), "every mark is there")
	require.Contains(t, p, `viewBox="0 0 720 `, "capitals in names are kept")
	require.NotContains(t, p, "<img")
	require.NotContains(t, p, " id=")
}

// Every figure that this project draws passes the check, and passes it again when written anew.
func TestOurFiguresPass(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/figure/*.svg")
	require.NoError(t, err)
	require.Greater(t, len(files), 20)
	for _, f := range files {
		svg := drawing(t, filepath.Base(f))
		out, err := figure(svg)
		require.NoError(t, err, f)
		for _, tag := range []string{"<path", "<text", "<g", "</svg>"} {
			require.Equal(t, strings.Count(svg, tag), strings.Count(out, tag), "%s: %s", f, tag)
		}
	}
}

func TestHostileSVGIsNotShown(t *testing.T) {
	const ours = `<svg xmlns="http://www.w3.org/2000/svg" data-lastsip="figure" viewBox="0 0 9 9">`
	ok := ours + `<title>a &lt; b</title><g transform="scale(1, -1) translate(0, -139)"><path d="M0,0L1,1Z" style="fill:#FBF9F5" /></g></svg>`
	out, err := figure(ok)
	require.NoError(t, err, "the harmless one passes")
	require.Equal(t, `<svg data-lastsip="figure" viewBox="0 0 9 9"><title>a &lt; b</title><g transform="scale(1, -1) translate(0, -139)"><path d="M0,0L1,1Z" style="fill:#FBF9F5"></path></g></svg>`, out)
	for name, svg := range map[string]string{
		"no mark":           `<svg xmlns="http://www.w3.org/2000/svg"><path d="M0,0"/></svg>`,
		"other mark":        strings.Replace(ok, `"figure"`, `"other"`, 1),
		"no namespace":      `<svg data-lastsip="figure"></svg>`,
		"script":            ours + `<script>alert(1)</script></svg>`,
		"prefixed script":   `<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/2000/svg" data-lastsip="figure"><x:script>alert(1)</x:script></svg>`,
		"foreignObject":     ours + `<foreignObject><body xmlns="http://www.w3.org/1999/xhtml"><img src="x" onerror="alert(1)"/></body></foreignObject></svg>`,
		"HTML element":      ours + `<path xmlns="http://www.w3.org/1999/xhtml" d="M0,0"/></svg>`,
		"onload":            strings.Replace(ok, "<svg ", `<svg onload="alert(1)" `, 1),
		"event on a path":   ours + `<path d="M0,0" onclick="alert(1)"/></svg>`,
		"link":              ours + `<a href="javascript:alert(1)"><path d="M0,0"/></a></svg>`,
		"use":               ours + `<use href="#x"/></svg>`,
		"image":             ours + `<image href="https://example.org/x.png"/></svg>`,
		"style sheet":       ours + `<style>@import "https://example.org";</style></svg>`,
		"url in a style":    ours + `<path d="M0,0" style="fill:url(https://example.org/#a)"/></svg>`,
		"id":                ours + `<path d="M0,0" id="x"/></svg>`,
		"animation":         ours + `<animate attributeName="href" to="javascript:alert(1)"/></svg>`,
		"nested":            ours + ours + `</svg></svg>`,
		"two roots":         ok + ok,
		"text beside":       ok + `<script>alert(1)</script>`,
		"words beside":      "words" + ok,
		"comment":           ours + `<!-- --><path d="M0,0"/></svg>`,
		"document type":     `<!DOCTYPE svg [<!ENTITY x "y">]>` + ok,
		"unclosed":          ours + `<path d="M0,0">`,
		"closed twice":      ok + `</svg>`,
		"title with markup": ours + `<title><script>alert(1)</script></title></svg>`,
		"empty":             "",
	} {
		_, err := figure(svg)
		require.ErrorIs(t, err, errNotOurs, name)
		p := body(t, render(t, Options{}, codeCell("", display(mimeSVG, svg, "image/png", onePixel, "text/plain", "what it shows"))))
		require.NotContains(t, p, "<svg", name)
		require.Contains(t, p, `<img src="data:image/png;base64,`+onePixel+`" alt="what it shows">`, "%s: the image takes its place", name)
		p = body(t, render(t, Options{}, codeCell("", display(mimeSVG, svg, "text/plain", "what it shows"))))
		require.Contains(t, p, "what it shows", "%s: or the words", name)
		require.NotContains(t, p, "alert", name)
	}
	// CDATA cannot carry markup past the check: it is text.
	out, err = figure(ours + `<title><![CDATA[</title><script>alert(1)</script>]]></title></svg>`)
	require.NoError(t, err)
	require.NotContains(t, out, "<script")
}

func TestHostileTextIsHarmless(t *testing.T) {
	attacks := []string{
		`<script>alert(1)</script>`, `<img src=x onerror=alert(1)>`, `<iframe src="https://example.org"></iframe>`,
		`[a](javascript:alert(1))`, `<a href="javascript:alert(1)">a</a>`, `<a href="JaVaScRiPt&#58;alert(1)">a</a>`,
		`<a href="data:image/png;base64,` + onePixel + `">a</a>`, `[a](data:image/png;base64,` + onePixel + `)`,
		`<a href="data:text/html;base64,PHNjcmlwdD4=">a</a>`, `![a](https://example.org/x.png)`, `<style>body{display:none}</style>`,
		`<link rel=stylesheet href="https://example.org/x.css">`, `<meta http-equiv=refresh content="0;url=https://example.org">`,
		`<base href="https://example.org">`, `<form action="https://example.org"><input name=a></form>`, `<svg onload=alert(1)>`,
		`<p onclick=alert(1) style="background:url(https://example.org)">a</p>`, `<object data="x"></object>`, `</main><script>alert(1)</script>`,
		"```\n</code></pre><script>alert(1)</script>\n```", "`<script>alert(1)</script>`", `<details open ontoggle=alert(1)>`,
		`<table background="https://example.org/x.png"><tr><td>a</td></tr></table>`,
	}
	for _, attack := range attacks {
		p := render(t, Options{Title: attack},
			markdownCell("# Head\n\n"+attack),
			markdownCell("# "+attack),
			codeCell("// "+attack,
				nbformat.Output{Type: "stream", Name: "stdout", Text: attack},
				display("text/markdown", attack), display("text/html", attack), display("text/plain", attack),
				display("image/png", `"><script>alert(1)</script>`, "text/plain", attack),
				display("image/png", onePixel, "text/plain", `"`+attack),
				nbformat.Output{Type: "error", EName: attack, EValue: attack, Traceback: []string{attack}}))
		checkHarmless(t, p, attack)
	}
}

var (
	tag       = regexp.MustCompile(`<([a-zA-Z][a-zA-Z0-9]*)([^>]*)>`)
	attribute = regexp.MustCompile(`\s([a-zA-Z-]+)(?:="([^"]*)")?`)
)

// checkHarmless reads every tag of a page.
func checkHarmless(t *testing.T, p, what string) {
	t.Helper()
	require.Equal(t, 1, strings.Count(p, "</main>"), what)
	for _, m := range tag.FindAllStringSubmatch(body(t, p), -1) {
		require.Contains(t, []string{"p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "h1", "h2", "h3", "h4", "h5", "h6",
			"table", "thead", "tbody", "tr", "th", "td", "a", "img", "div", "nav", "span", "figure", "details", "summary", "svg", "g", "path", "text", "title"}, m[1], what)
		for _, a := range attribute.FindAllStringSubmatch(m[2], -1) {
			require.False(t, strings.HasPrefix(strings.ToLower(a[1]), "on"), "%s: %s", what, m[0])
			switch a[1] {
			case "href":
				require.NotContains(t, strings.ToLower(a[2]), "script:", what)
				require.NotContains(t, a[2], "data:", what)
			case "src":
				require.True(t, strings.HasPrefix(a[2], "data:image/"), "%s: %s", what, m[0])
			case "style":
				require.NotContains(t, a[2], "url", what)
			}
		}
	}
}

func TestNoRequestLeavesThePage(t *testing.T) {
	p := everything(t)
	require.Contains(t, p, `<meta http-equiv="Content-Security-Policy" content="default-src &#39;none&#39;; img-src data:; style-src &#39;unsafe-inline&#39;`)
	require.NotRegexp(t, `(?i)(src|srcset|action|data|poster|background)="?https?:`, p)
	require.NotRegexp(t, `(?i)url\(|@import|<script|<link|<iframe|<object|<embed`, p)
	checkHarmless(t, p, "the golden page")
}

func TestHeadingsInOrder(t *testing.T) {
	p := body(t, render(t, Options{},
		markdownCell("small print\n\n## Too early\n\n# Good for *3½ minutes*\n\nlead"),
		markdownCell("#### Deep\n\ntext\n\n# A second one\n\n### Third"),
		codeCell("", display("text/html", "<h1>From HTML</h1><h6>last</h6><h2> </h2>")),
	))
	var levels []string
	for _, m := range regexp.MustCompile(`<h([1-6])[ >]`).FindAllStringSubmatch(p, -1) {
		levels = append(levels, m[1])
	}
	require.Equal(t, []string{"2", "1", "2", "2", "3", "2", "3"}, levels)
	require.True(t, strings.HasPrefix(p, "<div class=\"above\">\n<p>small print</p>"), "what comes first stands above the headline")
	require.Contains(t, p, "</div>\n<h1>Good for <em>3½ minutes</em></h1>\n<p>lead</p>")
	require.Contains(t, render(t, Options{}, markdownCell("# Good for *3½ minutes* & more")), "<title>Good for 3½ minutes &amp; more</title>")
	require.Contains(t, render(t, Options{Title: "Sour", Lang: "de"}, markdownCell("# Good")), "<title>Sour</title>")
	require.Contains(t, render(t, Options{Lang: "de"}), `<html lang="de">`)
	require.NotContains(t, render(t, Options{}, markdownCell("no headline")), `class="above"`)
}

// The sections of a page are listed after its head, each by an anchor of its own; a short page has no list.
func TestContents(t *testing.T) {
	p := body(t, render(t, Options{}, markdownCell("# Good\n\nlead"), codeCell("head := 1"),
		markdownCell("## Who would *go on* & on\n\ntext\n\n### Below\n\n## Who would go on, on\n\n## <b>Näher</b> \"quoted\" / ../x"), codeCell("", display("text/html", `<h2 id="s-who-would-go-on-on" onclick="x">Who would go on on</h2>`))))
	want := `<nav class="contents" aria-label="contents"><ul>
<li><a href="#s-who-would-go-on-on">Who would go on &amp; on</a></li>
<li><a href="#s-who-would-go-on-on-2">Who would go on, on</a></li>
<li><a href="#s-n%C3%A4her-quoted-x">Näher &#34;quoted&#34; / ../x</a></li>
<li><a href="#s-who-would-go-on-on-3">Who would go on on</a></li>
</ul></nav>
<h2 id="s-who-would-go-on-on">Who would <em>go on</em> &amp; on</h2>`
	require.Contains(t, p, want, "before the first section, after the head")
	require.Less(t, strings.Index(p, "head := 1"), strings.Index(p, "<nav"))
	for _, id := range []string{"s-who-would-go-on-on", "s-who-would-go-on-on-2", "s-who-would-go-on-on-3", "s-näher-quoted-x"} {
		require.Equal(t, 1, strings.Count(p, ` id="`+id+`"`), id)
	}
	require.Equal(t, 4, strings.Count(p, " id="), "no other")
	require.NotContains(t, body(t, render(t, Options{}, markdownCell("# Good\n\n## One\n\n## Two"))), "<nav")
}

// A mark that turns the direction of writing would turn round what follows a name: it is shown as what it is not.
func TestMarksThatTurnTheText(t *testing.T) {
	name := "Ada\u202etxt.\u2066exe\u2069\u202c"
	p := render(t, Options{Title: "t"}, markdownCell("# "+name), markdownCell(name), codeCell("// "+name, display("text/plain", name), display("text/html", "<p>"+name+"</p>"),
		nbformat.Output{Type: "error", EName: name}))
	require.NotRegexp(t, "[\u202a-\u202e\u2066-\u2069]", p)
	require.Equal(t, 6, strings.Count(p, "Ada\ufffdtxt.\ufffdexe\ufffd\ufffd"))
	require.Contains(t, render(t, Options{}, markdownCell("عادل")), "عادل", "what is written from right to left stays")
}

func TestInventedDataIsFramed(t *testing.T) {
	p := body(t, render(t, Options{}, markdownCell("# Good\n\nInvented data: a demonstration.\n\nNot framed: Invented data: here.")))
	require.Equal(t, 1, strings.Count(p, `<p class="made">`))
	require.Contains(t, p, `<p class="made">Invented data: a demonstration.</p>`)
}

func TestWhatTagsDo(t *testing.T) {
	hidden := nbformat.Cell{Type: "code", Source: "secretcode", Tags: []string{"detail"}, Outputs: []nbformat.Output{display("text/plain", "secretout")}}
	parameters := nbformat.Cell{Type: "code", Source: `const style = "sour"`, Tags: []string{"parameters"}}
	injected := nbformat.Cell{Type: "code", Source: `const style = "stirred"`, Tags: []string{"injected-parameters"}}
	p := render(t, Options{}, hidden, markdownCell("secretwords", "detail"), parameters, injected, codeCell("x := 1"))
	require.NotContains(t, p, "secret")
	require.Equal(t, 1, strings.Count(p, "<summary>Parameters of the notebook</summary>"))
	require.Equal(t, 1, strings.Count(p, "<summary>Parameters of this run</summary>"))
	require.Equal(t, 1, strings.Count(p, "<summary>Code</summary>"))
	require.NotContains(t, p, "<details open", "folded")
	require.NotContains(t, render(t, Options{HideCode: true}, parameters, codeCell("x := 1")), "<details")
}

// Code from before the headline does not stand between the page's first line and its answer.
func TestFoldsFollowTheHeadline(t *testing.T) {
	order := func(p string, parts ...string) {
		at := -1
		for _, part := range parts {
			next := strings.Index(p, part)
			require.Greater(t, next, at, "%s", part)
			at = next
		}
	}
	first := codeCell("first := 1")
	order(body(t, render(t, Options{}, first, codeCell("second := 2", display("text/markdown", "# Good"), display("text/plain", "shown")))),
		"<h1>", "shown", "first", "second")
	order(body(t, render(t, Options{}, first, markdownCell("# Good\n\nlead"))), "<h1>", "lead", "first")
	order(body(t, render(t, Options{}, first, markdownCell("lead"))), "lead", "first")
}

func TestOutputs(t *testing.T) {
	p := body(t, render(t, Options{}, codeCell("",
		nbformat.Output{Type: "stream", Name: "stderr", Text: "\x1b[31mred\x1b[0m <&> \x00\n"},
		nbformat.Output{Type: "error", EName: "compile", EValue: "undefined: stdy", Traceback: []string{"cell 3, line 2", "  stdy.Life()", "  ^"}},
		display("text/markdown", "**bold**", "text/plain", "plain"),
		display("text/plain", "only plain"),
		display("application/vnd.other+json", "{}"),
		display("text/markdown", "|a|b|\n|-|-:|\n|1|2|"),
	)))
	require.Contains(t, p, "<pre class=\"out\">red &lt;&amp;&gt; \n</pre>")
	require.Contains(t, p, `<div class="problem"><p><strong>This cell failed.</strong> compile: undefined: stdy</p><pre>cell 3, line 2`)
	require.Contains(t, p, "<strong>bold</strong>")
	require.NotContains(t, p, "<pre class=\"out\">plain", "the richest form only")
	require.Contains(t, p, "<pre class=\"out\">only plain</pre>")
	require.Contains(t, p, `<div class="scroll" role="region" aria-label="table" tabindex="0"><table>`)
	require.Contains(t, p, `<th align="right">b</th>`)
	require.Equal(t, strings.Count(p, "<div"), strings.Count(p, "</div>"))
}

func TestImageBreaksInBase64(t *testing.T) {
	broken := onePixel[:40] + "\n" + onePixel[40:] + "\n"
	p := render(t, Options{}, codeCell("", display("image/png", broken, "text/plain", "alt")))
	require.Contains(t, p, `src="data:image/png;base64,`+onePixel+`"`)
	_, err := base64.StdEncoding.DecodeString(onePixel)
	require.NoError(t, err)
}

func TestIndex(t *testing.T) {
	entries := []Entry{{"Sour", "style-sour.html", "Good for 3½ minutes & no more."}, {"<b>", "a b/ü?.html", ""}}
	b, err := Index(entries, Options{Title: "What this evening says", Lead: "Invented data: a demonstration"})
	require.NoError(t, err)
	p := string(b)
	require.Contains(t, p, `<h1>What this evening says</h1>`)
	require.Contains(t, p, `<li><a href="./style-sour.html">Sour</a><p>Good for 3½ minutes &amp; no more.</p></li>`)
	require.Contains(t, p, `<a href="./a%20b/%C3%BC%3F.html">&lt;b&gt;</a>`)
	require.Contains(t, p, `<p class="made">`)
	for _, file := range []string{"../x.html", "/x.html", "", ".", `..\x.html`, "a/../b.html"} {
		_, err := Index([]Entry{{Title: "t", File: file}}, Options{})
		require.ErrorContains(t, err, "want a relative path", file)
	}
	b, err = Index([]Entry{{Title: "t", File: "javascript:alert(1)"}}, Options{})
	require.NoError(t, err, "a strange name, but a file's")
	require.Contains(t, string(b), `href="./javascript:alert%281%29"`)
}

func TestRenderWithoutNotebook(t *testing.T) {
	_, err := Render(nil, Options{})
	require.Error(t, err)
}
