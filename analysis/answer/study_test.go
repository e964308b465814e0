package answer_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/report"
)

// builder writes a panel taste by taste.
type builder struct{ p *panel.Panel }

func (b builder) pour(session, id, taster, serve, batch string) int {
	b.p.Pours = append(b.p.Pours, panel.Pour{Session: session, ID: id, Taster: taster, Style: "sour", Serve: serve, Batch: batch, VolumeML: 90})
	return len(b.p.Pours) - 1
}

func (b builder) taste(session, taster string, pour int, mode panel.Mode, age float64, yes byte) {
	v := panel.Accept
	if yes == 'n' {
		v = panel.Reject
	}
	n := len(b.p.Tastes)
	b.p.Tastes = append(b.p.Tastes, panel.Taste{Session: session, Taster: taster, Pour: pour, Mode: mode, Age: panel.Age(age), Verdict: v, Aware: taster == "h",
		Scores: []panel.Score{{Value: float64(n % 10), Given: true}, {Value: float64(n % 7), Given: n%3 != 0}, {Value: float64(n % 6), Given: n%4 != 0}}})
}

// wholeStudy holds two evenings, two serves, both modes, wavering replies, a taster who never accepts (g) and one who knew the
// drinks (h), scores and readings. In the second evening all share one pour, whose name was taster i's alone in the first, who comes
// to both evenings.
func wholeStudy() answer.Input {
	p := &panel.Panel{
		Sessions:   []panel.Session{{Name: "one", Date: "2026-03-02"}, {Name: "two", Date: "2026-03-09"}},
		Attributes: []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Limit: 4}, {Name: "fizz", Ranged: true, High: 10, Limit: 2}, {Name: "warmth", Ranged: true, High: 10, Better: panel.BetterLow, Limit: 4}},
		Settings:   panel.Settings{Unclear: "either_side", Overall: "liking", HasLimits: true, PrimeLimit: 7, RejectLimit: 4},
	}
	b := builder{p}
	replies := []string{"yynn", "ynyynn", "yyynn", "yynynn", "yyyyn", "yyyyyy", "nn", "yyynn", "y.nn"}
	for _, session := range []string{"one", "two"} {
		for _, serve := range []string{"coupe", "rocks"} {
			shared := b.pour(session, "all "+serve, "", serve, "b1")
			var seen []int
			for _, age := range []float64{3, 6, 9} {
				seen = append(seen, b.pour(session, fmt.Sprint("side ", serve, age), "", serve, fmt.Sprint("s", age)))
			}
			for i, w := range replies {
				name, glass := string(rune('a'+i)), shared
				if session == "two" && i < 8 {
					name = string(rune('p' + i))
				}
				if session == "one" && name != "i" {
					glass = b.pour(session, fmt.Sprint("p", i, serve), name, serve, fmt.Sprint("b", i/2))
				}
				for k := range w {
					if w[k] != '.' {
						b.taste(session, name, glass, panel.SipThrough, float64(2*k+2), w[k])
					}
				}
				for k, pour := range seen {
					b.taste(session, name, pour, panel.SideBySide, float64(3*k+3), "ynyynnyynynyyyynnn"[(i+k)%18])
				}
				if name == "g" { // never, in any mode
					for j := len(p.Tastes) - 3; j < len(p.Tastes); j++ {
						p.Tastes[j].Verdict = panel.Reject
					}
				}
			}
			for _, age := range []float64{1, 1, 8} {
				p.Readings = append(p.Readings, panel.Reading{Session: session, Pour: shared, Age: panel.Age(age), Quantity: "temperature", Value: age, Unit: "C"},
					panel.Reading{Session: session, Pour: shared, Age: panel.Age(age), Quantity: "foam", Value: 9 - age, Unit: "mm"})
			}
		}
	}
	return answer.Input{Panel: p}
}

// everyAnswer asks all there is to ask.
func everyAnswer(t *testing.T, in answer.Input) []answer.Answer {
	t.Helper()
	data, err := answer.NewData(in)
	require.NoError(t, err)
	out := []answer.Answer{data, answer.NewProvenance(in, []answer.InputFile{{Session: "one", File: "tastes.csv", SHA256: "00", Bytes: 3}}, nil)}
	var acts []*answer.ServeBy
	for _, d := range in.Drinks() {
		life, err := answer.NewLifetime(in, d)
		require.NoError(t, err)
		window, err := answer.NewPrimeWindow(in, d)
		require.NoError(t, err)
		act, err := answer.NewServeBy(in, d, life, window)
		require.NoError(t, err)
		acts = append(acts, act)
		out = append(out, life, window, act)
		for _, ask := range []func(answer.Input, endpoint.Drink) (answer.Answer, error){
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewScores(in, d) },
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewGoesFirst(in, d) },
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewAgeDifferences(in, d) },
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewRejections(in, d) },
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewGlass(in, d) },
			func(in answer.Input, d endpoint.Drink) (answer.Answer, error) { return answer.NewReadings(in, d) },
		} {
			a, err := ask(in, d)
			require.NoError(t, err)
			out = append(out, a)
		}
	}
	return append(out, answer.NewCompare(acts))
}

