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
		"| how | what | estimate, min | lower limit | upper limit | level reached | status | method |",
		"| --- | --- | ---: | ---: | ---: | ---: | --- | --- |",
		"| one glass again and again | half would leave the rest | 6.0 to 8.0 | 4.0 | 10.0 | 96.9 % | ok | without a family |",
		"| one glass again and again | a quarter would leave the rest | 4.0 to 6.0 | 1.0 | 8.0 | 98.5 % | ok | without a family |",
		"| one glass again and again | one in ten would leave the rest | 2.0 to 3.0 | 0.5 | open | 100.0 % | ok | without a family |",
		"| one glass again and again | half, read by the first no | 3.0 to 5.0 | 1.0 | 7.0 | 96.9 % | ok | without a family |",
		"| one glass again and again | half, read by the last yes | 9.0 to 11.0 | 5.0 | 13.0 | 96.9 % | ok | without a family |",
		"| one glass again and again | half, without D | 7.0 to 9.0 | 5.0 | 12.0 | 87.5 % | ok | without a family |",
		"",
		"| how | age, min | would go on with it | exact limits | surely | possibly | of |",
		"| --- | ---: | ---: | ---: | ---: | ---: | ---: |",
		"| one glass again and again | 2.0 | 100 % | 50 % to 100 % | 6 | 6 | 6 |",
		"| one glass again and again | 4.0 | 25 % to 75 % | 6 % to 90 % | 1 | 4 | 6 |",
		"",
		"One glass again and again, without a family: log-likelihood -2.500000, optimality gap 1.0e-09 (the true maximum is higher by no more than that), 6\u00a0rows.",
	}, lines[:15])
	a.Parts[0].Unclear = 0
	require.NotContains(t, Table(a), "read by", "without wavering replies the readings say the same")
}

