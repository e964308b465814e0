package nbformat

import "slices"

// Notebook is a notebook of format 4.
type Notebook struct {
	Name     string // of the file, for messages; not written
	Cells    []Cell
	Metadata map[string]any
	Minor    int            // minor version as read; Encode writes at least 5
	Extra    map[string]any // fields of the top level that are not known here
}

// Cell is one cell.
type Cell struct {
	ID             string
	Type           string // "code", "markdown" or "raw"
	Source         string
	Tags           []string       // metadata.tags; nil when absent
	Metadata       map[string]any // the rest of the metadata
	Outputs        []Output       // code cells only
	ExecutionCount *int           // code cells only; nil before the first run
	Extra          map[string]any // other fields, such as attachments
}

// Output is one output of a code cell.
type Output struct {
	Type           string         // "stream", "display_data", "execute_result" or "error"
	Name           string         // stream: "stdout" or "stderr"
	Text           string         // stream
	Data           map[string]any // display_data, execute_result: by MIME type; strings except for JSON types
	Metadata       map[string]any // display_data, execute_result
	ExecutionCount *int           // execute_result
	EName, EValue  string         // error
	Traceback      []string       // error
	Extra          map[string]any // fields that are not known here
}

// HasTag tells whether the cell carries a tag.
func (c *Cell) HasTag(tag string) bool { return slices.Contains(c.Tags, tag) }

// Clear empties outputs and execution counts of all code cells.
func (nb *Notebook) Clear() {
	for i := range nb.Cells {
		nb.Cells[i].Outputs, nb.Cells[i].ExecutionCount = nil, nil
	}
}
