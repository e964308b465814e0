package mixed_test

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mixed"
)

const dir = "../../testdata/mixed/"

// number reads JSON numbers and the texts "Inf", "NaN", "NA" that stand for what JSON cannot hold.
type number float64

func (n *number) UnmarshalJSON(b []byte) error {
	s := string(b)
	if s == `"NA"` {
		s = `"NaN"`
	}
	if u, err := strconv.Unquote(s); err == nil {
		s = u
	}
	v, err := strconv.ParseFloat(s, 64)
	*n = number(v)
	return err
}

func readJSON(t testing.TB, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(dir + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// readTable reads a data file; the columns named are labels, the others numbers.
func readTable(t testing.TB, name string, labels ...string) *mixed.Table {
	t.Helper()
	return readRows(t, name, nil, labels...)
}

// readRows is readTable of the rows for which keep holds, nil for all.
func readRows(t testing.TB, name string, keep func(row map[string]string) bool, labels ...string) *mixed.Table {
	t.Helper()
	file, err := os.Open(dir + name + ".csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	heads := rows[0]
	var columns []mixed.Column
	for j, head := range heads {
		var text []string
		for _, row := range rows[1:] {
			m := map[string]string{}
			for k, cell := range row {
				m[heads[k]] = cell
			}
			if keep == nil || keep(m) {
				text = append(text, row[j])
			}
		}
		if slices.Contains(labels, head) {
			columns = append(columns, mixed.Labels(head, text))
			continue
		}
		values := make([]float64, len(text))
		numbers := true
		for i, s := range text {
			if values[i], err = strconv.ParseFloat(s, 64); err != nil {
				numbers = false
			}
		}
		if numbers {
			columns = append(columns, mixed.Numbers(head, values))
		} else {
			columns = append(columns, mixed.Labels(head, text))
		}
	}
	return table(t, columns...)
}

func table(t testing.TB, columns ...mixed.Column) *mixed.Table {
	t.Helper()
	out, err := mixed.NewTable(columns...)
	require.NoError(t, err)
	return out
}

func fit(t testing.TB, s mixed.Spec, data *mixed.Table) *mixed.Fit {
	t.Helper()
	f, err := s.Fit(data)
	require.NoError(t, err)
	return f
}

func terms(list ...mixed.Term) []mixed.Term { return list }

func by(list ...mixed.Term) mixed.Term { return mixed.Interaction{Of: list} }

func num(name string) mixed.Term { return mixed.Numeric{Name: name} }

func fac(name string) mixed.Term { return mixed.Factor{Name: name} }

func over(group string, slopes ...mixed.Term) mixed.Random {
	return mixed.Random{Group: []string{group}, Slopes: slopes}
}
