package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/dataerr"
)

func results(t *testing.T, rows ...answer.Row) *bytes.Buffer {
	t.Helper()
	var buf bytes.Buffer
	require.NoError(t, ResultsCSV(&buf, rows))
	return &buf
}

func TestDiff(t *testing.T) {
	a, b := row("sour", "q50", -1, 7), row("sour", "q50", -1, 7.25)
	old, added := row("old", "q50", -1, 1), row("new", "q50", -1, 1)
	got, err := Diff(results(t, a, old), results(t, b, added), "a", "b")
	require.NoError(t, err)
	var said []string
	for _, c := range got {
		said = append(said, c.String())
	}
	require.Equal(t, []string{
		"lifetime new q50 turnbull: only in the second",
		"lifetime old q50 turnbull: only in the first",
		"lifetime sour q50 turnbull: value 7, then 7.25 (+0.25)",
	}, said)
	got, err = Diff(results(t, a, old), results(t, old, a), "a", "b")
	require.NoError(t, err)
	require.Empty(t, got)
}

func TestDiffRefuses(t *testing.T) {
	_, err := Diff(strings.NewReader("a,b\n1,2\n"), results(t), "x/results.csv", "y")
	require.ErrorIs(t, err, dataerr.ErrFormat)
	require.ErrorContains(t, err, "x/results.csv, line 1")
	_, err = Diff(results(t), strings.NewReader("\"open"), "x", "y/results.csv")
	require.ErrorContains(t, err, "y/results.csv")
}

func TestResultsJSON(t *testing.T) {
	r := row("=sour", "q50", -1, 7)
	r.Batches = 6
	var buf bytes.Buffer
	require.NoError(t, ResultsJSON(&buf, []answer.Row{r, r}))
	require.JSONEq(t, `[{"question":"lifetime","session":"","style":"=sour","serve":"","attribute":"","taster":"","age_min":null,"statistic":"q50","method":"turnbull","variant":"",
		"value":7,"lower":null,"upper":null,"level":null,"unit":"min","status":"ok","tasters":12,"batches":6,"tastes":0,"note":""}]`, buf.String())
	r2 := r
	r2.Value = answer.Of(8)
	buf.Reset()
	require.ErrorIs(t, ResultsJSON(&buf, []answer.Row{r, r2}), ErrKey)
	require.Zero(t, buf.Len())
}
