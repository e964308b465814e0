package nbformat

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func withParameters(source string) *Notebook {
	return &Notebook{Name: "n.ipynb", Cells: []Cell{
		{ID: "a", Type: "markdown", Source: "# x"},
		{ID: "b", Type: "code", Source: source, Tags: []string{"parameters"}},
		{ID: "c", Type: "code", Source: "%%\nprintln(style)"},
	}}
}

const declared = "// what to look at\nconst style = \"sour\" // a style\nvar limit float64 = 4\nconst rounds = 3\nconst share = -0.5\nconst full = false\n"

func TestParametersAreRead(t *testing.T) {
	got, err := withParameters(declared).Parameters()
	require.NoError(t, err)
	require.Equal(t, []Parameter{
		{"const", "style", "text", "", `"sour"`},
		{"var", "limit", "number", "float64", "4"},
		{"const", "rounds", "whole number", "", "3"},
		{"const", "share", "number", "", "-0.5"},
		{"const", "full", "true or false", "", "false"},
	}, got)
	none, err := (&Notebook{Cells: []Cell{{Type: "code"}}}).Parameters()
	require.NoError(t, err)
	require.Empty(t, none)
}

func TestInjectAddsOneCell(t *testing.T) {
	nb := withParameters(declared)
	require.NoError(t, nb.Inject([]Setting{{"share", "2"}, {"style", "a \"b\"\n"}, {"limit", "1e-3"}, {"rounds", "-7"}, {"full", "true"}}))
	require.Len(t, nb.Cells, 4)
	require.Equal(t, declared, nb.Cells[1].Source, "the parameters cell is unchanged")
	require.Equal(t, []string{"injected-parameters"}, nb.Cells[2].Tags)
	require.Equal(t, "const style = \"a \\\"b\\\"\\n\"\nvar limit float64 = 0.001\nconst rounds = -7\nconst share = 2.0\nconst full = true", nb.Cells[2].Source)

	require.NoError(t, nb.Inject([]Setting{{"style", "stirred"}}))
	require.Len(t, nb.Cells, 4, "a second injection replaces the first")
	require.Equal(t, `const style = "stirred"`, nb.Cells[2].Source)
	require.NoError(t, nb.Inject(nil))
	require.Len(t, nb.Cells, 4)
}

func TestInjectRefuses(t *testing.T) {
	for _, tt := range []struct{ name, source, set, value, want string }{
		{"unknown name", declared, "styel", "x", `there is no parameter "styel"; its parameters: style = "sour" (text), limit`},
		{"not whole", declared, "rounds", "2.5", `rounds = "2.5": a whole number is wanted; its parameters`},
		{"not a number", declared, "limit", "NaN", "a number is wanted"},
		{"infinite", declared, "share", "Inf", "a number is wanted"},
		{"not a bool", declared, "full", "yes", "a true or false is wanted"},
		{"block", "const (\n a = 1\n)", "a", "2", "n.ipynb, cell 2: line 1: a block const ( ... )"},
		{"two names", "const a, b = 1, 2", "a", "2", "line 1: one name and one value"},
		{"no literal", "\nconst a = f(3)", "a", "2", "line 2: parameter a: its value must be"},
		{"other type", "var a []int = 3", "a", "2", "is wanted as type"},
		{"function", "func f() {}", "a", "2", "line 1: the parameters cell holds lines"},
		{"magic", "const a = 1\n%%\nprintln()", "a", "2", "line 2, column 1"},
		{"twice", "const a = 1\nconst a = 2", "a", "2", "line 2: parameter a stands twice"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			nb := withParameters(tt.source)
			err := nb.Inject([]Setting{{tt.set, tt.value}})
			require.ErrorContains(t, err, tt.want)
			require.Len(t, nb.Cells, 3, "a refused setting leaves the notebook as it was")
		})
	}
	nb := withParameters(declared)
	err := nb.Inject([]Setting{{"nope", "1"}, {"rounds", "x"}, {"full", "true"}, {"full", "true"}})
	require.ErrorContains(t, err, "nope")
	require.ErrorContains(t, err, "rounds")
	require.ErrorContains(t, err, "set twice")
	nb.Cells[2].Tags = []string{"parameters"}
	require.ErrorContains(t, nb.Inject([]Setting{{"full", "true"}}), "cells 2 and 3 are both tagged")
	none := &Notebook{Name: "n.ipynb", Cells: []Cell{{Type: "code"}}}
	require.ErrorContains(t, none.Inject([]Setting{{"a", "1"}}), "this notebook has no parameters")
}