// With a headline its rows come first; then what other choices give, spreads, halves by evening and batch, and shares beside
// those without a family.
func TestHeadlineTable(t *testing.T) {
	at := func(p, x, lower, upper float64) answer.Quantile {
		return answer.Quantile{P: p, From: answer.Of(x), To: answer.Of(x), Lower: answer.Of(lower), Upper: answer.Of(upper), Level: 0.95, Status: "ok"}
	}
	past := at(0.5, 19, 11, math.Inf(1))
	past.Beyond, past.Status = true, "beyond_last_age"
	over := at(0.5, 7.2, 4.9, 11.1)
	h := &answer.Headline{Method: "replies", Status: "ok", Quantiles: []answer.Quantile{at(0.5, 7.46, 6, 9.5), at(0.1, 4.5, 0, 6)},
		Shares:    []answer.ModelShare{{AgeMin: 2, Share: 0.97, Lower: 0.9, Upper: 0.99, Level: 0.95, OfReplies: 0.94}, {AgeMin: 6, Share: 0.6, Lower: 0.4, Upper: 0.8, Level: 0.95, OfReplies: 0.58}},
		LogMedian: answer.Of(2), LogSD: answer.Of(0.3456), TasterSD: answer.Of(0.3), GlassSD: answer.Of(0.1), ReplySD: answer.Of(0.25), Slips: 0.02, LogLik: -12.5, Units: 8, Replies: 64, LeftOut: 2,
		Evenings: answer.Groups{Each: []answer.Group{{Name: "mon|day", Tasters: 5, Half: at(0.5, 7, 5, 9)}, {Name: "tue", Tasters: 3, Half: past}}, Half: &over},
		Batches:  answer.Groups{Each: []answer.Group{{Name: "b1", Tasters: 2, Half: at(0.5, 6, 4, 8)}}},
	}
	a := &answer.Lifetime{Parts: []answer.LifetimePart{{
		Mode: "side_by_side", Headline: h, Quantiles: []answer.Quantile{{P: 0.5, From: answer.Of(6), To: answer.Of(8), Lower: answer.Of(4), Upper: answer.Of(10), Level: 0.97, Status: "ok"}},
		Shares: []answer.Share{{AgeMin: 6, EstLo: 0.5, EstHi: 0.5, Lower: 0.2, Upper: 0.8, Going: 4, Possible: 5, Units: 8}},
		Sensitivity: answer.Sensitivity{Rows: []answer.Choice{
			{Words: "Weibull lifetimes", Status: "ok", Half: at(0.5, 7.8, 6, 10), Tenth: at(0.1, 3.9, 2, 5), LogLik: answer.Of(-20.12345), AIC: answer.Of(44.2469), Distance: answer.Of(0.123), P: answer.Of(0.0004), Note: "so"},
			{Words: "no slips", Status: "not_converged", LogLik: answer.Of(-3)},
		}, From: answer.Of(6.9), To: answer.Of(7.8), Open: 1, Unfit: []string{"gamma lifetimes"}},
	}}}
	require.Equal(t, []string{
		"| how | what | estimate, min | lower limit | upper limit | level reached | status | method |",
		"| --- | --- | ---: | ---: | ---: | ---: | --- | --- |",
		"| side by side | half would leave the rest | 7.5 | 6.0 | 9.5 | 95.0 % | ok | all replies |",
		"| side by side | one in ten would leave the rest | 4.5 | open | 6.0 | 95.0 % | ok | all replies |",
		"| side by side | half would leave the rest | 6.0 to 8.0 | 4.0 | 10.0 | 97.0 % | ok | without a family |",
		"",
		"| how | another choice | half, min | limits | one in ten, min | log-likelihood | AIC | distance from the curve without a family | p |  |",
		"| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |",
		"| side by side | Weibull lifetimes | 7.8 | 6.0 to 10.0 | 3.9 | -20.123 | 44.25 | 0.123 | below 0.001 | so |",
		"| side by side | no slips | not converged |  |  | -3.000 |  |  |  |  |",
		"| side by side | smallest and largest, the headline among them | 6.9 to 7.8 |  |  |  |  |  |  | 1 open or not told; without gamma lifetimes, which the replies rule out |",
		"",
		"| how | spread | log-sd |",
		"| --- | --- | ---: |",
		"| side by side | own limits between drinkers like these | 0.346 |",
		"| side by side | between tasters | 0.300 |",
		"| side by side | between glasses of one taster | 0.100 |",
		"| side by side | a reply about the own limit | 0.250 |",
		"",
		"| how | half by | which | tasters | half, min | limits | status |",
		"| --- | --- | --- | ---: | ---: | ---: | --- |",
		"| side by side | evening | mon|day | 5 | 7.0 | 5.0 to 9.0 | ok |",
		"| side by side | evening | tue | 3 | past the last age | 11.0 to open | beyond_last_age |",
		"| side by side | evening | evenings like these |  | 7.2 | 4.9 to 11.1 | ok |",
		"| side by side | batch | b1 | 2 | 6.0 | 4.0 to 8.0 | ok |",
		"",
		"| how | age, min | would go on with it | limits | of replies | without a family | exact limits | surely | possibly | of |",
		"| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
		"| side by side | 2.0 | 97 % | 90 % to 99 % | 94 % |  |  |  |  |  |",
		"| side by side | 6.0 | 60 % | 40 % to 80 % | 58 % | 50 % | 20 % to 80 % | 4 | 5 | 8 |",
		"",
		"Side by side, every reply: log-likelihood -12.500000, 8\u00a0own limits, of replies 64, of which 2 % are taken to be slips; 2 left out: before a first yes.",
		"", "",
	}, strings.Split(strings.ReplaceAll(Table(a), "\\", ""), "\n"))
	require.Contains(t, Table(a), `mon\|day`, "names of a file are escaped")

	p, tenth := &a.Parts[0], at(0.1, 4.8, 2, 6.5)
	without := at(0.5, 7.9, 6, 10)
	p.NeverTook, p.WithoutNever, p.WithoutNeverTenth = []string{"D"}, &without, &tenth
	p.Band, p.BandHalf, a.ModeRatio = []answer.BandPoint{{AgeMin: 6, Lower: 0.31, Upper: 0.74}}, &over, &without
	for _, want := range []string{
		"| half would leave the rest | 7.2 | 4.9 | 11.1 | 95.0 % | ok | without a family, whole tasters drawn again |",
		"| half, without D | 7.9 | 6.0 | 10.0 | 95.0 % | ok | all replies |", "| one in ten, without D | 4.8 | 2.0 | 6.5 | 95.0 % | ok | all replies |",
		"| 5 | 8 | 31 % to 74 % |", "Tasted again and again it lasts 7.90 times as long as side by side, limits 6.00 to 10.0.",
	} {
		require.Contains(t, Table(a), want)
	}
	h.Early, h.ReplySD = true, answer.Num{}
	require.Contains(t, Table(a), "| first no \\(early\\) |")
	require.NotContains(t, Table(a), "about the own limit")
}

