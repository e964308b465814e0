package analysis_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// room says on which floor a package lives and what it may import besides the standard library. Paths are relative to the
// module; "third:" marks a module of others (its prefix). Floors above may import floors below, within these lists.
type room struct {
	floor int
	may   []string
}

const (
	gonum  = "third:gonum.org/v1/gonum"
	plot   = "third:gonum.org/v1/plot"
	gota   = "third:github.com/go-gota/gota"
	gonbui = "third:github.com/janpfeifer/gonb/gonbui"
	tests  = "third:github.com/stretchr/testify"
	zmq    = "third:github.com/go-zeromq/zmq4"
	md     = "third:github.com/yuin/goldmark"
	clean  = "third:github.com/microcosm-cc/bluemonday"
)

// up lists floors as path prefixes.
func up(lists ...[]string) []string { return slices.Concat(lists...) }

var (
	floor0  = []string{"analysis/dataerr", "analysis/safefile", "analysis/internal/binomial", "analysis/internal/likelihood", "analysis/internal/resample", "analysis/internal/link", "analysis/internal/rank", "analysis/internal/reply"}
	floor1  = []string{"analysis/panel", "analysis/design", "analysis/multiplicity"}
	floor2  = []string{"analysis/survival", "analysis/threshold", "analysis/mixed", "analysis/agreement", "analysis/choice", "analysis/ranking", "analysis/kinetics", "analysis/plan"}
	floor3  = []string{"analysis/panelcsv", "analysis/endpoint", "analysis/simulate", "analysis/serve"}
	floor4  = []string{"analysis/answer"}
	floor5  = []string{"analysis", "analysis/figure", "analysis/report"}
	inNotes = []string{"notebooks/internal/jupyter", "notebooks/internal/nbformat", "notebooks/internal/kernel", "notebooks/internal/execute", "notebooks/internal/page", "notebooks/internal/folder"}
)

// house is the table of the design. An estimator's own internal kernels count as part of the estimator.
var house = map[string]room{
	"analysis/dataerr":             {0, nil},
	"analysis/safefile":            {0, nil},
	"analysis/mathtest":            {0, []string{tests}},
	"analysis/golden":              {0, []string{tests}},
	"analysis/internal/binomial":   {0, []string{gonum}},
	"analysis/internal/likelihood": {0, []string{gonum}},
	"analysis/internal/resample":   {0, []string{gonum}},
	"analysis/internal/reply":      {0, []string{gonum, "analysis/internal/likelihood"}},
	"analysis/multiplicity":        {1, up(floor0, []string{gonum})},
	"datasets":                     {0, nil},
	"datasets/make":                {3, without(up(floor0, floor1, floor2, floor3), "analysis/internal/")},
	"analysis/panel":               {1, []string{"analysis/dataerr"}},
	"analysis/survival":            {2, up(floor0, []string{gonum, "analysis/multiplicity"})},
	"analysis/mixed":               {2, up(floor0, []string{gonum, "analysis/multiplicity"})},
	"analysis/panelcsv":            {3, []string{"analysis/panel", "analysis/dataerr", "analysis/safefile", gota}},
	"analysis/endpoint":            {3, up([]string{"analysis/panel", "analysis/dataerr"}, floor2)},
	"analysis/simulate":            {3, []string{"analysis/panel", "analysis/dataerr", gonum}},
	"analysis/answer":              {4, up(floor0, floor1, floor2, floor3)},
	"analysis":                     {5, up(floor0, floor1, floor2, floor3, floor4, []string{"datasets"})},
	"analysis/figure":              {5, up(floor0, floor1, floor2, floor3, floor4, []string{plot})},
	"analysis/report":              {5, up(floor0, floor1, floor2, floor3, floor4)},
	"notebooks/show":               {6, without(up([]string{"analysis", "analysis/report", gonbui}, floor0, floor1, floor2, floor3, floor4), "analysis/internal/")},
	"notebooks":                    {7, without(up(floor0, floor1, floor2, floor3, floor4, floor5, inNotes), "analysis/internal/")},
	"notebooks/internal":           {7, up(inNotes, []string{zmq, md, clean})},
}

