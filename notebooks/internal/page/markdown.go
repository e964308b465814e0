package page

import (
	"bytes"
	"html"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/microcosm-cc/bluemonday"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
	renderer "github.com/yuin/goldmark/renderer/html"
)

// Raw HTML passes goldmark, as the policy judges it together with goldmark's own.
var commonmark = goldmark.New(
	goldmark.WithExtensions(
		extension.NewTable(extension.WithTableCellAlignMethod(extension.TableCellAlignAttribute)),
		extension.Strikethrough,
	),
	goldmark.WithRendererOptions(renderer.WithUnsafe()),
)

// policy is what HTML from a notebook may hold: text and its structure, links that a reader follows, images inside the page.
var policy = func() *bluemonday.Policy {
	p := bluemonday.NewPolicy()
	p.AllowElements("p", "br", "hr", "em", "strong", "b", "i", "code", "pre", "kbd", "sub", "sup", "del", "small",
		"blockquote", "ul", "ol", "li", "dl", "dt", "dd", "h1", "h2", "h3", "h4", "h5", "h6",
		"table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td")
	p.AllowAttrs("align").Matching(regexp.MustCompile(`^(left|right|center)$`)).OnElements("th", "td")
	p.AllowAttrs("colspan", "rowspan").Matching(bluemonday.Integer).OnElements("th", "td")
	p.AllowAttrs("start").Matching(bluemonday.Integer).OnElements("ol")
	p.AllowAttrs("href").Matching(regexp.MustCompile(`^(?i:https?://|mailto:|#)|^[^:]*$`)).OnElements("a")
	p.AllowURLSchemes("http", "https", "mailto")
	p.AllowRelativeURLs(true)
	p.RequireNoReferrerOnLinks(true)
	p.AllowDataURIImages()
	p.AllowAttrs("src").Matching(regexp.MustCompile(`^data:image/(png|jpeg|gif|webp);base64,[A-Za-z0-9+/=]+$`)).OnElements("img")
	p.AllowAttrs("alt").OnElements("img")
	return p
}()

// markdown adds Markdown text.
func (w *writer) markdown(source string) {
	var buf bytes.Buffer
	if err := commonmark.Convert([]byte(source), &buf); err != nil { // a bytes.Buffer does not fail
		w.plain(source)
		return
	}
	w.untrusted(buf.String())
}

// untrusted adds HTML that a notebook holds, sanitised and with headings in order.
func (w *writer) untrusted(source string) {
	safe := policy.Sanitize(source)
	safe = w.heads.order(withoutTurns(safe))
	safe = strings.ReplaceAll(safe, "<p>Invented data:", `<p class="made">Invented data:`)
	// A table wider than the screen scrolls in a frame of its own, which a keyboard can reach.
	safe = strings.ReplaceAll(safe, "<table>", `<div class="scroll" role="region" aria-label="table" tabindex="0"><table>`)
	safe = strings.ReplaceAll(safe, "</table>", "</table></div>")
	if before, after, both := strings.Cut(safe, "<h1>"); both { // what comes before the headline stands above it
		w.before.WriteString(before)
		safe = "<h1>" + after
	}
	w.add(safe)
}

// plain adds text as it is, in its own lines.
func (w *writer) plain(text string) {
	if strings.TrimSpace(text) != "" {
		w.add("<pre class=\"out\">" + escape(text) + "</pre>\n")
	}
}

// headings keeps one h1 on a page and lets no level be skipped; it remembers the sections for the list of contents.
type headings struct {
	title    string // text of the h1; empty before it
	level    int    // of the last heading
	sections []section
}

// section is a level-2 heading: its anchor, unlike any other of the page, and its text.
type section struct{ id, text string }

// anchor makes the id of a section from its text: letters and digits, and a number where another section has it already.
func (h *headings) anchor(text string) string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	id := "s-" + strings.Join(words[:min(len(words), 8)], "-")
	taken := func(id string) bool {
		return slices.ContainsFunc(h.sections, func(s section) bool { return s.id == id })
	}
	for n, first := 2, id; taken(id); n++ {
		id = first + "-" + strconv.Itoa(n)
	}
	return id
}

var (
	heading = regexp.MustCompile(`(?s)<h([1-6])>(.*?)</h[1-6]>`) // as the policy writes them: without attributes
	element = regexp.MustCompile(`<[^>]*>`)
)

// order renumbers headings of sanitised HTML, which follows what earlier calls saw.
func (h *headings) order(safe string) string {
	return heading.ReplaceAllStringFunc(safe, func(s string) string {
		m := heading.FindStringSubmatch(s)
		level, _ := strconv.Atoi(m[1])
		text := strings.TrimSpace(html.UnescapeString(element.ReplaceAllString(m[2], "")))
		switch {
		case text == "": // nothing to read, nothing to number
			return ""
		case level == 1 && h.title == "":
			h.title = text
		default:
			level = max(2, min(level, h.level+1))
		}
		h.level = level
		tag := "h" + strconv.Itoa(level)
		if level == 2 && h.title != "" {
			id := h.anchor(text)
			h.sections = append(h.sections, section{id, text})
			return "<h2 id=\"" + html.EscapeString(id) + "\">" + m[2] + "</h2>"
		}
		return "<" + tag + ">" + m[2] + "</" + tag + ">"
	})
}

// withoutTurns shows marks that turn the direction of writing (Unicode's bidirectional controls) as U+FFFD: one in a name from
// a file would turn round the text that follows it. Scripts written from right to left do not need them.
func withoutTurns(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return '\ufffd'
		}
		return r
	}, s)
}

// colours are the escape sequences by which programs colour a terminal.
var colours = regexp.MustCompile("\x1b\\[[0-9;?]*[ -/]*[@-~]")

// escape makes text fit for HTML, without terminal colours and characters that no page may hold.
func escape(s string) string {
	s = withoutTurns(colours.ReplaceAllString(strings.ToValidUTF8(s, "\ufffd"), ""))
	return html.EscapeString(strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\n' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s))
}
