package main

import (
	"fmt"
	"go/scanner"
	"go/token"
	"slices"
	"strconv"
	"strings"

	"lastsip/notebooks/internal/nbformat"
)

// named is what the cells of a notebook name: import paths, and what stands before a dot, which may be a package that the
// kernel imports by itself.
type named struct{ imports, qualifiers []string }

// pure are the packages of the standard library whose results hang on their arguments alone, but for the names in
// impureNames. Others are not trusted.
var pure = strings.Fields("bufio bytes cmp container/heap container/list container/ring encoding/base64 encoding/csv encoding/hex encoding/json errors fmt " +
	"html html/template image image/color iter maps math math/big math/bits math/cmplx math/rand/v2 regexp slices sort strconv strings sync " +
	"text/tabwriter text/template time unicode unicode/utf8")

// impure are names of packages that reach outside; the kernel imports them when they stand before a dot.
var impure = strings.Fields("os exec user signal syscall unix windows net http httptest tls smtp rpc sql io ioutil fs fstest filepath embed runtime debug pprof " +
	"trace metrics plugin unsafe log slog syslog testing expvar gonbui cache dom widgets plotter vg vgsvg panelcsv safefile rand time fmt bufio")

// Of packages that do both: onlyThese members are harmless, or all but these.
var (
	onlyThese = map[string][]string{
		"rand":  {"New", "NewPCG", "NewChaCha8", "Rand", "PCG", "Source", "NewZipf", "Zipf"},
		"io":    {"EOF", "Reader", "Writer", "Discard"},
		"fmt":   {"Print", "Printf", "Println", "Sprint", "Sprintf", "Sprintln", "Errorf", "Fprint", "Fprintf", "Fprintln", "Stringer"},
		"bufio": {"NewWriter", "NewReader", "NewScanner", "ScanLines", "ScanWords", "Writer", "Reader", "Scanner"},
	}
	butThese = map[string][]string{"time": {"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Local", "LoadLocation"}}
)

// ownInputs reads the code cells. It gives what they name, and why the notebook must be run each time: empty when its
// outputs hang on nothing but its text, the packages it names and the sessions that a run gives it. In doubt it must.
func ownInputs(nb *nbformat.Notebook) (*named, string) {
	out := &named{}
	number := 0 // as a reader counts: without the cell of the parameters that were set
	for _, c := range nb.Cells {
		if !c.HasTag(nbformat.TagInjected) {
			number++
		}
		if c.Type != "code" {
			continue
		}
		code, why := withoutMagics(c.Source)
		if why == "" {
			why = out.scan(code)
		}
		if why != "" {
			return nil, fmt.Sprintf("cell %d %s", number, why)
		}
	}
	return out, ""
}

// withoutMagics blanks the lines that tell the kernel where statements begin; all other lines for the kernel or a shell
// can do anything.
func withoutMagics(source string) (code, why string) {
	var b strings.Builder
	for line := range strings.Lines(source) {
		text := strings.TrimSpace(line)
		switch {
		case text == "%%" || text == "%main":
			b.WriteString("\n")
		case strings.HasPrefix(text, "%"), strings.HasPrefix(text, "!"):
			return "", "has a line for the kernel or a shell, " + strconv.Quote(text)
		default:
			b.WriteString(line)
		}
	}
	return b.String(), ""
}

type lexeme struct {
	tok  token.Token
	text string
}

// scan reads one cell.
func (n *named) scan(code string) string {
	set := token.NewFileSet()
	var s scanner.Scanner
	s.Init(set.AddFile("", -1, len(code)), []byte(code), nil, 0) // what is no Go fails in the kernel
	var all []lexeme
	for {
		_, tok, text := s.Scan()
		if tok == token.EOF {
			break
		}
		all = append(all, lexeme{tok, text})
	}
	at := func(i int) lexeme {
		if i < 0 || i >= len(all) {
			return lexeme{}
		}
		return all[i]
	}
	if why := n.readImports(all); why != "" {
		return why
	}
	for i, l := range all {
		if l.tok != token.IDENT || at(i+1).tok != token.PERIOD || at(i-1).tok == token.PERIOD {
			continue
		}
		if !slices.Contains(n.qualifiers, l.text) {
			n.qualifiers = append(n.qualifiers, l.text)
		}
		member := at(i + 2).text
		if reaches(l.text, member) {
			return "uses " + l.text + "." + member
		}
		if (member == "Open" || member == "MustOpen") && !opensWhatItIsGiven(all, i+3) {
			return "opens sessions of its own"
		}
	}
	return ""
}

// reaches tells whether a member of a package can give something else another time.
func reaches(qualifier, member string) bool {
	if only, known := onlyThese[qualifier]; known {
		return !slices.Contains(only, member)
	}
	if but, known := butThese[qualifier]; known {
		return slices.Contains(but, member)
	}
	return slices.Contains(impure, qualifier)
}

// opensWhatItIsGiven tells whether the arguments from i on are exactly (show.Sessions()...).
func opensWhatItIsGiven(all []lexeme, i int) bool {
	want := []string{"(", "show", ".", "Sessions", "(", ")", "...", ")"}
	for k, w := range want {
		if i+k >= len(all) || all[i+k].text != w && all[i+k].tok.String() != w {
			return false
		}
	}
	return true
}

// readImports takes the paths of import declarations: those of the house's own answers and of pure packages are trusted.
// A renamed or dot import hides what is used and is not.
func (n *named) readImports(all []lexeme) string {
	for i := 0; i < len(all); i++ {
		if all[i].tok != token.IMPORT {
			continue
		}
		grouped := i+1 < len(all) && all[i+1].tok == token.LPAREN
		for i++; i < len(all); i++ {
			l := all[i]
			switch l.tok {
			case token.STRING:
				path, err := strconv.Unquote(l.text)
				if err != nil || !trusted(path) {
					return "imports " + l.text
				}
				n.imports = append(n.imports, path)
			case token.IDENT, token.PERIOD:
				return "renames an import"
			}
			if l.tok == token.RPAREN || !grouped && l.tok == token.STRING {
				break
			}
		}
	}
	return ""
}

func trusted(path string) bool {
	if path == "lastsip/analysis" || path == "lastsip/datasets" || path == "lastsip/notebooks/show" || slices.Contains(pure, path) {
		return true
	}
	return strings.HasPrefix(path, "lastsip/analysis/") || strings.HasPrefix(path, "gonum.org/v1/gonum/")
}
