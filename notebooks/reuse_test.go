package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// copiedRepo is a copy of the checkout's sources, for tests that change them.
func copiedRepo(t *testing.T) string {
	t.Helper()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(t, err)
	to := t.TempDir()
	for _, dir := range []string{"analysis", "datasets", "notebooks"} {
		require.NoError(t, os.CopyFS(filepath.Join(to, dir), os.DirFS(filepath.Join(repo, dir))))
	}
	for _, f := range []string{"go.mod", "go.sum"} {
		b, err := os.ReadFile(filepath.Join(repo, f))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(to, f), b, 0o644))
	}
	return to
}

func appendTo(t *testing.T, path, text string) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(b, text...), 0o644))
}

func exchange(t *testing.T, path, old, new string) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Contains(t, string(b), old)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(b), old, new, 1)), 0o644))
}

func codeCell(source string) nbformat.Cell { return nbformat.Cell{Type: "code", Source: source} }

// Whatever can change a notebook's outputs changes its key, and nothing else does.
func TestKeys(t *testing.T) {
	t.Parallel()
	repo, session := copiedRepo(t), filepath.Join(t.TempDir(), "evening")
	require.NoError(t, os.CopyFS(session, os.DirFS("../datasets/sour-evening")))
	const parameters = "const style = \"sour\""
	names, last := "letters", codeCell("%%\nshow.Say(show.Study().MustLifetime(style))")
	keys := func() (a, b string) {
		t.Helper()
		r := &runner{repo: repo, names: names}
		jobs := []*job{
			{name: "a", nb: &nbformat.Notebook{Name: "a.ipynb", Cells: []nbformat.Cell{codeCell(parameters), codeCell("import \"lastsip/analysis\"\n%%\nstudy := analysis.MustOpen(show.Sessions()...)\nshow.Opened(study)"), last}}},
			{name: "b", nb: &nbformat.Notebook{Name: "b.ipynb", Cells: []nbformat.Cell{codeCell("%%\nfmt.Println(simulate.Evening{})")}}},
		}
		require.NoError(t, r.setKeys(context.Background(), []string{session, "demo:stirred-evening"}, jobs))
		require.Empty(t, jobs[0].fresh+jobs[1].fresh)
		return jobs[0].key, jobs[1].key
	}
	for _, tt := range []struct {
		what   string
		change func()
		a, b   bool // whether the key changes
	}{
		{"nothing", func() {}, false, false},
		{"a package that both use", func() { appendTo(t, filepath.Join(repo, "analysis/survival/doc.go"), "\n// changed\n") }, true, true},
		{"one letter of a package", func() { exchange(t, filepath.Join(repo, "analysis/survival/doc.go"), "// changed", "// chanted") }, true, true},
		{"a package that b alone names, without an import", func() { appendTo(t, filepath.Join(repo, "analysis/simulate/doc.go"), "\n// changed\n") }, false, true},
		{"what is built into a package", func() { appendTo(t, filepath.Join(repo, "datasets/stirred-evening/tastes.csv"), "\n") }, true, true},
		{"a test", func() { appendTo(t, filepath.Join(repo, "analysis/imports_test.go"), "\n// changed\n") }, false, false},
		{"the pages, which are made anew anyway", func() { appendTo(t, filepath.Join(repo, "notebooks/internal/page/page.go"), "\n// changed\n") }, false, false},
		{"the drawing", func() { appendTo(t, filepath.Join(repo, "notebooks/draw.go"), "\n// changed\n") }, true, true},
		{"how cells are run", func() { appendTo(t, filepath.Join(repo, "notebooks/internal/jupyter/doc.go"), "\n// changed\n") }, true, true},
		{"the pinned versions", func() { appendTo(t, filepath.Join(repo, "go.sum"), "\n") }, true, true},
		{"the data", func() { appendTo(t, filepath.Join(session, "tastes.csv"), "\n") }, true, true},
		{"one digit of the data", func() { exchange(t, filepath.Join(session, "tastes.csv"), "0.95", "0.85") }, true, true},
		{"a new file beside the data", func() { require.NoError(t, os.WriteFile(filepath.Join(session, "readings.csv"), nil, 0o644)) }, true, true},
		{"names", func() { names = "real" }, true, true},
		{"the notebook", func() { last.Source += " " }, true, false},
		{"outputs that it was saved with", func() { last.Outputs = []nbformat.Output{{Type: "stream", Name: "stdout", Text: "x"}} }, false, false},
	} {
		beforeA, beforeB := keys()
		tt.change()
		a, b := keys()
		require.Equal(t, tt.a, a != beforeA, "%s: notebook a", tt.what)
		require.Equal(t, tt.b, b != beforeB, "%s: notebook b", tt.what)
	}
	appendTo(t, filepath.Join(repo, "go.mod"), "\nreplace github.com/x/y => ../y\n")
	jobs := []*job{{name: "a", nb: &nbformat.Notebook{}}}
	require.NoError(t, (&runner{repo: repo}).setKeys(context.Background(), nil, jobs))
	require.Contains(t, jobs[0].fresh, "go.mod replaces a module by a folder")
	require.Empty(t, jobs[0].key)
}

