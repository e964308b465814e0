package nbformat

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
)

// sample is written by hand after the published schema of nbformat 4.5. Jupyter's own library (nbformat 5.5.0 for Python,
// nbformat.writes(nbformat.read("sample.ipynb", 4)) + "\n") gives these bytes, but for 1.50, which it writes as 1.5, and finds
// it valid but for the unknown field "odd".
const sample = `{
 "cells": [
  {
   "attachments": {
    "a.png": {
     "image/png": "aGk="
    }
   },
   "cell_type": "markdown",
   "id": "intro",
   "metadata": {},
   "source": [
    "# Title\n",
    "<b>text</b>"
   ]
  },
  {
   "cell_type": "code",
   "execution_count": 3,
   "id": "c1",
   "metadata": {
    "collapsed": false,
    "tags": [
     "detail"
    ]
   },
   "outputs": [
    {
     "name": "stdout",
     "output_type": "stream",
     "text": [
      "one\n",
      "two"
     ]
    },
    {
     "data": {
      "application/vnd.x+json": {
       "big": 12345678901234567890
      },
      "image/png": "aGk=",
      "image/svg+xml": [
       "<svg>\n",
       "</svg>"
      ]
     },
     "metadata": {},
     "output_type": "display_data"
    },
    {
     "data": {
      "text/plain": [
       "5"
      ]
     },
     "execution_count": 3,
     "metadata": {},
     "output_type": "execute_result"
    },
    {
     "ename": "E",
     "evalue": "v",
     "output_type": "error",
     "traceback": [
      "t1"
     ]
    }
   ],
   "source": []
  },
  {
   "cell_type": "code",
   "execution_count": null,
   "id": "c2",
   "metadata": {},
   "outputs": [],
   "source": [
    "x"
   ]
  }
 ],
 "metadata": {
  "kernelspec": {
   "display_name": "Go",
   "name": "gonb"
  }
 },
 "nbformat": 4,
 "nbformat_minor": 5,
 "odd": [
  1.50
 ]
}
`

func TestRoundTripKeepsEveryByte(t *testing.T) {
	nb, err := Decode("sample.ipynb", []byte(sample))
	require.NoError(t, err)
	require.Equal(t, "# Title\n<b>text</b>", nb.Cells[0].Source)
	require.Equal(t, []string{"detail"}, nb.Cells[1].Tags)
	require.Equal(t, "<svg>\n</svg>", nb.Cells[1].Outputs[1].Data["image/svg+xml"])
	require.Equal(t, "one\ntwo", nb.Cells[1].Outputs[0].Text)
	require.Equal(t, 3, *nb.Cells[1].ExecutionCount)
	out, err := Encode(nb)
	require.NoError(t, err)
	require.Equal(t, sample, string(out))
}

func TestEncodeEnforcesTheFormat(t *testing.T) {
	nb := &Notebook{Cells: []Cell{{Type: "code", Source: "a"}, {Type: "markdown", Source: "b", ID: "cell-1"}}}
	out, err := Encode(nb)
	require.NoError(t, err)
	var got struct {
		Minor int              `json:"nbformat_minor"`
		Cells []map[string]any `json:"cells"`
	}
	require.NoError(t, json.Unmarshal(out, &got))
	require.Equal(t, 5, got.Minor)
	require.Equal(t, "cell-1-2", got.Cells[0]["id"], "an id that another cell has is not taken")
	require.Contains(t, got.Cells[0], "execution_count")
	require.Equal(t, []any{}, got.Cells[0]["outputs"])
	require.NotContains(t, got.Cells[1], "outputs")
	require.NotContains(t, got.Cells[1], "execution_count")
	require.Empty(t, nb.Cells[0].ID, "the notebook itself is unchanged")

	for _, bad := range []Cell{
		{Type: "sql"},
		{Type: "code", Outputs: []Output{{Type: "popup"}}},
		{Type: "code", Outputs: []Output{{Type: "display_data", Data: map[string]any{"text/plain": 5}}}},
	} {
		_, err := Encode(&Notebook{Name: "n.ipynb", Cells: []Cell{bad}})
		require.ErrorContains(t, err, "n.ipynb, cell 1")
	}
}

