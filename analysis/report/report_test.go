package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

func row(style, statistic string, age, value float64) answer.Row {
	r := answer.Row{Question: "lifetime", Style: style, Statistic: statistic, Method: "turnbull", Value: answer.Of(value), Unit: "min", Status: "ok", Tasters: 12}
	if age >= 0 {
		r.AgeMin = answer.Of(age)
	}
	return r
}

func TestResultsCSV(t *testing.T) {
	rows := []answer.Row{row("sour", "share", 10, 0.5), row("sour", "share", 9, 0.75), row("sour", "q50", -1, math.Inf(1)), row("sour", "share", 9, 0.75), row("=cmd()", "q50", -1, -1)}
	rows[0].Note = "-1 or so"
	var buf bytes.Buffer
	require.NoError(t, ResultsCSV(&buf, rows))
	got, err := csv.NewReader(&buf).ReadAll()
	require.NoError(t, err)
	require.Equal(t, Columns, got[0])
	require.Len(t, got, 5, "an identical row is written once")
	require.Equal(t, "'=cmd()", got[1][2], "no formula reaches a spreadsheet")
	require.Equal(t, "-1", got[1][10], "numbers are never guarded")
	require.Equal(t, "inf", got[2][10])
	require.Equal(t, []string{"9", "10"}, []string{got[3][6], got[4][6]}, "ages sort as numbers")
	require.Equal(t, "'-1 or so", got[4][19])
	require.Equal(t, "", got[1][17], "unknown batches are empty")

	buf.Reset()
	other := row("sour", "share", 9, 0.8)
	require.ErrorIs(t, ResultsCSV(&buf, append(rows, other)), ErrKey)
	require.Zero(t, buf.Len(), "nothing is written when a key is ambiguous")
}

func TestEscape(t *testing.T) {
	got := Escape("<script>*x*</script> [a](b) | `c`\n# d \u202eevil")
	require.NotContains(t, got, "\u202e")
	require.NotContains(t, got, "\n")
	for _, c := range []string{"<", ">", "*", "[", "|", "`", "#"} {
		require.Equal(t, strings.Count(got, c), strings.Count(got, `\`+c), c)
	}
}

func TestWrap(t *testing.T) {
	text := strings.Repeat("tasters would leave the rest ", 20)
	for _, l := range strings.Split(strings.TrimSuffix(Wrap(text, "  ", 40), "\n"), "\n") {
		require.LessOrEqual(t, utf8.RuneCountInString(l), 40)
	}
	require.Equal(t, strings.Fields(text), strings.Fields(Wrap(text, "  ", 40)))
}

// The strips put marks where the minutes are: stripWide columns from 0 to the end of the axis.
func TestRibbon(t *testing.T) {
	act := &answer.ServeBy{Head: answer.Head{Act: answer.Of(4), AxisEnd: 16}}
	act.Ribbon = answer.Ribbon{HasHalf: true, LastAge: 15, Half: answer.Quantile{From: answer.Of(6), To: answer.Of(8), Lower: answer.Of(4), Upper: answer.Of(math.Inf(1))}}
	lines := strings.Split(Ribbon(act, Ink{}), "\n")
	at := func(line, mark string) float64 {
		i := strings.Index(line, mark)
		require.GreaterOrEqual(t, i, 0, mark)
		col := utf8.RuneCountInString(line[:i]) - labelWide - 2
		return float64(col) / (stripWide - 1) * 16
	}
	half := 16.0 / (stripWide - 1) / 2
	require.InDelta(t, 4, at(lines[0], "│"), half)
	require.InDelta(t, 4, at(lines[1], "├"), half)
	require.InDelta(t, 6, at(lines[1], "●"), half)
	require.InDelta(t, 15, at(lines[1], "▶"), half)
	require.InDelta(t, 12, at(lines[2], "12"), half)
	for _, l := range lines {
		require.LessOrEqual(t, utf8.RuneCountInString(l), columns, l)
	}
	require.NotContains(t, Ribbon(act, Ink{}), "\x1b")
	require.Contains(t, Ribbon(act, Ink{Colour: true}), "\x1b[")
}

// One in ten has a line of its own above half; what lies past the last age or the axis is an arrow, never a mark.
func TestRibbonOneInTen(t *testing.T) {
	q := func(from, lower, upper float64) answer.Quantile {
		return answer.Quantile{From: answer.Of(from), To: answer.Of(from), Lower: answer.Of(lower), Upper: answer.Of(upper)}
	}
	act := &answer.ServeBy{Head: answer.Head{Act: answer.Of(4), AxisEnd: 16}}
	act.Ribbon = answer.Ribbon{HasTenth: true, Tenth: q(4, 2, 6), HasHalf: true, Half: q(8, 6, 38), LastAge: 15}
	lines := strings.Split(Ribbon(act, Ink{}), "\n")
	require.True(t, strings.HasPrefix(lines[1], "1 in 10 leave by"), lines[1])
	require.Equal(t, "├──────○─────┤", strings.TrimSpace(lines[1][labelWide:]))
	require.True(t, strings.HasPrefix(lines[2], "half leave by"), lines[2])
	require.True(t, strings.HasSuffix(lines[2], "▶"), "a limit past the axis is an arrow")
	require.Equal(t, 1, strings.Count(lines[2], "●"))

	act.Ribbon.Half = q(19, 13, 44)
	act.Ribbon.Half.Beyond = true
	lines = strings.Split(Ribbon(act, Ink{}), "\n")
	require.NotContains(t, lines[2], "●", "nobody saw it")
	require.True(t, strings.HasSuffix(lines[2], "▶"))
	act.Ribbon.Half = answer.Quantile{From: answer.Of(math.Inf(1)), To: answer.Of(math.Inf(1)), Lower: answer.Of(15), Upper: answer.Of(math.Inf(1)), Beyond: true}
	require.NotPanics(t, func() { lines = strings.Split(Ribbon(act, Ink{}), "\n") })
	require.NotContains(t, lines[2], "●")
	act.Ribbon.Half = q(4, 4, 4)
	require.Contains(t, Ribbon(act, Ink{}), "●", "limits in one column do not hide the half")
	act.Ribbon.Half = answer.Quantile{}
	require.Equal(t, "half leave by", strings.TrimSpace(strings.Split(Ribbon(act, Ink{}), "\n")[2]), "nothing told, nothing drawn")

	act.Ribbon.Intervals = []answer.Interval{{Taster: "A", L: answer.Of(2), R: answer.Of(4)}}
	require.NotContains(t, Ribbon(act, Ink{}), "1 in 10")
	require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(Legend, "\n")), columns)
	for _, mark := range "█├┤○●◀▶" {
		require.Contains(t, Legend, string(mark))
	}
}

func TestPlainDropsControls(t *testing.T) {
	require.Equal(t, "a b", plain("a\u00a0\x1b\u202eb"))
}
