package jupyter

import (
	"encoding/json"
	"testing"

	"lastsip/notebooks/internal/jupyter/wire"
	"lastsip/notebooks/internal/nbformat"
)

// FuzzGather gives the client messages with any content, several in a row: no panic, and what was gathered can be written
// as a notebook.
func FuzzGather(f *testing.F) {
	for _, kind := range []string{"stream", "display_data", "execute_result", "update_display_data", "clear_output", "error", "status"} {
		f.Add(kind, []byte(`{"name":"stdout","text":"a","data":{"text/plain":"b"},"transient":{"display_id":"d"},"wait":true,"ename":"E","traceback":["x"]}`))
	}
	f.Add("stream", []byte(`{"name":1}`))
	f.Add("display_data", []byte(`{"data":{"a/b":[1e400,null]}}`))
	f.Fuzz(func(t *testing.T, kind string, content []byte) {
		c := &Client{displays: map[string][]place{}}
		r := &Result{}
		for _, k := range []string{kind, "stream", kind, "clear_output", "display_data", "update_display_data"} {
			c.gather(r, &wire.Message{Header: wire.Header{Type: k}, Content: json.RawMessage(content)})
		}
		r.endText()
		nb := &nbformat.Notebook{Cells: []nbformat.Cell{{Type: "code", Outputs: r.Outputs}}}
		b, err := nbformat.Encode(nb)
		if err != nil {
			return
		}
		if _, err := nbformat.Decode("fuzz.ipynb", b); err != nil {
			t.Fatalf("what was gathered cannot be read again: %v\n%s", err, b)
		}
	})
}
