package nbformat

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Tags of the cell that declares parameters and of the one that sets them.
const (
	TagParameters = "parameters"
	TagInjected   = "injected-parameters"
)

// Parameter is one line of the parameters cell.
type Parameter struct {
	Keyword string // "const" or "var"
	Name    string
	Kind    string // "text", "whole number", "number" or "true or false"
	Type    string // as declared; empty when the value gives the type
	Value   string // Go source, such as "sour" with its quotes
}

// Setting is a value for a parameter, as a user types it: a text without quotes.
type Setting struct{ Name, Value string }

// Parameters reads the cell tagged "parameters"; none when there is no such cell. More than one such cell, or anything in
// it but single-line `const name = value`, is an error naming file, cell and line.
func (nb *Notebook) Parameters() ([]Parameter, error) {
	at, err := nb.parameterCell()
	if err != nil || at < 0 {
		return nil, err
	}
	out, err := parseParameters(nb.Cells[at].Source)
	if err != nil {
		return nil, fmt.Errorf("%s, cell %d: %w", nb.Name, at+1, err)
	}
	return out, nil
}

func (nb *Notebook) parameterCell() (int, error) {
	at := -1
	for i := range nb.Cells {
		if !nb.Cells[i].HasTag(TagParameters) {
			continue
		}
		if at >= 0 {
			return -1, fmt.Errorf("%s: cells %d and %d are both tagged %q; keep one", nb.Name, at+1, i+1, TagParameters)
		}
		if nb.Cells[i].Type != "code" {
			return -1, fmt.Errorf("%s, cell %d: a %s cell is tagged %q; only a code cell can be", nb.Name, i+1, nb.Cells[i].Type, TagParameters)
		}
		at = i
	}
	return at, nil
}

// Inject puts a cell that sets parameters after the parameters cell, in place of an earlier one. Unknown names and values
// of another type are errors, all told at once; then the notebook is unchanged. Without settings it does nothing.
func (nb *Notebook) Inject(settings []Setting) error {
	if len(settings) == 0 {
		return nil
	}
	known, err := nb.Parameters()
	if err != nil {
		return err
	}
	values := map[string]string{}
	var bad []error
	for _, s := range settings {
		i := slices.IndexFunc(known, func(p Parameter) bool { return p.Name == s.Name })
		if i < 0 {
			bad = append(bad, fmt.Errorf("%s: there is no parameter %q; %s", nb.Name, s.Name, listed(known)))
			continue
		}
		if _, twice := values[s.Name]; twice {
			bad = append(bad, fmt.Errorf("%s: parameter %q is set twice", nb.Name, s.Name))
		}
		value, err := known[i].source(s.Value)
		if err != nil {
			bad = append(bad, fmt.Errorf("%s: parameter %s = %q: %w; %s", nb.Name, s.Name, s.Value, err, listed(known)))
		}
		values[s.Name] = value
	}
	if bad != nil {
		return errors.Join(bad...)
	}
	var lines []string
	for _, p := range known {
		if v, set := values[p.Name]; set {
			lines = append(lines, p.declaration(v))
		}
	}
	nb.insertInjected(strings.Join(lines, "\n"))
	return nil
}

func (nb *Notebook) insertInjected(source string) {
	nb.Cells = slices.DeleteFunc(slices.Clone(nb.Cells), func(c Cell) bool { return c.HasTag(TagInjected) })
	used := map[string]bool{}
	for _, c := range nb.Cells {
		used[c.ID] = true
	}
	cell := Cell{ID: freeID(used, TagInjected), Type: "code", Source: source, Tags: []string{TagInjected}}
	at := slices.IndexFunc(nb.Cells, func(c Cell) bool { return c.HasTag(TagParameters) })
	nb.Cells = slices.Insert(nb.Cells, at+1, cell)
}

// listed says which parameters there are.
func listed(known []Parameter) string {
	if len(known) == 0 {
		return "this notebook has no parameters"
	}
	var parts []string
	for _, p := range known {
		parts = append(parts, fmt.Sprintf("%s = %s (%s)", p.Name, p.Value, p.Kind))
	}
	return "its parameters: " + strings.Join(parts, ", ")
}

func (p *Parameter) declaration(value string) string {
	if p.Type == "" {
		return fmt.Sprintf("%s %s = %s", p.Keyword, p.Name, value)
	}
	return fmt.Sprintf("%s %s %s = %s", p.Keyword, p.Name, p.Type, value)
}

