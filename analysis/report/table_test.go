package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

// wholeRow holds something of its own in every field.
func wholeRow() answer.Row {
	return answer.Row{Question: "lifetime", Session: "eve", Style: "sour", Serve: "coupe", Attribute: "fizz", Taster: "B", AgeMin: answer.Of(4.5), Statistic: "share", Method: "isotonic", Variant: "side_by_side",
		Value: answer.Of(0.5), Lower: answer.Of(0.25), Upper: answer.Of(math.Inf(1)), Level: answer.Of(0.96875), Unit: "1", Status: "not_enough", Tasters: 5, Batches: 3, Tastes: 17, Note: "so"}
}

// Every field of a row stands under its own column, in full precision.
func TestEveryColumn(t *testing.T) {
	var buf bytes.Buffer
	require.NoError(t, ResultsCSV(&buf, []answer.Row{wholeRow()}))
	got, err := csv.NewReader(&buf).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"lifetime", "eve", "sour", "coupe", "fizz", "B", "4.5", "share", "isotonic", "side_by_side",
		"0.5", "0.25", "inf", "0.96875", "1", "not_enough", "5", "3", "17", "so"}, got[1])
	require.Len(t, got[0], 20)

	buf.Reset()
	require.NoError(t, ResultsJSON(&buf, []answer.Row{wholeRow()}))
	require.JSONEq(t, `[{"question":"lifetime","session":"eve","style":"sour","serve":"coupe","attribute":"fizz","taster":"B","age_min":4.5,"statistic":"share","method":"isotonic","variant":"side_by_side",
		"value":0.5,"lower":0.25,"upper":"inf","level":0.96875,"unit":"1","status":"not_enough","tasters":5,"batches":3,"tastes":17,"note":"so"}]`, buf.String())
}

// The first ten columns are the key: rows that differ in one of them are two, rows that differ in another are a contradiction.
func TestKeyColumns(t *testing.T) {
	for i, change := range []func(*answer.Row){
		func(r *answer.Row) { r.Question = "x" }, func(r *answer.Row) { r.Session = "x" }, func(r *answer.Row) { r.Style = "x" }, func(r *answer.Row) { r.Serve = "x" },
		func(r *answer.Row) { r.Attribute = "x" }, func(r *answer.Row) { r.Taster = "x" }, func(r *answer.Row) { r.AgeMin = answer.Num{} }, func(r *answer.Row) { r.Statistic = "x" },
		func(r *answer.Row) { r.Method = "x" }, func(r *answer.Row) { r.Variant = "x" },
		func(r *answer.Row) { r.Value = answer.Of(1) }, func(r *answer.Row) { r.Lower = answer.Of(0) }, func(r *answer.Row) { r.Upper = answer.Of(1) }, func(r *answer.Row) { r.Level = answer.Of(0.95) },
		func(r *answer.Row) { r.Unit = "x" }, func(r *answer.Row) { r.Status = "x" }, func(r *answer.Row) { r.Tasters = 1 }, func(r *answer.Row) { r.Batches = 1 },
		func(r *answer.Row) { r.Tastes = 1 }, func(r *answer.Row) { r.Note = "x" },
	} {
		other := wholeRow()
		change(&other)
		var buf bytes.Buffer
		err := ResultsCSV(&buf, []answer.Row{wholeRow(), other})
		if i < 10 {
			require.NoError(t, err, Columns[i])
			require.Equal(t, 3, strings.Count(buf.String(), "\n"), Columns[i])
			continue
		}
		require.ErrorIs(t, err, ErrKey, Columns[i])
	}
}

// The table of a lifetime: estimates, limits and the level attained stand under their own heads, shares that data leave open
// as a range.
func TestLifetimeTable(t *testing.T) {
	q := func(p, from, to, lower, upper, level float64) answer.Quantile {
		return answer.Quantile{P: p, From: answer.Of(from), To: answer.Of(to), Lower: answer.Of(lower), Upper: answer.Of(upper), Level: level, Status: "ok"}
	}
	without := q(0.5, 7, 9, 5, 12, 0.875)
	a := &answer.Lifetime{Parts: []answer.LifetimePart{{
		Mode: "sip_through", NeverTook: []string{"D"}, Unclear: 1,
		Quantiles:    []answer.Quantile{q(0.5, 6, 8, 4, 10, 0.96875), q(0.25, 4, 6, 1, 8, 0.985), q(0.1, 2, 3, 0.5, math.Inf(1), 1)},
		Readings:     []answer.Reading{{Name: "either_side", Median: q(0.5, 6, 8, 4, 10, 0.96875)}, {Name: "first_no", Median: q(0.5, 3, 5, 1, 7, 0.96875)}, {Name: "last_yes", Median: q(0.5, 9, 11, 5, 13, 0.96875)}},
		WithoutNever: &without,
		Shares:       []answer.Share{{AgeMin: 2, EstLo: 1, EstHi: 1, Lower: 0.5, Upper: 1, Going: 6, Possible: 6, Units: 6}, {AgeMin: 4, EstLo: 0.25, EstHi: 0.75, Lower: 0.06, Upper: 0.9, Going: 1, Possible: 4, Units: 6}},
		Curve:        answer.Curve{Sets: []answer.Set{{L: answer.Of(2), R: answer.Of(4), Mass: 1}}, LogLik: -2.5, Gap: 1e-9, Rows: 6},
	}}}
	lines := strings.Split(strings.ReplaceAll(Table(a), "\\", ""), "\n")
	require.Equal(t, []string{
		"| how | what | from, min | to, min | lower limit | upper limit | level reached | status |",
		"| --- | --- | ---: | ---: | ---: | ---: | ---: | --- |",
		"| one glass again and again | half would leave the rest | 6.0 | 8.0 | 4.0 | 10.0 | 96.9 % | ok |",
		"| one glass again and again | a quarter would leave the rest | 4.0 | 6.0 | 1.0 | 8.0 | 98.5 % | ok |",
		"| one glass again and again | one in ten would leave the rest | 2.0 | 3.0 | 0.5 | open | 100.0 % | ok |",
		"| one glass again and again | half, read by the first no | 3.0 | 5.0 | 1.0 | 7.0 | 96.9 % | ok |",
		"| one glass again and again | half, read by the last yes | 9.0 | 11.0 | 5.0 | 13.0 | 96.9 % | ok |",
		"| one glass again and again | half, without D | 7.0 | 9.0 | 5.0 | 12.0 | 87.5 % | ok |",
		"",
		"| how | age, min | would go on with it | exact limits | surely | possibly | of |",
		"| --- | ---: | ---: | ---: | ---: | ---: | ---: |",
		"| one glass again and again | 2.0 | 100 % | 50 % to 100 % | 6 | 6 | 6 |",
		"| one glass again and again | 4.0 | 25 % to 75 % | 6 % to 90 % | 1 | 4 | 6 |",
		"",
		"One glass again and again: log-likelihood -2.500000, optimality gap 1.0e-09 (the true maximum is higher by no more than that), 6\u00a0rows.",
	}, lines[:15])
	a.Parts[0].Unclear = 0
	require.NotContains(t, Table(a), "read by", "without wavering replies the readings say the same")
}