func TestDecodeSaysWhere(t *testing.T) {
	cell := func(c string) string { return `{"nbformat":4,"nbformat_minor":5,"metadata":{},"cells":[` + c + `]}` }
	for _, tt := range []struct{ name, in, want string }{
		{"not json", "{\n \"cells\": [}", "n.ipynb: line 2, column 12"},
		{"cut off", `{"cells": [`, "n.ipynb: the file ends"},
		{"empty", ``, "n.ipynb: the file ends"},
		{"list", `[]`, "n.ipynb: line 1"},
		{"trailing", cell("") + "x", "more follows"},
		{"version", `{"nbformat":3,"cells":[],"metadata":{}}`, "not a notebook of format 4"},
		{"no cells", `{"nbformat":4,"metadata":{}}`, "n.ipynb: cells: a list is wanted"},
		{"markdown with outputs", cell(`{"cell_type":"markdown","id":"a","metadata":{},"source":"","outputs":[]}`), "n.ipynb, cell 1: a markdown cell has no outputs"},
		{"source", cell(`{"cell_type":"raw","id":"a","metadata":{},"source":[1]}`), "n.ipynb, cell 1: source: text"},
		{"type", cell(`{"cell_type":"sql","id":"a","metadata":{},"source":""}`), `n.ipynb, cell 1: cell_type "sql"`},
		{"id", cell(`{"cell_type":"raw","id":"a b","metadata":{},"source":""}`), "n.ipynb, cell 1: id a b"},
		{"same id", cell(`{"cell_type":"raw","id":"a","metadata":{},"source":""},{"cell_type":"raw","id":"a","metadata":{},"source":""}`), `cell 2: id "a" is also the id of cell 1`},
		{"output", cell(`{"cell_type":"code","id":"a","metadata":{},"source":"","execution_count":null,"outputs":[{"output_type":"stream","name":5,"text":""}]}`), "cell 1: output 1: name: text is wanted"},
		{"count", cell(`{"cell_type":"code","id":"a","metadata":{},"source":"","execution_count":1.5,"outputs":[]}`), "cell 1: execution_count: a whole number"},
		{"tags", cell(`{"cell_type":"code","id":"a","metadata":{"tags":"x"},"source":"","execution_count":1,"outputs":[]}`), "cell 1: tags: a list"},
		{"null cell", cell(`null`), "cell 1: an object is wanted"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Decode("n.ipynb", []byte(tt.in))
			require.ErrorContains(t, err, tt.want)
		})
	}
}

func TestOldNotebooksGetIDs(t *testing.T) {
	nb, err := Decode("old.ipynb", []byte(`{"nbformat":4,"nbformat_minor":2,"metadata":{},"cells":[{"cell_type":"raw","metadata":{},"source":""},{"cell_type":"raw","metadata":{},"source":""}]}`))
	require.NoError(t, err)
	out, err := Encode(nb)
	require.NoError(t, err)
	again, err := Decode("old.ipynb", out)
	require.NoError(t, err)
	require.Equal(t, "cell-1", again.Cells[0].ID)
	require.Equal(t, "cell-2", again.Cells[1].ID)
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(sample))
	f.Add([]byte(`{"nbformat":4,"nbformat_minor":5,"metadata":{},"cells":[{"cell_type":"code","id":"a","metadata":{"tags":[]},"source":"","execution_count":1,"outputs":[]}]}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		nb, err := Decode("f", in)
		if err != nil {
			return
		}
		once, err := Encode(nb)
		require.NoError(t, err)
		back, err := Decode("f", once)
		require.NoError(t, err)
		twice, err := Encode(back)
		require.NoError(t, err)
		require.Equal(t, string(once), string(twice))
	})
}
