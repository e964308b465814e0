package lmm

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// frame is a CSV file by columns.
type frame map[string][]string

func readFrame(t testing.TB, file string) frame {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := frame{}
	for c, name := range rows[0] {
		for _, r := range rows[1:] {
			out[name] = append(out[name], r[c])
		}
	}
	return out
}

func testdata(t testing.TB, name string) frame {
	return readFrame(t, "../../../../testdata/mixed/"+name+".csv")
}

func (f frame) number(t testing.TB, name string) []float64 {
	t.Helper()
	require.Contains(t, f, name)
	out := make([]float64, len(f[name]))
	for i, s := range f[name] {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		out[i] = v
	}
	return out
}

// levels joins columns to labels, sorts them and gives each row its level.
func (f frame) levels(t testing.TB, names ...string) ([]int, []string) {
	t.Helper()
	var label []string
	for i := range f[names[0]] {
		var parts []string
		for _, n := range names {
			require.Contains(t, f, n)
			parts = append(parts, f[n][i])
		}
		label = append(label, strings.Join(parts, ":"))
	}
	distinct := slices.Clone(label)
	slices.Sort(distinct)
	distinct = slices.Compact(distinct)
	level := make([]int, len(label))
	for i, l := range label {
		level[i], _ = slices.BinarySearch(distinct, l)
	}
	return level, distinct
}

// fixed builds columns in treatment coding: "1", numbers, factor names (f:NAME), products a*b (main effects stand apart).
func (f frame) fixed(t testing.TB, n int, spec ...string) [][]float64 {
	t.Helper()
	var out [][]float64
	for _, s := range spec {
		cols := [][]float64{ones(n)}
		for _, part := range strings.Split(s, "*") {
			var next [][]float64
			for _, by := range f.part(t, n, part) {
				for _, c := range cols {
					prod := make([]float64, n)
					for i := range prod {
						prod[i] = c[i] * by[i]
					}
					next = append(next, prod)
				}
			}
			cols = next
		}
		out = append(out, cols...)
	}
	return out
}

func (f frame) part(t testing.TB, n int, part string) [][]float64 {
	if part == "1" {
		return [][]float64{ones(n)}
	}
	name, factor := strings.CutPrefix(part, "f:")
	if !factor {
		return [][]float64{f.number(t, name)}
	}
	level, labels := f.levels(t, name)
	var out [][]float64
	for k := 1; k < len(labels); k++ {
		out = append(out, indicator(level, k))
	}
	return out
}

func ones(n int) []float64 { return slices.Repeat([]float64{1}, n) }

func indicator(level []int, k int) []float64 {
	out := make([]float64, len(level))
	for i, l := range level {
		if l == k {
			out[i] = 1
		}
	}
	return out
}

// grouped is a term over the levels of one or several columns.
func (f frame) grouped(t testing.TB, independent bool, columns [][]float64, names ...string) Term {
	level, labels := f.levels(t, names...)
	return Term{Levels: len(labels), Level: level, Columns: columns, Independent: independent}
}
