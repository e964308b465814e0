package execute

import (
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
