package report

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

func span(status string, from, fromLower, fromUpper, to, toLower, toUpper, least answer.Num) answer.Window {
	return answer.Window{Status: status, Limit: 7, From: from, FromLower: fromLower, FromUpper: fromUpper, To: to, ToLower: toLower, ToUpper: toUpper, AtLeastUntil: least}
}

// The window under every choice, what stands behind it, and what lies at its edge.
func TestWindowTable(t *testing.T) {
	of, open, none := answer.Of, answer.Of(math.Inf(1)), answer.Num{}
	late := span("ok", of(2.04), of(1), of(3), of(10.3), of(8.97), of(11.4), of(8.97))
	late.Others = []answer.Span{{From: 14, To: 15.26}}
	a := &answer.PrimeWindow{
		Curve: []answer.CurvePoint{{AgeMin: .5}, {AgeMin: 16}}, Main: late,
		Variants: []answer.Variant{
			{Words: "limit one point stricter", Window: answer.Window{Status: "never", Limit: 8, Highest: 7.94, HighestAt: 6}, Tasters: 12, Tastes: 96},
			{Words: "limit one point laxer", Window: span("always", of(.5), of(0), of(.5), none, of(13), open, of(13)), Tasters: 12, Tastes: 96},
			{Words: "limits by drawing panels from the model", Method: "bootstrap", Window: span("ok", of(2.04), of(0), of(0), of(10.3), of(9), of(12), none), Note: "percentiles of 999 drawn panels, seed 1|2", Tasters: 12, Tastes: 96},
			{Words: "without tasters who knew the drink", Window: span("ok", of(.5), of(0), open, of(9), of(0), open, none), Tasters: 3, Tastes: 24},
		},
		Spread:   []answer.Component{{Name: "tasters, at age 0", SD: .8123, Unit: "points"}, {Name: "tasters, per minute", SD: 0, Unit: "points per minute", Edge: true}},
		Singular: []string{"the slope of tasters"},
	}
	a.Counts.Tasters, a.Counts.RowsUsed = 12, 96
	require.Equal(t, []string{
		"| choice | status | at its best from, min | limits | until, min | limits | at least until, min | tasters | scores |  |",
		"| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |",
		"| limit 7 | ok | 2.0 | 1.0 to 3.0 | 10.3 | 9.0 to 11.4 | 8.9 | 12 | 96 | again from 14.0 to 15.3 min |",
		"| limit one point stricter | never | never |  | never |  | not shown | 12 | 96 | highest 7.9 at 6.0 min |",
		"| limit one point laxer | always | 0.5 |  | past 16.0 | 13.0 to open | 13.0 | 12 | 96 |  |",
		`| limits by drawing panels from the model | ok | 2.0 |  | 10.3 | 9.0 to 12.0 |  | 12 | 96 | percentiles of 999 drawn panels, seed 1|2 |`,
		"| without tasters who knew the drink | ok | 0.5 | open to open | 9.0 | open to open | not shown | 3 | 24 |  |",
		"",
		"| standard deviation | estimate | unit |  |",
		"| --- | ---: | --- | --- |",
		"| tasters, at age 0 | 0.812 | points |  |",
		"| tasters, per minute | 0.000 | points per minute | at zero |",
		"",
		"The scores cannot tell, and the fit is kept as it is: the slope of tasters.",
		"", "",
	}, strings.Split(strings.ReplaceAll(Table(a), "\\", ""), "\n"))
	require.Contains(t, Table(a), `seed 1\|2`, "text of a file stays text")
	require.Empty(t, Table(&answer.PrimeWindow{}), "not asked: the sentences say so")
	a.Status = answer.NotConverged
	require.Contains(t, Table(a), "the fit did not settle")
}

// Drinks by how long they are at their best: always, past the last age, the latest end, never; those without a window are left
// out.
func TestWindowsRanked(t *testing.T) {
	of, open, none := answer.Of, answer.Of(math.Inf(1)), answer.Num{}
	style := func(label string, w answer.Window) answer.CompareStyle {
		return answer.CompareStyle{Ribbon: answer.Ribbon{Label: label, LastAge: 16, Window: &w}}
	}
	low := answer.Window{Status: "never", Limit: 3, Below: true, Highest: 3.64, HighestAt: 2}
	c := &answer.Compare{Styles: []answer.CompareStyle{
		style("never", low),
		style("early", span("ok", of(0), of(0), of(0), of(3), of(2.3), of(4), of(2.3))),
		style("past", span("beyond_last_age", of(4), of(3), of(5), none, of(11), open, of(11))),
		{Ribbon: answer.Ribbon{Label: "not asked"}},
		style("surer", span("ok", of(0), of(0), of(0), of(5), of(4.4), of(6), of(4.4))),
		style("not told", answer.Window{Status: "not_converged"}),
		style("always", span("always", of(0), of(0), of(0), none, of(16), open, of(16))),
		style("same end", span("ok", of(0), of(0), of(0), of(5), of(0), of(9), none)),
	}}
	var order []string
	lines := strings.Split(strings.ReplaceAll(Windows(c), "\\", ""), "\n")
	for _, l := range lines[2:] {
		if cells := strings.Split(l, " | "); len(cells) > 1 {
			order = append(order, strings.TrimPrefix(cells[0], "| "))
		}
	}
	require.Equal(t, []string{"always", "past", "surer", "same end", "early", "never"}, order)
	require.Equal(t, "| drink | average taster | at its best from, min | limits | until, min | limits | at least until, min |  |", lines[0])
	require.Equal(t, "| always | 7 or better | 0.0 |  | past 16.0 | 16.0 to open | 16.0 |  |", lines[2])
	require.Equal(t, "| past | 7 or better | 4.0 | 3.0 to 5.0 | past 16.0 | 11.0 to open | 11.0 |  |", lines[3])
	require.Equal(t, "| never | 3 or lower | never |  | never |  | not shown | lowest 3.6 at 2.0 min |", lines[7])
	require.Equal(t, "never", c.Styles[0].Ribbon.Label, "the answer keeps its order")
	require.Empty(t, Windows(&answer.Compare{Styles: c.Styles[3:4]}))
}

// A drink that is to be handed over late says so in its tables.
func TestHandOverInTables(t *testing.T) {
	act := &answer.ServeBy{Basis: "at_least_until", HandOverAfter: answer.Of(2)}
	act.Act = answer.Of(9)
	require.Contains(t, Table(act), "| hand it over after | 2.0 min |")
	require.Contains(t, Table(act), "at its best, at least")
	act.AxisEnd = 16
	lines := strings.Split(Ribbon(act, Ink{}), "\n")
	require.Regexp(t, `^good from, until {10}█+│ 2 to 9$`, lines[0], "2 of 16 minutes is column 6 of 51, after a label of 18 and two spaces")
	c := &answer.Compare{Styles: []answer.CompareStyle{{Act: answer.Of(9), HandOverAfter: answer.Of(2), Ribbon: answer.Ribbon{Label: "on the rock"}}}}
	require.Contains(t, Table(c), "| on the rock | 9.0, from 2.0 on |")
}
