package jupyter

import (
	"bytes"
	"encoding/json"
	"strings"

	"lastsip/notebooks/internal/jupyter/wire"
	"lastsip/notebooks/internal/nbformat"
)

// published is the content of any message that carries output.
type published struct {
	Name      string         `json:"name"` // stream
	Text      string         `json:"text"`
	Data      map[string]any `json:"data"` // display_data, update_display_data, execute_result
	Metadata  map[string]any `json:"metadata"`
	Transient struct {
		DisplayID string `json:"display_id"`
	} `json:"transient"`
	Count     *int     `json:"execution_count"`
	EName     string   `json:"ename"` // error
	EValue    string   `json:"evalue"`
	Traceback []string `json:"traceback"`
	Wait      bool     `json:"wait"` // clear_output
}

// gather adds one message to the outputs, by the rules that front ends follow.
func (c *Client) gather(r *Result, m *wire.Message) {
	var p published
	d := json.NewDecoder(bytes.NewReader(m.Content))
	d.UseNumber() // JSON data keep their digits
	if d.Decode(&p) != nil {
		return // content that is not of its own type holds no output
	}
	r.bytes += len(m.Content)
	switch m.Header.Type {
	case "clear_output":
		if r.waiting = p.Wait; !p.Wait {
			c.clear(r)
		}
	case "stream":
		c.clearIfWaiting(r)
		if p.Name == "stderr" {
			r.LastStderr = p.Text
		}
		r.addText(p.Name, p.Text)
	case "display_data":
		c.clearIfWaiting(r)
		c.add(r, nbformat.Output{Type: "display_data", Data: p.Data, Metadata: p.Metadata}, p.Transient.DisplayID)
	case "execute_result":
		c.clearIfWaiting(r)
		c.add(r, nbformat.Output{Type: "execute_result", Data: p.Data, Metadata: p.Metadata, ExecutionCount: p.Count}, p.Transient.DisplayID)
	case "update_display_data":
		for _, at := range c.displays[p.Transient.DisplayID] {
			at.result.Outputs[at.index].Data, at.result.Outputs[at.index].Metadata = p.Data, p.Metadata
		}
	case "error":
		c.clearIfWaiting(r)
		c.add(r, nbformat.Output{Type: "error", EName: p.EName, EValue: p.EValue, Traceback: p.Traceback}, "")
	}
}

func (c *Client) add(r *Result, o nbformat.Output, displayID string) {
	r.endText()
	if displayID != "" {
		c.displays[displayID] = append(c.displays[displayID], place{r, len(r.Outputs)})
	}
	r.Outputs = append(r.Outputs, o)
}

// addText adds text of a stream, joined to what came just before on the same stream.
func (r *Result) addText(name, text string) {
	if r.stream != name {
		r.endText()
		r.stream = name
	}
	r.text = append(r.text, text...)
}

// endText makes an output of the text that was coming.
func (r *Result) endText() {
	if r.stream != "" {
		r.Outputs = append(r.Outputs, nbformat.Output{Type: "stream", Name: r.stream, Text: string(r.text)})
	}
	r.stream, r.text = "", nil
}

func (c *Client) clearIfWaiting(r *Result) {
	if r.waiting {
		c.clear(r)
	}
}

// clear throws the outputs away, and the places that later updates would change.
func (c *Client) clear(r *Result) {
	r.Outputs, r.stream, r.text, r.waiting = nil, "", nil, false
	for id, places := range c.displays {
		var kept []place
		for _, at := range places {
			if at.result != r {
				kept = append(kept, at)
			}
		}
		c.displays[id] = kept
	}
}

// StderrText is all that came on stderr.
func (r *Result) StderrText() string {
	var b strings.Builder
	for _, o := range r.Outputs {
		if o.Type == "stream" && o.Name == "stderr" {
			b.WriteString(o.Text)
		}
	}
	return b.String()
}