func without(list []string, prefix string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(s string) bool { return strings.HasPrefix(s, prefix) })
}

// oneImporter names the packages of others that have a single importer in the house.
var oneImporter = map[string]string{gota: "analysis/panelcsv", plot: "analysis/figure", gonbui: "notebooks/show", zmq: "notebooks/internal"}

// TestImportsGoDown reads the imports of every source file and compares them with the table. Tests may look up to
// everything; code may not.
func TestImportsGoDown(t *testing.T) {
	var seen []string
	for _, top := range []string{"analysis", "notebooks", "datasets"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
				return err
			}
			rel := strings.TrimPrefix(filepath.ToSlash(name), "../")
			pkg := homeOf(path.Dir(rel))
			rules, ok := house[pkg]
			require.True(t, ok, "%s: package %s has no room in the house: add it to the table of the design first", rel, path.Dir(rel))
			if !slices.Contains(seen, pkg) {
				seen = append(seen, pkg)
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
			require.NoError(t, err)
			for _, spec := range file.Imports {
				target, err := strconv.Unquote(spec.Path.Value)
				require.NoError(t, err)
				if why := forbidden(pkg, rules, target); why != "" {
					t.Errorf("%s imports %q: %s", rel, target, why)
				}
			}
			return nil
		})
		require.NoError(t, err)
	}
	for pkg := range house {
		require.Contains(t, seen, pkg, "the table names a package that does not exist")
	}
}

// homeOf maps a package's kernels to the package itself.
func homeOf(dir string) string {
	if strings.HasPrefix(dir, "notebooks/internal/") {
		return "notebooks/internal"
	}
	if strings.HasPrefix(dir, "analysis/internal/") {
		return dir
	}
	before, _, _ := strings.Cut(dir, "/internal/")
	return before
}

// forbidden says why an import breaks the table; empty when it is allowed.
func forbidden(pkg string, rules room, target string) string {
	if strings.HasPrefix(target, "lastsip/") || target == "lastsip" {
		target = strings.TrimPrefix(target, "lastsip/")
		home := homeOf(target)
		if home == pkg || slices.Contains(rules.may, target) || slices.Contains(rules.may, home) {
			return ""
		}
		return "not in the table for " + pkg
	}
	if !strings.Contains(strings.Split(target, "/")[0], ".") {
		return "" // standard library
	}
	for third, owner := range oneImporter {
		if prefix := strings.TrimPrefix(third, "third:"); (target == prefix || strings.HasPrefix(target, prefix+"/")) && pkg != owner {
			return "only " + owner + " imports " + prefix
		}
	}
	for _, m := range rules.may {
		prefix, ok := strings.CutPrefix(m, "third:")
		if ok && (target == prefix || strings.HasPrefix(target, prefix+"/")) {
			return ""
		}
	}
	return "not in the table for " + pkg
}

// TestForbidden breaks the table on purpose.
func TestForbidden(t *testing.T) {
	for _, tt := range []struct{ pkg, target, reason string }{
		{"analysis/survival", "lastsip/analysis/panel", "an estimator must not know drinks"},
		{"analysis/survival", "lastsip/analysis/endpoint", "imports go down"},
		{"analysis/report", "lastsip/analysis/figure", "siblings never import each other"},
		{"analysis/answer", "github.com/go-gota/gota/dataframe", "gota has one importer"},
		{"analysis", "gonum.org/v1/plot", "cells must link fast"},
		{"notebooks/show", "lastsip/analysis/figure", "cells must link fast"},
		{"notebooks", "lastsip/analysis/internal/binomial", "internal to analysis"},
		{"notebooks/internal", "lastsip/analysis/answer", "the notebook machinery knows nothing of drinks"},
		{"datasets", "lastsip/analysis/panel", "the demo imports nothing"},
	} {
		require.NotEmpty(t, forbidden(tt.pkg, house[tt.pkg], tt.target), "%s importing %s: %s", tt.pkg, tt.target, tt.reason)
	}
	require.Empty(t, forbidden("analysis/survival", house["analysis/survival"], "lastsip/analysis/internal/binomial"))
}
