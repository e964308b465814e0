package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// run plays a verb.
func play(t *testing.T, args ...string) (code int, out, bad string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = dispatch(context.Background(), args, &stdout, &stderr)
	return code, stdout.String(), stderr.String()
}

func TestAnswerWritesItsFiles(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "answers")
	code, out, bad := play(t, "answer", "demo:sour-evening", "-out", dir)
	require.Equal(t, 0, code, bad)
	require.Contains(t, out, "Good for 2 minutes")
	require.Contains(t, out, "Liveliness goes first: by 9.1 min")
	require.NotContains(t, out, "\x1b", "no colour where there is no terminal")
	for _, line := range strings.Split(out, "\n") {
		require.LessOrEqual(t, len([]rune(line)), 80+len(dir), line)
	}
	page, err := os.ReadFile(filepath.Join(dir, "answer.html"))
	require.NoError(t, err)
	require.Contains(t, string(page), "<h1")
	require.Contains(t, string(page), "Liveliness goes first")
	require.Equal(t, 2, strings.Count(string(page), `data-lastsip="figure"`), "wide and narrow ribbon")
	var rows []map[string]any
	list, err := os.ReadFile(filepath.Join(dir, "results.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(list, &rows))
	table, err := os.ReadFile(filepath.Join(dir, "results.csv"))
	require.NoError(t, err)
	require.Equal(t, strings.Count(string(table), "\n")-1, len(rows), "both hold the same rows")
	require.Contains(t, string(table), "goes_first,,sour,coupe,coldness,")
	require.Contains(t, string(table), "prime_window,,sour,coupe,liking,,,at_least_until,spline,,2.169")
	require.Contains(t, string(table), "difference,,sour,coupe,liking,,3.1")

	code, out, _ = play(t, "diff", dir, dir)
	require.Equal(t, 0, code)
	require.Contains(t, out, "agree in every number")
	changed := strings.Replace(string(table), "serve_by,,sour", "serve_by,,sauer", 1)
	other := filepath.Join(t.TempDir(), "other.csv")
	require.NoError(t, os.WriteFile(other, []byte(changed), 0o644))
	code, out, _ = play(t, "diff", dir, other)
	require.Equal(t, 1, code)
	require.Contains(t, out, "only in the first")
}

func TestWrongUse(t *testing.T) {
	for _, args := range [][]string{{"answer"}, {"check"}, {"diff", "a"}, {"answer", "-nonsense", "x"}, {"nonsense"}} {
		code, _, bad := play(t, args...)
		require.Equal(t, 2, code, "%v", args)
		require.NotEmpty(t, bad)
	}
	for _, verb := range []string{"answer", "check", "diff", "run", "new", "kernel"} {
		code, out, _ := play(t, verb, "-h")
		require.Equal(t, 0, code)
		require.Contains(t, out, "Example", verb)
	}
	for _, verb := range []string{"answer", "check"} {
		code, _, bad := play(t, verb, filepath.Join(t.TempDir(), "nowhere"))
		require.Equal(t, 1, code)
		require.Contains(t, bad, "nowhere")
		require.Contains(t, bad, "tastes.csv")
	}
}

func TestCheckTellsFindingsAndFaults(t *testing.T) {
	code, out, _ := play(t, "check", "demo:sour-evening")
	require.Equal(t, 0, code)
	require.Contains(t, out, "A = Ada")
	require.Contains(t, out, "line 17, column coldness")
	code, _, bad := play(t, "check", "../testdata/badinput/negative-age")
	require.Equal(t, 1, code)
	require.Contains(t, bad, "negative-age/tastes.csv, line")
}
