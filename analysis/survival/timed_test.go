package survival_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// table is a matrix of a reference entry.
type table struct {
	Rows, Cols []string
	X          [][]number
}

// at gives the cell in the row and column of these names.
func (m table) at(t *testing.T, row, col string) float64 {
	t.Helper()
	for i, r := range m.Rows {
		for j, c := range m.Cols {
			if r == row && c == col {
				return float64(m.X[i][j])
			}
		}
	}
	t.Fatalf("no cell %s, %s in %v, %v", row, col, m.Rows, m.Cols)
	return 0
}

// byGroup reads a table, or an object that stands for its only row, named "all".
type byGroup struct{ table }

func (b *byGroup) UnmarshalJSON(raw []byte) error {
	if err := json.Unmarshal(raw, &b.table); err == nil && b.X != nil {
		return nil
	}
	flat := map[string]number{}
	if err := json.Unmarshal(raw, &flat); err != nil {
		return err
	}
	b.table = table{Rows: []string{"all"}, X: [][]number{nil}}
	for name, v := range flat {
		b.Cols, b.X[0] = append(b.Cols, name), append(b.X[0], v)
	}
	return nil
}

type timedEntry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             json.RawMessage
	Tolerance                          struct{ Rel, Abs float64 }
}

func (e timedEntry) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

// near holds a number against one of the entry, at the entry's tolerance.
func (e timedEntry) near(t *testing.T, what string, got, want float64) {
	t.Helper()
	mathtest.CloseRel(t, what, got, want, e.Tolerance.Abs, e.Tolerance.Rel, e.source())
}

// eachTimed runs check for every entry of a file.
func eachTimed(t *testing.T, name string, entries int, check func(t *testing.T, e timedEntry)) {
	t.Helper()
	var all []timedEntry
	readJSON(t, name, &all)
	require.Len(t, all, entries)
	for _, e := range all {
		t.Run(e.ID, func(t *testing.T) { check(t, e) })
	}
}

// timed reads the rows of a group such as "sex=1"; "all" takes every row.
func timed(t *testing.T, file, group string) []survival.Timed {
	t.Helper()
	column, value, _ := strings.Cut(group, "=")
	var rows []survival.Timed
	for _, row := range readCSV(t, file+".csv") {
		if group == "all" || row[column] == value {
			rows = append(rows, survival.Timed{Time: parse(t, row["time"]), Event: row["event"] == "1"})
		}
	}
	require.NotEmpty(t, rows)
	return rows
}

// timedGroups reads all rows with their group, the column named in groups such as "sex=1", and the numbers of another column.
func timedGroups(t *testing.T, file string, groups []string, stratum string) (rows []survival.Timed, group, strata []int) {
	t.Helper()
	for _, row := range readCSV(t, file+".csv") {
		for g, name := range groups {
			if column, value, _ := strings.Cut(name, "="); row[column] == value {
				rows = append(rows, survival.Timed{Time: parse(t, row["time"]), Event: row["event"] == "1"})
				group = append(group, g)
				if stratum != "" {
					s, err := strconv.Atoi(row[stratum])
					require.NoError(t, err)
					strata = append(strata, s)
				}
			}
		}
	}
	require.NotEmpty(t, rows)
	return rows, group, strata
}

// inventedTimes gives n rows with many ties or none, in k groups and causes 0 to 2.
func inventedTimes(rng *rand.Rand, n, k int, ties bool) (rows []survival.Timed, caused []survival.Caused, group []int) {
	for i := range n {
		at := 10 * rng.ExpFloat64()
		if ties {
			at = math.Ceil(at / 3)
		}
		cause := rng.IntN(3)
		rows = append(rows, survival.Timed{Time: at, Event: cause > 0})
		caused = append(caused, survival.Caused{Time: at, Cause: cause})
		group = append(group, i%k)
	}
	return rows, caused, group
}

// kaplanMeier fits with default settings.
func kaplanMeier(t *testing.T, rows []survival.Timed, weights []float64) *survival.KaplanMeierFit {
	t.Helper()
	f, err := survival.KaplanMeier{}.FitWeighted(rows, weights)
	require.NoError(t, err)
	return f
}