func TestDifferencesTable(t *testing.T) {
	q := func(from, to, lower, upper float64) answer.Quantile {
		return answer.Quantile{P: 0.5, From: answer.Of(from), To: answer.Of(to), Lower: answer.Of(lower), Upper: answer.Of(upper), Level: 0.95, Status: "ok"}
	}
	of := answer.Of
	a := &answer.Differences{Pairs: []answer.Pair{
		{A: "stirred", B: "sour", Mode: "sip_through", Status: "ok", Ratio: q(2.0864, 2.0864, 1.404, 13.27), Both: 8, Tasters: 9, P: of(0.00012), PAdj: of(0.012), ScoreP: of(0.0234), ScoreAdj: of(0.0468), WilcoxonP: of(0.03125), SmallestP: of(0.0078125), ScoreMethod: "within tasters", Draws: 256},
		{A: "still", B: "sour", Mode: "side_by_side", Status: "ok", Ratio: q(1.2, 1.5, 0, math.Inf(1)), Both: 0, Tasters: 12, P: of(0.2), PAdj: of(0.2), Evenings: true},
		{A: "frozen", B: "sour", Mode: "side_by_side", Status: "not_enough", Why: "four tasters"},
		{A: "later", B: "sour", Mode: "side_by_side", Status: "not_converged", Ratio: q(3.1, math.Inf(1), 2, math.Inf(1)), Both: 3, Tasters: 3},
	}}
	require.Equal(t, []string{
		"| keeps longer | how | times as long | limits | p | p after Holm | score test p | score test p after Holm | of Wilcoxon kind | smallest p it can reach | tasters |  |",
		"| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |",
		"| stirred over sour | one glass again and again | 2.09 | 1.40 to 13.3 | below 0.001 | 0.012 | 0.023 | 0.047 | 0.031 | 0.008 | 8 of both, 9 of either | score test within tasters, 256 relabellings drawn |",
		"| still over sour | side by side | 1.20 to 1.50 | open to open | 0.200 | 0.200 |  |  |  |  | 0 of both, 12 of either | tasted on different evenings |",
		"| frozen over sour | side by side |  |  |  |  |  |  |  |  |  | four tasters |",
		"| later over sour | side by side | more than 3.10 | 2.00 to open |  |  |  |  |  |  | 3 of both, 3 of either | not converged |",
		"", "",
	}, strings.Split(Table(a), "\n"))
}

// The act and a comparison say what they rest on.
func TestBasisTables(t *testing.T) {
	tenth := answer.Quantile{P: 0.1, From: answer.Of(4.4), To: answer.Of(4.4), Lower: answer.Of(3), Upper: answer.Of(5.8)}
	half := answer.Quantile{P: 0.5, From: answer.Of(6), To: answer.Of(8), Lower: answer.Of(0), Upper: answer.Of(math.Inf(1))}
	act := &answer.ServeBy{Head: answer.Head{Title: "sour", Act: answer.Of(4)}, Basis: "one_in_ten", SmallestL: answer.Of(3.5), Tasters: []string{"B"}, Ribbon: answer.Ribbon{HasTenth: true, Tenth: tenth}}
	require.Equal(t, []string{"|  | sour |", "| --- | ---: |", "| have it drunk within | 4.0 min |", "| which rests on | one in ten |", "| one in ten would leave the rest, min | 4.4 |",
		"| its limits, min | 3.0 to 5.8 |", "| smallest age at which all would go on | 3.5 min |", "| whose | B |", "", ""}, strings.Split(Table(act), "\n"))
	act.Basis, act.Act, act.Ribbon.HasTenth = "smallest_l", answer.Num{}, false
	require.Contains(t, Table(act), "| have it drunk within | not told |\n| which rests on | all would go on |\n| smallest")

	c := &answer.Compare{Styles: []answer.CompareStyle{{Act: answer.Of(4), Basis: "one_in_ten", Ribbon: answer.Ribbon{Label: "sour", Units: 12, HasTenth: true, Tenth: tenth, HasHalf: true, Half: half}},
		{Act: answer.Of(2), Basis: "smallest_l", Ribbon: answer.Ribbon{Label: "spritz", Units: 4}}}}
	lines := strings.Split(Table(c), "\n")
	require.Equal(t, "| sour | 4.0 | one in ten | 4.4 | 3.0 to 5.8 | 6.0 to 8.0 | open to open | 12 |", lines[2])
	require.Equal(t, "| spritz | 2.0 | all would go on |  |  |  |  | 4 |", lines[3])
}

func TestMethodsNamesDifferences(t *testing.T) {
	require.Contains(t, Methods(&answer.Differences{Head: answer.Head{Question: "difference", Method: "Ratios.", Status: "ok"}}), "**Differences.** Ratios.")
}
