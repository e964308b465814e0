package panelcsv

import (
	"bytes"
	"encoding/json"
	"errors"

	"lastsip/analysis/dataerr"
)

// node is a JSON value with its line, so that a fault in the descriptor can be located: encoding/json decodes into structs
// without places and stops at the first mismatch.
type node struct {
	line    int
	kind    jsonKind
	text    string // of a string, number or bool
	members []member
	items   []*node
}

type member struct {
	key   string
	line  int
	value *node
}

type jsonKind uint8

const (
	jsonNull jsonKind = iota
	jsonString
	jsonNumber
	jsonBool
	jsonObject
	jsonList
)

// parseJSON reads a whole JSON text.
func parseJSON(shown string, data []byte) (*node, *dataerr.Cell) {
	var whole json.RawMessage // checks the syntax only
	if err := json.Unmarshal(data, &whole); err != nil {
		cell := &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: "it is not JSON: " + err.Error()}
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			end := min(max(int(syntax.Offset), 0), len(data))
			cell.Row = 1 + bytes.Count(data[:end], []byte("\n"))
		}
		return nil, cell
	}
	p := &jsonParser{data: data, dec: json.NewDecoder(bytes.NewReader(data)), line: 1}
	p.dec.UseNumber()
	n, err := p.value()
	if err != nil { // cannot be: the text was decoded above
		return nil, &dataerr.Cell{File: shown, Err: dataerr.ErrFormat, Want: err.Error()}
	}
	return n, nil
}

type jsonParser struct {
	data []byte
	dec  *json.Decoder
	at   int
	line int
}

// token reads one token and the line that it ends on.
func (p *jsonParser) token() (json.Token, error) {
	t, err := p.dec.Token()
	end := int(p.dec.InputOffset())
	p.line += bytes.Count(p.data[p.at:end], []byte("\n"))
	p.at = end
	return t, err
}

func (p *jsonParser) value() (*node, error) {
	t, err := p.token()
	if err != nil {
		return nil, err
	}
	n := &node{line: p.line}
	switch t := t.(type) {
	case string:
		n.kind, n.text = jsonString, t
	case json.Number:
		n.kind, n.text = jsonNumber, t.String()
	case bool:
		n.kind, n.text = jsonBool, map[bool]string{true: "true", false: "false"}[t]
	case json.Delim:
		if t == '{' {
			n.kind = jsonObject
			return n, p.object(n)
		}
		n.kind = jsonList
		return n, p.list(n)
	}
	return n, nil
}

func (p *jsonParser) object(n *node) error {
	for p.dec.More() {
		key, err := p.token()
		if err != nil {
			return err
		}
		line := p.line
		v, err := p.value()
		if err != nil {
			return err
		}
		n.members = append(n.members, member{key.(string), line, v})
	}
	_, err := p.token()
	return err
}

func (p *jsonParser) list(n *node) error {
	for p.dec.More() {
		v, err := p.value()
		if err != nil {
			return err
		}
		n.items = append(n.items, v)
	}
	_, err := p.token()
	return err
}

// written gives a value as a message quotes it.
func (n *node) written() string {
	switch n.kind {
	case jsonString, jsonNumber, jsonBool:
		return n.text
	case jsonObject:
		return "{...}"
	case jsonList:
		return "[...]"
	}
	return "null"
}
