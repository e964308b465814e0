package execute

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// answered is a run in which the cells have been executed in order, as far as locating needs it.
func answered(sources ...string) *run {
	r := &run{k: &kernel.Kernel{Temp: "/tmp/lastsip-0/kernel-7"}, nb: &nbformat.Notebook{Name: "n.ipynb"}, cellOf: map[int]int{}}
	for i, s := range sources {
		r.nb.Cells = append(r.nb.Cells, nbformat.Cell{Type: "code", Source: s})
		r.cellOf[i+1] = i
	}
	return r
}

// Messages in the form that gonb v0.11.3 sends; columns count bytes, as the Go compiler's do.
func TestCompileErrorsAreLocated(t *testing.T) {
	r := answered("func f() int {\n\treturn \"é\" + x\n}", "%%\n  undefd(3)")
	res := &jupyter.Result{Status: "error", Outputs: []nbformat.Output{{
		Type: "error", EName: "ERROR",
		EValue: "# gonb_9b1c97bd\n./main.go:8:16: undefined: x\n./main.go:14:3: undefined: undefd\n\thave (number)\nexit status 1",
		Traceback: []string{
			"\x1b[31m# gonb_9b1c97bd\x1b[0m",
			"Cell[1]: Line 2\n)\n\nfunc f() int {\n\treturn \"é\" + x\n               ^\n}\n\n\nundefined: x",
			"Cell[2]: Line 2\n\nfunc main() {\n\tflag.Parse()\n  undefd(3)\n  ^\n\n}\n\nundefined: undefd",
			"\thave (number)", "exit status 1",
		},
	}}}
	faults := r.faults(1, res)
	require.Len(t, faults, 2)
	err := r.fail(1, faults, nil)
	require.Equal(t, "n.ipynb, cell 1, line 2: undefined: x\n    \treturn \"é\" + x\n    \t             ^\n"+
		"n.ipynb, cell 2, line 2: undefined: undefd; have (number)\n      undefd(3)\n      ^", err.Error())
}

// The kernel formats what it generates, and does not always say which cell a line is from.
func TestGeneratedLinesAreFoundAgain(t *testing.T) {
	r := answered("func f() {\n    g(3)\n}", "%%\nf()\nf()")
	r.k.Temp = t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(r.k.Temp, "gonb_12"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(r.k.Temp, "gonb_12", "main.go"), []byte("package main\n\nfunc f() {\n\tg(3)\n}\nf()\n"), 0o600))
	faults := r.faults(1, &jupyter.Result{Status: "error", Outputs: []nbformat.Output{{Type: "error",
		EValue:    "./main.go:4:2: undefined: g\n./main.go:4:4: no three\n./main.go:6:1: twice",
		Traceback: []string{"Cell[1]: Line 2\nfunc f() {\n\tg(3)\n ^\n}\n\nundefined: g", "\tg(3)\n   ^\nno three", "twice"}}}})
	require.Len(t, faults, 3)
	require.Equal(t, Fault{Cell: 0, Line: 2, Column: 5, Source: "    g(3)", Message: "undefined: g"}, faults[0], "column moved by the indentation")
	require.Equal(t, Fault{Cell: 0, Line: 2, Source: "    g(3)", Message: "no three"}, faults[1], "found by its text")
	require.Equal(t, Fault{Cell: 1, Message: "twice"}, faults[2], "two lines read alike: better no line than a wrong one")
}

func TestNoexecIsExplained(t *testing.T) {
	r := answered("a")
	faults := r.faults(0, &jupyter.Result{Status: "error", Reason: `ERROR: failed to start to execute command "/x/gonb_12/gonb_12": fork/exec /x/gonb_12/gonb_12: permission denied`})
	require.ErrorContains(t, r.fail(0, faults, nil), "n.ipynb, cell 1: its program may not be run (permission denied): programs are not allowed in the folder for temporary files, "+os.TempDir())
	require.Equal(t, "open /x: permission denied", explain("open /x: permission denied"))
}

func TestBadlyEndedProgramsAreSeen(t *testing.T) {
	for _, tt := range []struct{ name, last, all, want string }{
		{"panic", "exit status 2\n", "panic: boom\n\tand more\n\ngoroutine 1 [running]:\nmain.main()\n\t \x1b[7m[[ Cell [1] Line 2 ]]\x1b[0m /tmp/lastsip-0/kernel-7/gonb_9b1c97bd/main.go:10 +0x65\nexit status 2\n",
			"n.ipynb, cell 1, line 2: panic: boom\n\tand more\n    second"},
		{"exit", "exit status 3\n", "exit status 3\n", "n.ipynb, cell 2: its program ended with exit status 3"},
		{"fatal", "exit status 1\n", "cannot open x\nexit status 1\n", "n.ipynb, cell 2: cannot open x (exit status 1)"},
		{"killed", "signal: killed\n", "signal: killed\n", "n.ipynb, cell 2: its program ended with signal: killed"},
		{"magic", `"%foo" unknown or not implemented yet.`, "", "n.ipynb, cell 2: the kernel does not know the command %foo"},
		{"said itself", "my exit status 3\n", "", ""},
		{"said in one piece with more", "exit status 3\nexit status 3\n", "", ""},
		{"no line end", "exit status 3", "", ""},
		{"warning", "careful\n", "careful\n", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := answered("first\nsecond", "third")
			res := &jupyter.Result{Status: "ok", LastStderr: tt.last, Outputs: []nbformat.Output{{Type: "stream", Name: "stderr", Text: tt.all}}}
			faults := r.faults(1, res)
			if tt.want == "" {
				require.Empty(t, faults)
				return
			}
			require.Equal(t, tt.want, r.fail(1, faults, nil).Error())
		})
	}
}

func TestFailedCellShowsItsErrorWithoutOurPaths(t *testing.T) {
	r := answered("a")
	r.nb.Cells[0].Outputs = []nbformat.Output{{Type: "stream", Name: "stderr", Text: "\x1b[7mat\x1b[0m /tmp/lastsip-0/kernel-7/gonb_12ab/main.go:4\n"}}
	err := r.fail(0, []Fault{{Message: "in /tmp/lastsip-0/kernel-7/gonb_12ab/main.go"}}, nil)
	require.EqualError(t, err, "n.ipynb, cell 1: in main.go")
	require.Equal(t, "at main.go:4\n", r.nb.Cells[0].Outputs[0].Text)
	require.Equal(t, "error", r.nb.Cells[0].Outputs[1].Type)
	require.Equal(t, []string{"n.ipynb, cell 1: in main.go"}, r.nb.Cells[0].Outputs[1].Traceback)
}

func TestInjectedCellIsNotCounted(t *testing.T) {
	r := answered("a", "b", "c")
	r.nb.Cells[1].Tags = []string{nbformat.TagInjected}
	require.Equal(t, "n.ipynb, cell 1", r.place(0))
	require.Equal(t, "n.ipynb, the parameters that were set", r.place(1))
	require.Equal(t, "n.ipynb, cell 2", r.place(2))
}