// Parameters that are set stand in a cell, and so in the key.
func TestParametersChangeTheKey(t *testing.T) {
	t.Parallel()
	repo, err := kernel.FindRepo(".", "lastsip")
	require.NoError(t, err)
	r := &runner{repo: repo, notebooks: notebookFolder(t)}
	jobs, err := r.jobs(demo(t))
	require.NoError(t, err)
	require.NoError(t, r.setKeys(context.Background(), nil, jobs))
	seen := map[string]bool{}
	for _, j := range jobs {
		require.Len(t, j.key, 64)
		seen[j.key] = true
	}
	require.Len(t, seen, len(jobs))
}

func TestNotebooksThatReachOutsideRunEachTime(t *testing.T) {
	for _, tt := range []struct{ code, why string }{
		{"import (\n\t\"fmt\"\n\t\"lastsip/analysis\"\n\t\"gonum.org/v1/gonum/stat\"\n)\n%%\nfmt.Println(stat.Mean(nil, nil), math.Pi)", ""},
		{"import \"lastsip/analysis\"\n%%\nstudy := analysis.MustOpen(show.Sessions()...)\nlife := study.MustLifetime(style)", ""},
		{"%%\nrng := rand.New(rand.NewPCG(1, 2))\nfmt.Println(rng.Float64(), 3*time.Minute)", ""},
		{"// os.ReadFile is not called\nconst s = \"os.ReadFile\"", ""},
		{"%%\nstudy := analysis.MustOpen(\"my-evening\")", "cell 1 opens sessions of its own"},
		{"%%\nstudy := analysis.MustOpen(append(show.Sessions(), \"more\")...)", "cell 1 opens sessions of its own"},
		{"var open = analysis.Open\n", "cell 1 opens sessions of its own"},
		{"%%\nb, _ := os.ReadFile(\"x\")", "cell 1 uses os.ReadFile"},
		{"%%\nfmt.Println(time.Now())", "cell 1 uses time.Now"},
		{"%%\nfmt.Println(rand.IntN(3))", "cell 1 uses rand.IntN"},
		{"%%\nvar n int\nfmt.Scan(&n)", "cell 1 uses fmt.Scan"},
		{"import \"os\"", `cell 1 imports "os"`},
		{"import \"math/rand\"", `cell 1 imports "math/rand"`},
		{"import \"lastsip/mine\"", `cell 1 imports "lastsip/mine"`},
		{"import f \"fmt\"", "cell 1 renames an import"},
		{"import (\n\t. \"fmt\"\n)", "cell 1 renames an import"},
		{"!date", `cell 1 has a line for the kernel or a shell, "!date"`},
		{"%cd ..", `cell 1 has a line for the kernel or a shell, "%cd .."`},
	} {
		nb := &nbformat.Notebook{Cells: []nbformat.Cell{{Type: "code", Source: tt.code}}}
		_, why := ownInputs(nb)
		require.Equal(t, tt.why, why, tt.code)
	}
	got, why := ownInputs(&nbformat.Notebook{Cells: []nbformat.Cell{{Type: "code", Source: "x", Tags: []string{nbformat.TagInjected}}, {Type: "markdown"}, codeCell("import \"sort\"\n%%\nreport.CannotSay(a.b.c)")}})
	require.Empty(t, why)
	require.Equal(t, &named{imports: []string{"sort"}, qualifiers: []string{"report", "a"}}, got)
}

func TestKeptNotebooks(t *testing.T) {
	r := &runner{cache: filepath.Join(t.TempDir(), "deep", "kept")}
	nb := &nbformat.Notebook{Name: "n.ipynb", Cells: []nbformat.Cell{{ID: "c", Type: "code", Source: "1", Outputs: []nbformat.Output{{Type: "display_data", Data: map[string]any{"image/svg+xml": "<svg>\n</svg>", rowsType: []any{map[string]any{"value": 0.1}}}}}}}}
	j := &job{name: "n", key: "abc", nb: nb}
	require.False(t, r.load(j))
	require.NoError(t, r.keep(j))
	want, err := nbformat.Encode(nb)
	require.NoError(t, err)
	again := &job{name: "n", key: "abc", nb: &nbformat.Notebook{Name: "n.ipynb"}}
	require.True(t, r.load(again))
	got, err := nbformat.Encode(again.nb)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
	require.Equal(t, "n.ipynb", again.nb.Name)
	require.Empty(t, r.recall([]*job{again}))
	r.force = true
	require.Len(t, r.recall([]*job{again}), 1)

	path := filepath.Join(r.cache, "abc.ipynb")
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, damaged := range [][]byte{whole[:len(whole)-2], bytes.Replace(whole, []byte("0.1"), []byte("0.2"), 1), nil} {
		require.NoError(t, os.WriteFile(path, damaged, 0o644))
		require.False(t, r.load(again), "a damaged file is as good as none")
	}

	for n := range 5 {
		f := filepath.Join(r.cache, fmt.Sprintf("%d.ipynb", n))
		require.NoError(t, os.WriteFile(f, nil, 0o644))
		when := time.Unix(int64(1000+n), 0)
		require.NoError(t, os.Chtimes(f, when, when))
	}
	require.NoError(t, sweep(r.cache, 3))
	left, err := filepath.Glob(filepath.Join(r.cache, "*"))
	require.NoError(t, err)
	require.Equal(t, []string{filepath.Join(r.cache, "3.ipynb"), filepath.Join(r.cache, "4.ipynb"), path}, left)
}
