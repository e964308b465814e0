// Package page turns an executed notebook into one self-contained HTML page.
//
// Render shows a reader what the notebook found: its Markdown, what its cells put on screen, and, folded, its code. The first
// level-1 heading is the headline; lines before it stand small above it; later headings are lowered so that there is one h1
// and no level is skipped; from three sections on a list of them stands after the head. Cells tagged "detail" are left out, cells tagged "parameters" or "injected-parameters" are folded.
// A paragraph that begins with "Invented data:" is framed. Index makes the page that lists others.
//
// Of an output the richest form that can be shown safely is taken: a marked figure (SVG, wide and narrow, chosen by the width
// of the screen), PNG or JPEG, Markdown, HTML, plain text. What came from a notebook is not trusted:
//
//   - SVG is shown only when it parses as XML, its root carries data-lastsip="figure", and every element and attribute is
//     on a short list without scripts, references or ids (so that figures of one page cannot clash); it is written anew from
//     the parsed tokens. Any other SVG is replaced by its PNG or its words.
//   - All other HTML, Markdown's too, goes through a bluemonday policy; images must be data: URIs.
//   - A content security policy in the page forbids scripts and every request.
//
// The page holds no script, no time and no address that a browser would fetch; the same notebook gives the same bytes.
// It does not run notebooks, does not typeset mathematics, and shows no widgets or attachments.
//
// Sources: nbformat 4.5 (outputs), CommonMark 0.31 with GFM tables (goldmark), W3C Content Security Policy Level 3.
package page
