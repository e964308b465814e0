package page

import (
	"go/scanner"
	"go/token"
	"strings"
)

// highlight writes Go source as HTML, with keywords, literals and comments in a span each. Lines that are not Go (a cell's %%
// and ! lines) pass through as they are; no character is lost.
func highlight(source string) string {
	source = strings.ReplaceAll(source, "\r", "") // the scanner drops them from literals, which would shift what follows
	files := token.NewFileSet()
	file := files.AddFile("", files.Base(), len(source))
	var s scanner.Scanner
	s.Init(file, []byte(source), func(token.Position, string) {}, scanner.ScanComments)
	var out strings.Builder
	done := 0
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			break
		}
		class := ""
		switch {
		case tok.IsKeyword():
			class = "k"
		case tok == token.COMMENT:
			class = "c"
		case tok == token.STRING, tok == token.CHAR:
			class = "s"
		case tok == token.INT, tok == token.FLOAT, tok == token.IMAG:
			class = "n"
		}
		start := file.Offset(pos)
		if class == "" || start < done || start+len(lit) > len(source) {
			continue
		}
		out.WriteString(escape(source[done:start]))
		out.WriteString(`<span class="` + class + `">` + escape(lit) + `</span>`)
		done = start + len(lit)
	}
	out.WriteString(escape(source[done:]))
	return out.String()
}
