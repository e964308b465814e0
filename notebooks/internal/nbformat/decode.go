package nbformat

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// ReadFile reads a notebook file.
func ReadFile(path string) (*Notebook, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Decode(filepath.Base(path), b)
}

// Decode reads a notebook; name stands in messages. All faults of the cells are told at once.
func Decode(name string, b []byte) (*Notebook, error) {
	var top map[string]any
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber() // numbers of unknown fields keep their digits
	if err := d.Decode(&top); err != nil {
		return nil, fmt.Errorf("%s: %w", name, locate(b, err))
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("%s: more follows after the end of the notebook", name)
	}
	f := fields{m: top}
	major, minor := f.integer("nbformat"), f.integer("nbformat_minor")
	if major == nil || *major != 4 {
		return nil, fmt.Errorf("%s: this is not a notebook of format 4; open it in Jupyter and save it again", name)
	}
	nb := &Notebook{Name: name, Metadata: f.object("metadata")}
	if minor != nil {
		nb.Minor = *minor
	}
	cells, ok := f.take("cells").([]any)
	if !ok {
		f.fault("cells: a list is wanted")
	}
	nb.Extra = f.rest()
	bad := f.wrap(name)
	ids := map[string]int{}
	for i, c := range cells {
		cell, errs := decodeCell(c)
		if first, twice := ids[cell.ID]; twice && cell.ID != "" {
			errs = append(errs, fmt.Errorf("id %q is also the id of cell %d; delete one of the two ids", cell.ID, first))
		}
		ids[cell.ID] = i + 1
		for _, e := range errs {
			bad = append(bad, fmt.Errorf("%s, cell %d: %w", name, i+1, e))
		}
		nb.Cells = append(nb.Cells, cell)
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	return nb, nil
}

// locate adds line and column to an error of encoding/json.
func locate(b []byte, err error) error {
	var at int64
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		at = syntax.Offset
	case errors.As(err, &kind):
		at = kind.Offset
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("the file ends before the notebook does")
	}
	before := b[:min(int(at), len(b))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := len(before) - bytes.LastIndexByte(before, '\n') - 1
	return fmt.Errorf("line %d, column %d: this is not a notebook: %w", line, column, err)
}

var idPattern = regexp.MustCompile(`^[a-zA-Z0-9-_]{1,64}$`)

func decodeCell(v any) (Cell, []error) {
	m, ok := v.(map[string]any)
	if !ok {
		return Cell{}, []error{errors.New("an object is wanted")}
	}
	f := fields{m: m}
	c := Cell{Type: f.text("cell_type"), Source: f.multiline("source"), Metadata: f.object("metadata")}
	if id, has := m["id"]; has {
		c.ID = f.text("id")
		if !idPattern.MatchString(c.ID) {
			f.fault("id %v: 1 to 64 letters, digits, - or _ are wanted", id)
		}
	}
	meta := fields{m: c.Metadata}
	if _, has := c.Metadata["tags"]; has {
		c.Tags = meta.texts("tags")
	}
	c.Metadata = meta.rest()
	f.errs = append(f.errs, meta.errs...)
	outputs, hasOutputs := m["outputs"]
	_, hasCount := m["execution_count"]
	switch c.Type {
	case "code":
		c.ExecutionCount = f.integer("execution_count")
		f.take("outputs")
		list, ok := outputs.([]any)
		if hasOutputs && !ok {
			f.fault("outputs: a list is wanted")
		}
		for i, o := range list {
			out, errs := decodeOutput(o)
			for _, e := range errs {
				f.fault("output %d: %w", i+1, e)
			}
			c.Outputs = append(c.Outputs, out)
		}
	case "markdown", "raw":
		if hasOutputs || hasCount {
			f.fault("a %s cell has no outputs and no execution_count; delete them", c.Type)
		}
	default:
		f.fault("cell_type %q: code, markdown or raw is wanted", c.Type)
	}
	c.Extra = f.rest()
	return c, f.errs
}

func decodeOutput(v any) (Output, []error) {
	m, ok := v.(map[string]any)
	if !ok {
		return Output{}, []error{errors.New("an object is wanted")}
	}
	f := fields{m: m}
	o := Output{Type: f.text("output_type")}
	switch o.Type {
	case "stream":
		o.Name, o.Text = f.text("name"), f.multiline("text")
	case "display_data", "execute_result":
		if o.Type == "execute_result" {
			o.ExecutionCount = f.integer("execution_count")
		}
		o.Metadata, o.Data = f.object("metadata"), f.object("data")
		for mime, value := range o.Data {
			if isJSON(mime) {
				continue
			}
			s, ok := joined(value)
			if !ok {
				f.fault("%s: text is wanted", mime)
			}
			o.Data[mime] = s
		}
	case "error":
		o.EName, o.EValue, o.Traceback = f.text("ename"), f.text("evalue"), f.texts("traceback")
	default:
		f.fault("output_type %q: stream, display_data, execute_result or error is wanted", o.Type)
	}
	o.Extra = f.rest()
	return o, f.errs
}

// isJSON tells whether a MIME type holds JSON and not text.
func isJSON(mime string) bool {
	return mime == "application/json" || strings.HasPrefix(mime, "application/") && strings.HasSuffix(mime, "+json")
}

// joined reads a multi-line string: a string or a list of strings.
func joined(v any) (string, bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case []any:
		var b strings.Builder
		for _, line := range v {
			s, ok := line.(string)
			if !ok {
				return "", false
			}
			b.WriteString(s)
		}
		return b.String(), true
	}
	return "", false
}

// fields takes known fields out of an object and gathers faults; what is left is kept.
type fields struct {
	m     map[string]any
	taken []string
	errs  []error
}

func (f *fields) fault(format string, args ...any) {
	f.errs = append(f.errs, fmt.Errorf(format, args...))
}

func (f *fields) wrap(name string) []error {
	var out []error
	for _, e := range f.errs {
		out = append(out, fmt.Errorf("%s: %w", name, e))
	}
	return out
}

func (f *fields) take(key string) any {
	f.taken = append(f.taken, key)
	return f.m[key]
}

func (f *fields) text(key string) string {
	s, ok := f.take(key).(string)
	if !ok {
		f.fault("%s: text is wanted", key)
	}
	return s
}

func (f *fields) multiline(key string) string {
	s, ok := joined(f.take(key))
	if !ok {
		f.fault("%s: text, or a list of lines, is wanted", key)
	}
	return s
}

func (f *fields) texts(key string) []string {
	list, ok := f.take(key).([]any)
	out := make([]string, 0, len(list))
	for _, v := range list {
		s, isText := v.(string)
		ok = ok && isText
		out = append(out, s)
	}
	if !ok {
		f.fault("%s: a list of texts is wanted", key)
	}
	return out
}

func (f *fields) object(key string) map[string]any {
	m, ok := f.take(key).(map[string]any)
	if !ok {
		f.fault("%s: an object is wanted", key)
	}
	return m
}

func (f *fields) integer(key string) *int {
	v := f.take(key)
	if v == nil {
		return nil
	}
	number, ok := v.(json.Number)
	n, err := strconv.Atoi(number.String())
	if !ok || err != nil {
		f.fault("%s: a whole number is wanted", key)
		return nil
	}
	return &n
}

// rest gives the fields that were not taken, nil when there are none.
func (f *fields) rest() map[string]any {
	for _, key := range f.taken {
		delete(f.m, key)
	}
	if len(f.m) == 0 {
		return nil
	}
	return f.m
}