// Over all answers of a study every row of results.csv has a key of its own, and every answer and its rows survive a round
// trip through JSON and CSV.
func TestWholeStudyKeysAndRoundTrip(t *testing.T) {
	in := wholeStudy()
	require.Len(t, in.Drinks(), 2)
	var rows []answer.Row
	for _, a := range everyAnswer(t, in) {
		b, err := answer.Encode(a)
		require.NoError(t, err)
		back, err := answer.Decode(b)
		require.NoError(t, err)
		require.Equal(t, a, back)
		rows = append(rows, a.Common().Rows...)
	}
	seen, kinds := map[string]bool{}, map[string]int{}
	for _, r := range rows {
		k := fmt.Sprintf("%q", []string{r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin.String(), r.Statistic, r.Method, r.Variant})
		require.False(t, seen[k], k)
		seen[k] = true
		kinds[r.Question]++
		if r.Question == "lifetime" && r.Method != "turnbull" && r.Method != "isotonic" {
			r.Variant = r.Method + "+" + r.Variant
		}
		kinds[r.Statistic+" "+r.Variant]++
	}
	// The study holds what could make keys alike: each of these once for each of the two serves.
	for _, k := range []string{"q50 side_by_side", "q50 either_side+sip_through", "q50 first_no+sip_through", "q50 last_yes+sip_through", "q50 either_side+sip_through+without_never",
		"q50 side_by_side+without_never", "q50 either_side+sip_through+without_aware", "q50 side_by_side+without_aware", "loglik side_by_side", "loglik either_side+sip_through",
		"q50 replies+side_by_side", "q50 replies+sip_through", "q10 replies+side_by_side", "q50 replies+slips_0+side_by_side", "q50 replies+slips_5+sip_through", "q50 replies+joint+sip_through",
		"q50 replies+side_by_side+evening one", "q50 replies+sip_through+evening two", "q50 replies+side_by_side+without_never", "q10 replies+side_by_side+without_aware", "spread_limits replies+sip_through",
		"act side_by_side", "act side_by_side+without_never", "limit either_side+sip_through+p0coupe"} {
		want := 2
		if k == "limit either_side+sip_through+p0coupe" {
			want = 1
		}
		require.Equal(t, want, kinds[k], k)
	}
	require.Equal(t, 10, kinds["limit either_side+sip_through+all coupe"], "nine tasters at one pour, and one at another evening's of that name")
	require.Equal(t, 24, kinds["reading"], "two readings at one minute are two rows")
	require.Positive(t, kinds["share side_by_side"])
	require.Positive(t, kinds["score"])
	for _, rule := range []string{"", "+limit_up", "+limit_down", "+last_crossing", "+without_aware"} {
		require.Positive(t, kinds["alone sip_through"+rule], rule)
		require.Equal(t, kinds["alone side_by_side"+rule], kinds["tied side_by_side"+rule], rule)
	}

	var first, second bytes.Buffer
	require.NoError(t, report.ResultsCSV(&first, rows))
	table, err := csv.NewReader(bytes.NewReader(first.Bytes())).ReadAll()
	require.NoError(t, err)
	require.Len(t, table, 1+len(rows), "no row is lost")
	backwards := make([]answer.Row, len(rows))
	for i, r := range rows {
		backwards[len(rows)-1-i] = r
	}
	require.NoError(t, report.ResultsCSV(&second, backwards))
	require.Equal(t, first.String(), second.String(), "the order of answers does not matter")
	changes, err := report.Diff(&first, &second, "first", "second")
	require.NoError(t, err)
	require.Empty(t, changes)
	var form bytes.Buffer
	require.NoError(t, report.ResultsJSON(&form, rows))
	var objects []map[string]any
	require.NoError(t, json.Unmarshal(form.Bytes(), &objects))
	require.Len(t, objects, len(rows))
}