// source turns what the user typed into Go source of the parameter's type.
func (p *Parameter) source(typed string) (string, error) {
	switch p.Kind {
	case kindString:
		return strconv.Quote(typed), nil
	case kindInt:
		if n, err := strconv.ParseInt(typed, 10, 64); err == nil {
			return strconv.FormatInt(n, 10), nil
		}
	case kindFloat:
		x, err := strconv.ParseFloat(typed, 64)
		if err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
			s := strconv.FormatFloat(x, 'g', -1, 64)
			if !strings.ContainsAny(s, ".e") {
				s += ".0" // 4 alone would make an integer of an untyped constant
			}
			return s, nil
		}
	case kindBool:
		if typed == "true" || typed == "false" {
			return typed, nil
		}
	}
	return "", fmt.Errorf("a %s is wanted", p.Kind)
}

const (
	kindString = "text"
	kindInt    = "whole number"
	kindFloat  = "number"
	kindBool   = "true or false"
)

var kindOfType = map[string]string{
	"string": kindString, "bool": kindBool, "float64": kindFloat, "float32": kindFloat,
	"int": kindInt, "int64": kindInt, "int32": kindInt,
}

func parseParameters(source string) ([]Parameter, error) {
	const header = "package p\n"
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "", header+source, parser.SkipObjectResolution)
	line := func(p token.Pos) int { return set.Position(p).Line - 1 }
	if err != nil {
		return nil, fmt.Errorf("the parameters cell holds lines `const name = value` and comments, nothing else: %w", shifted(err))
	}
	var out []Parameter
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST && g.Tok != token.VAR {
			return nil, fmt.Errorf("line %d: the parameters cell holds lines `const name = value`, nothing else", line(d.Pos()))
		}
		if g.Lparen.IsValid() {
			return nil, fmt.Errorf("line %d: a block %s ( ... ) cannot be set in part; write one line `%s name = value` for each", line(d.Pos()), g.Tok, g.Tok)
		}
		p, err := parameter(g)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line(d.Pos()), err)
		}
		if slices.ContainsFunc(out, func(q Parameter) bool { return q.Name == p.Name }) {
			return nil, fmt.Errorf("line %d: parameter %s stands twice", line(d.Pos()), p.Name)
		}
		out = append(out, p)
	}
	return out, nil
}

// shifted takes the package line, which the user did not write, out of a parser's error.
func shifted(err error) error {
	text := err.Error()
	place, rest, ok := strings.Cut(text, ": ")
	row, column, ok2 := strings.Cut(place, ":")
	n, convErr := strconv.Atoi(row)
	if !ok || !ok2 || convErr != nil {
		return err
	}
	return fmt.Errorf("line %d, column %s: %s", n-1, column, rest)
}

func parameter(g *ast.GenDecl) (Parameter, error) {
	spec := g.Specs[0].(*ast.ValueSpec) // the parser makes nothing else of const and var
	if len(spec.Names) != 1 || len(spec.Values) != 1 {
		return Parameter{}, fmt.Errorf("one name and one value are wanted: `%s name = value`", g.Tok)
	}
	p := Parameter{Keyword: g.Tok.String(), Name: spec.Names[0].Name}
	kind, value := literal(spec.Values[0])
	p.Kind, p.Value = kind, value
	if spec.Type != nil {
		id, ok := spec.Type.(*ast.Ident)
		if !ok || kindOfType[id.Name] == "" {
			return Parameter{}, fmt.Errorf("parameter %s: string, bool, int, int32, int64, float32 or float64 is wanted as type", p.Name)
		}
		p.Type, p.Kind = id.Name, kindOfType[id.Name]
	}
	if kind == "" {
		return Parameter{}, fmt.Errorf("parameter %s: its value must be a plain text, number, true or false", p.Name)
	}
	return p, nil
}

// literal gives kind and source of a plain value, or nothing.
func literal(e ast.Expr) (kind, source string) {
	switch e := e.(type) {
	case *ast.BasicLit:
		switch e.Kind {
		case token.STRING:
			return kindString, e.Value
		case token.INT:
			return kindInt, e.Value
		case token.FLOAT:
			return kindFloat, e.Value
		}
	case *ast.Ident:
		if e.Name == "true" || e.Name == "false" {
			return kindBool, e.Name
		}
	case *ast.UnaryExpr:
		if kind, source := literal(e.X); e.Op == token.SUB && (kind == kindInt || kind == kindFloat) {
			return kind, "-" + source
		}
	}
	return "", ""
}
