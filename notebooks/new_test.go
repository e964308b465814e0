package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
)

// call runs a verb and gives what it said.
func call(t *testing.T, verb command, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	var out, bad bytes.Buffer
	code = verb(context.Background(), args, &out, &bad)
	return out.String(), bad.String(), code
}

// edit changes every row of a CSV file below its header, cells by column.
func edit(t *testing.T, file string, change func(map[string]string)) {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.NoError(t, f.Close())
	for _, row := range rows[1:] {
		cells := map[string]string{}
		for i, name := range rows[0] {
			cells[name] = row[i]
		}
		change(cells)
		for i, name := range rows[0] {
			row[i] = cells[name]
		}
	}
	var buf bytes.Buffer
	require.NoError(t, csv.NewWriter(&buf).WriteAll(rows))
	require.NoError(t, os.WriteFile(file, buf.Bytes(), 0o644))
}

// A blank evening is checked without a fault, filled in by program, and answered.
func TestNewEvening(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "thursday")
	said, bad, code := call(t, newCommand, dir, "-style", "sour", "-tasters", "5")
	require.Equal(t, 0, code, bad)
	require.Contains(t, said, "a blank evening of sour, 5 tasters, 8 rounds")
	require.Contains(t, said, "driving")
	require.Contains(t, said, "local food codes come first")

	said, bad, code = call(t, checkCommand, dir)
	require.Equal(t, 0, code, bad)
	require.Contains(t, strings.Join(strings.Fields(said), " "), "tastes.csv: nothing was tasted yet; 40 rows wait for a score, a verdict")
	require.NotContains(t, said, "pours.csv, line", "no wall of doubts")
	said, bad, code = call(t, answerCommand, dir)
	require.Equal(t, 0, code, bad)
	require.Contains(t, said, "0 tastes")

	batches := map[string]int{}
	edit(t, filepath.Join(dir, "pours.csv"), func(row map[string]string) {
		batches[row["batch"]]++
		row["volume_ml"], row["made_at"] = "120", "21:30:00"
	})
	require.Equal(t, map[string]int{"1": 2, "2": 2, "3": 1}, batches, "two glasses a shake")
	first := ""
	edit(t, filepath.Join(dir, "tastes.csv"), func(row map[string]string) {
		if first == "" {
			first = row["taster"]
			return
		}
		var age int
		_, err := fmt.Sscan(row["planned_age_min"], &age)
		require.NoError(t, err)
		limit := 7 + int(row["taster"][0]-'A') // A goes on to 7 min, E to 11
		row["tasted_at"] = fmt.Sprintf("21:%d:10", 30+age)
		row["verdict"], row["liking"] = "yes", fmt.Sprint(max(0, 10-age))
		if age > limit {
			row["verdict"], row["why"] = "no", "drink"
		}
	})
	require.Equal(t, "EXAMPLE", first)
	study, err := analysis.Open(dir)
	require.NoError(t, err)
	require.Equal(t, []string{"A", "B", "C", "D", "E"}, study.Tasters())
	data, err := study.Data()
	require.NoError(t, err)
	require.Equal(t, 40, data.Counts.RowsUsed)
	require.Equal(t, 3, data.Counts.Batches)
	life, err := study.Lifetime("sour")
	require.NoError(t, err)
	require.Equal(t, 5, life.Counts.Tasters)
	act, err := study.ServeBy("sour")
	require.NoError(t, err)
	require.True(t, act.Act.Finite())
	require.LessOrEqual(t, act.Act.Float(), 10.2, "before the last taster's limit")
	require.Greater(t, act.Act.Float(), 0.0)

	_, bad, code = call(t, newCommand, dir, "-style", "sour", "-tasters", "5")
	require.Equal(t, 1, code)
	require.Contains(t, bad, "holds files already")
	again, err := analysis.Open(dir)
	require.NoError(t, err, "nothing was written over")
	require.Equal(t, study.Tasters(), again.Tasters())
}

func TestNewIntoAnEmptyFolder(t *testing.T) {
	dir := t.TempDir()
	_, bad, code := call(t, newCommand, "-tasters", "30", dir, "-style", "  tall,   \"long\" drink ")
	require.Equal(t, 0, code, bad)
	edit(t, filepath.Join(dir, "tastes.csv"), func(row map[string]string) { row["verdict"] = "yes" })
	study, err := analysis.Open(dir)
	require.NoError(t, err)
	require.Equal(t, []string{`tall, "long" drink`}, study.Styles())
	require.Len(t, study.Tasters(), 30)
	require.Contains(t, study.Tasters(), "AD")
}

func TestNewWrongUse(t *testing.T) {
	for _, args := range [][]string{{}, {"-style", "sour", "-tasters", "5"}, {"x"}, {"x", "-style", "sour"}, {"x", "-tasters", "5"}, {"x", "-style", " ", "-tasters", "5"},
		{"x", "-style", "sour", "-tasters", "0"}, {"x", "-style", "sour", "-tasters", "101"}, {"x", "y", "-style", "sour", "-tasters", "5"}, {"x", "-style", "sour", "-tasters", "many"}} {
		t.Chdir(t.TempDir())
		_, bad, code := call(t, newCommand, args...)
		require.Equal(t, 2, code, args)
		require.Contains(t, bad, "go run ./notebooks new my-evening", args)
		left, err := os.ReadDir(".")
		require.NoError(t, err)
		require.Empty(t, left)
	}
	said, _, code := call(t, newCommand, "-h")
	require.Equal(t, 0, code)
	require.Contains(t, said, "-tasters N")
}

// check -long writes a wide table in the long form, from a folder or a single file, and never over anything.
func TestCheckLong(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "late.csv")
	require.NoError(t, os.WriteFile(file, []byte("taster,style,2,4,6\nann,sour,yes,yes,no\nbob,sour,yes,no,\ncat,sour,yes,yes,yes\n"), 0o644))
	out := filepath.Join(dir, "long")
	said, bad, code := call(t, checkCommand, file, "-long", out)
	require.Equal(t, 0, code, bad)
	require.Contains(t, said, "wrote "+out)
	raw, err := os.ReadFile(filepath.Join(out, "tastes.csv"))
	require.NoError(t, err)
	require.Equal(t, "taster,style,pour,mode,age_min,verdict\nann,sour,glass 1,sip_through,2,yes\n", string(raw[:len("taster,style,pour,mode,age_min,verdict\nann,sour,glass 1,sip_through,2,yes\n")]))
	a, err := analysis.Open(file)
	require.NoError(t, err)
	b, err := analysis.Open(out)
	require.NoError(t, err)
	one, err := a.Lifetime("sour")
	require.NoError(t, err)
	two, err := b.Lifetime("sour")
	require.NoError(t, err)
	require.Equal(t, one.Rows, two.Rows, "the long form gives the same answers")
	_, bad, code = call(t, checkCommand, file, "-long", out)
	require.Equal(t, 1, code)
	require.Contains(t, bad, "holds files already")
	_, bad, code = call(t, checkCommand, file, "demo:sour-evening", "-long", filepath.Join(dir, "two"))
	require.Equal(t, 1, code)
	require.Contains(t, bad, "one session")
}
