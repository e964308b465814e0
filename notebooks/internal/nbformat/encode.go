package nbformat

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"strings"
)

// Encode writes a notebook of format 4.5: same notebook, same bytes. Cells without an id get one from their place. An
// unknown kind of cell or output, and a value that JSON cannot hold, is an error naming file and cell.
func Encode(nb *Notebook) ([]byte, error) {
	top := clone(nb.Extra)
	top["nbformat"], top["nbformat_minor"] = 4, max(nb.Minor, 5)
	top["metadata"] = clone(nb.Metadata)
	used := map[string]bool{}
	for _, c := range nb.Cells {
		used[c.ID] = true
	}
	cells := make([]any, 0, len(nb.Cells))
	for i, c := range nb.Cells {
		if c.ID == "" {
			c.ID = freeID(used, fmt.Sprintf("cell-%d", i+1))
		}
		m, err := encodeCell(&c)
		if err != nil {
			return nil, fmt.Errorf("%s, cell %d: %w", nb.Name, i+1, err)
		}
		cells = append(cells, m)
	}
	top["cells"] = cells
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(top); err != nil {
		return nil, fmt.Errorf("%s: %w", nb.Name, err)
	}
	return b.Bytes(), nil
}

// freeID gives an id that no cell has, and takes it.
func freeID(used map[string]bool, want string) string {
	id := want
	for n := 2; used[id]; n++ {
		id = fmt.Sprintf("%s-%d", want, n)
	}
	used[id] = true
	return id
}

func encodeCell(c *Cell) (map[string]any, error) {
	m := clone(c.Extra)
	meta := clone(c.Metadata)
	if c.Tags != nil {
		meta["tags"] = c.Tags
	}
	m["id"], m["cell_type"], m["metadata"], m["source"] = c.ID, c.Type, meta, lines(c.Source)
	switch c.Type {
	case "markdown", "raw":
		return m, nil
	case "code":
	default:
		return nil, fmt.Errorf("cell type %q is not known", c.Type)
	}
	outputs := make([]any, 0, len(c.Outputs))
	for i := range c.Outputs {
		o, err := encodeOutput(&c.Outputs[i])
		if err != nil {
			return nil, fmt.Errorf("output %d: %w", i+1, err)
		}
		outputs = append(outputs, o)
	}
	m["outputs"], m["execution_count"] = outputs, c.ExecutionCount
	return m, nil
}

func encodeOutput(o *Output) (map[string]any, error) {
	m := clone(o.Extra)
	m["output_type"] = o.Type
	switch o.Type {
	case "stream":
		m["name"], m["text"] = o.Name, lines(o.Text)
	case "display_data", "execute_result":
		if o.Type == "execute_result" {
			m["execution_count"] = o.ExecutionCount
		}
		data := clone(o.Data)
		for mime, v := range data {
			s, text := v.(string)
			switch {
			case isJSON(mime):
			case !text:
				return nil, fmt.Errorf("%s holds a %T, not text", mime, v)
			case strings.HasPrefix(mime, "text/") || mime == "image/svg+xml" || mime == "application/javascript":
				data[mime] = lines(s)
			}
		}
		m["data"], m["metadata"] = data, clone(o.Metadata)
	case "error":
		trace := o.Traceback
		if trace == nil {
			trace = []string{}
		}
		m["ename"], m["evalue"], m["traceback"] = o.EName, o.EValue, trace
	default:
		return nil, fmt.Errorf("output type %q is not known", o.Type)
	}
	return m, nil
}

// clone copies an object; never nil, since the format asks for {} and not null.
func clone(m map[string]any) map[string]any {
	if m == nil {
		return map[string]any{}
	}
	return maps.Clone(m)
}

// lines splits after each line end, as Jupyter does for readable differences.
func lines(s string) []string {
	if s == "" {
		return []string{}
	}
	parts := strings.SplitAfter(s, "\n")
	if parts[len(parts)-1] == "" {
		parts = parts[:len(parts)-1]
	}
	return parts
}
