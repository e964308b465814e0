package answer

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// beside makes a side-by-side panel: one string per taster, 'y' and 'n' at the given ages, '.' for no taste; every glass is a
// pour of its own, and a batch of its own.
func beside(ages []float64, words ...string) Input {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Unclear: "either_side"}}
	in := Input{Panel: p, Quick: true}
	for i, w := range words {
		for k, c := range w {
			if c != '.' {
				in.see(string(rune('a'+i)), ages[k], c == 'n')
			}
		}
	}
	return in
}

// see adds one glass that one taster sees once.
func (in Input) see(taster string, age float64, reject bool) {
	p := in.Panel
	id := fmt.Sprint("s", len(p.Pours))
	p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: id, Style: sour.Style, Serve: sour.Serve, Batch: id})
	v := panel.Accept
	if reject {
		v = panel.Reject
	}
	p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: taster, Pour: len(p.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: v})
}

// brief prints a row: key, numbers to six digits ("-" where empty), unit, status and counts.
func brief(r Row) string {
	num := func(n Num) string {
		switch {
		case n.Empty():
			return "-"
		case n.Open():
			return "inf"
		}
		return strconv.FormatFloat(n.Float(), 'g', 6, 64)
	}
	return strings.Join([]string{r.Statistic, r.Method, r.Variant, num(r.AgeMin), "|", num(r.Value), num(r.Lower), num(r.Upper), num(r.Level), "|", r.Unit, r.Status, fmt.Sprint(r.Tasters, " ", r.Batches, " ", r.Tastes)}, " ")
}

func briefs(rows []Row, keep func(Row) bool) []string {
	var out []string
	for _, r := range rows {
		if keep == nil || keep(r) {
			if strings.HasSuffix(r.Variant, "+without_never") { // their counts are not looked at here
				r.Tasters, r.Batches, r.Tastes = 0, 0, 0
			}
			out = append(out, brief(r))
		}
	}
	return out
}

// exact are the rows without a family.
func exact(r Row) bool { return r.Method == "turnbull" || r.Method == "isotonic" }

func mustLife(t *testing.T, in Input) *Lifetime {
	t.Helper()
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	return life
}

// All rows without a family of twelve clean tasters who also accepted it fresh. By hand, as in TestLifetimeByHand; further, for a quarter of
// n = 12 no rank reaches the lower end (0.75^12 = 0.032), the upper rank is 7: the seventh R, 8; levels attained are in R 4.2.2
// 1-2*pbinom(2,12,.5), pbinom(6,12,.25), pbinom(4,12,.1). Going on at 2, 4 ... 16 min: 12, 11, 8, 4, 2, 1, 0, 0; limits from
// binom.test(k, 12)$conf.int. Age 0 has no share. The intervals do not overlap, so the log-likelihood is the sum of n_i
// log(n_i / 12) over 1, 3, 4, 2, 1, 1. The mean of limits cut at 16 min lies between that of the left ends, (2 + 3 x 4 + 4 x 6 + 2 x 8 +
// 10 + 12) / 12 = 76/12, and that of the right ends, 2 more.
func TestLifetimeRowsByHand(t *testing.T) {
	in := twelve()
	for i := range 12 {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: i, Mode: panel.SipThrough, Verdict: panel.Accept})
	}
	life := mustLife(t, in)
	loglik := 3*math.Log(1.0/12) + 3*math.Log(3.0/12) + 4*math.Log(4.0/12) + 2*math.Log(2.0/12)
	var want []string
	add := func(key, numbers, unit string) { want = append(want, key+" | "+numbers+" | "+unit+" ok 12 6 74") }
	add("mean_to_from turnbull either_side+sip_through -", "6.33333 - - -", "min")
	add("mean_to_to turnbull either_side+sip_through -", "8.33333 - - -", "min")
	for _, q := range []struct{ name, from, to, limits string }{{"q50", "6", "8", "4 10 0.961426"}, {"q25", "4", "6", "0 8 0.985747"}, {"q10", "4", "6", "0 8 0.995671"},
		{"q50 first_no", "6", "8", "4 10 0.961426"}, {"q50 last_yes", "6", "8", "4 10 0.961426"}} {
		name, reading, ok := strings.Cut(q.name, " ")
		if !ok {
			reading = "either_side"
		}
		variant := " turnbull " + reading + "+sip_through -"
		add(name+variant, "- "+q.limits, "min")
		add(name+"_from"+variant, q.from+" - - -", "min")
		add(name+"_to"+variant, q.to+" - - -", "min")
	}
	for i, s := range []string{"1 0.735352 1", "0.916667 0.615204 0.997892", "0.666667 0.348876 0.900754", "0.333333 0.0992461 0.651124",
		"0.166667 0.0208625 0.484138", "0.0833333 0.00210759 0.384796", "0 0 0.264648", "0 0 0.264648"} {
		add(fmt.Sprint("share turnbull either_side+sip_through ", 2*(i+1)), s+" 0.95", "1")
	}
	add("loglik turnbull either_side+sip_through -", strconv.FormatFloat(loglik, 'g', 6, 64)+" - - -", "1")
	require.Equal(t, want, briefs(life.Rows, exact))
	for _, r := range life.Rows {
		require.Equal(t, []string{"lifetime", sour.Style, sour.Serve, "", "", ""}, []string{r.Question, r.Style, r.Serve, r.Session, r.Attribute, r.Taster})
	}
}

// A share that data leave open. Three tasters in (2,6], one in (6,8]: at 4 min one of four surely goes on (binom.test(1, 4):
// 0.006309463 below), four may (1 above); the curve leaves 1/4 to 1.
func TestShareRowsWithOpenEstimate(t *testing.T) {
	life := mustLife(t, evening("y.nn", "y.nn", "y.nn", "yyynn"))
	require.Equal(t, []string{
		"share turnbull either_side+sip_through 4 | - 0.00630946 1 0.95 | 1 ok 4 2 14",
		"share_from turnbull either_side+sip_through 4 | 0.25 - - - | 1 ok 4 2 14",
		"share_to turnbull either_side+sip_through 4 | 1 - - - | 1 ok 4 2 14",
	}, briefs(life.Rows, func(r Row) bool { return exact(r) && r.AgeMin == Of(4) }))
}

// A quantile known to a point is one row.
func TestQuantileKnownToAPoint(t *testing.T) {
	a := &Lifetime{}
	rows := a.exactRows(&LifetimePart{Method: "turnbull", Unit: "taster"}, Quantile{P: 0.25, From: Of(3), To: Of(3), Lower: Of(1), Upper: Of(5), Level: 0.96, Status: OK}, "v")
	require.Equal(t, []string{"q25 turnbull v - | 3 1 5 0.96 | min ok 0 0 0"}, briefs(rows, nil))
}

// wavering: six tasters, four of whom waver, at 2, 4, 6 ... min. Their limits by either side, first no and last yes:
//
//	a  4-10  4-6   8-10      c  6-8   6-8   6-8        e  8-14  8-10  12-14
//	b  2-10  2-4   8-10      d  6-12  6-8   10-12      f  4-6   4-6   4-6
func wavering() Input { return evening("yynynn", "ynyynn", "yyynnn", "yyynynn", "yyyynynn", "yynnn") }

// Median, limits and log-likelihood differ under each reading. With n = 6 the limits are the smallest L and the largest R,
// level 1 - 2/64.
//
// Either side: innermost sets (4,6], (6,8], (8,10] with masses p, q, r; a and b hold all three, c q, d q + r, e r, f p, so
// log p + log q + log r + log(q + r) is to be largest: p = 1/4, q = r = 3/8, and half is crossed in (6,8].
// First no: (2,4] 1, (4,6] 2, (6,8] 2, (8,10] 1 of 6: half is reached at the end of the second, hence 4 to 8.
// Last yes: (4,6] 1, (6,8] 1, (8,10] 2, (10,12] 1, (12,14] 1 of 6: half is crossed in (8,10].
func TestThreeReadingsByHand(t *testing.T) {
	type result struct {
		from, to, lower, upper string
		loglik                 float64
		words                  string
	}
	want := map[string]result{
		"either_side": {"6", "8", "2", "14", math.Log(1.0/4) + 2*math.Log(3.0/8) + math.Log(3.0/4), "between 6 and 8 min by either side"},
		"first_no":    {"4", "8", "2", "10", 2*math.Log(1.0/6) + 4*math.Log(2.0/6), "between 4 and 8 min by the first no"},
		"last_yes":    {"8", "10", "4", "14", 4*math.Log(1.0/6) + 2*math.Log(2.0/6), "between 8 and 10 min by the last yes"},
	}
	for _, order := range [][]string{{"either_side", "first_no", "last_yes"}, {"first_no", "either_side", "last_yes"}, {"last_yes", "either_side", "first_no"}} {
		t.Run(order[0], func(t *testing.T) {
			in := wavering()
			in.Panel.Settings.Unclear = order[0]
			life := mustLife(t, in)
			var q50 []string
			for _, name := range order {
				w := want[name]
				for _, x := range [][2]string{{"q50", "- " + w.lower + " " + w.upper + " 0.96875"}, {"q50_from", w.from + " - - -"}, {"q50_to", w.to + " - - -"}} {
					q50 = append(q50, x[0]+" turnbull "+name+"+sip_through - | "+x[1]+" | min ok 6 3 38")
				}
			}
			require.Equal(t, q50, briefs(life.Rows, func(r Row) bool { return exact(r) && strings.HasPrefix(r.Statistic, "q50") }))
			for _, r := range slices.DeleteFunc(life.Rows, func(r Row) bool { return !exact(r) }) {
				switch r.Statistic {
				case "loglik":
					require.InDelta(t, want[order[0]].loglik, r.Value.Float(), 1e-6)
					fallthrough
				case "share", "q25":
					require.Equal(t, order[0]+"+sip_through", r.Variant, "only the reading in force is told in full")
				}
			}
			w := want[order[0]]
			said := words(strings.Join(life.Sentences, " "))
			require.Contains(t, said, "Without an assumed curve the half lies between "+w.from+" and "+w.to+" min.")
			require.Contains(t, said, "Replies about 4 of 6 glasses went back and forth; every one of them counts.")
			var others []string
			for _, r := range life.Parts[0].OtherReadings() {
				others = append(others, words(r.where(life.Parts[0].Readings[0].grain()))+" by "+r.Words())
			}
			require.Equal(t, []string{want[order[1]].words, want[order[2]].words}, others)
		})
	}
}

// Three never accepted, three others are at (2,4], (4,6], (6,8]. Without the three: a third each, half is crossed in (4,6], limits
// of n = 3 the extremes 2 and 8, level 1 - 2/8. With them: half lies before 2, reached at its end, hence 0 to 4; n = 6, extremes 0
// and 8, level 1 - 2/64.
func TestWithoutNeverByHand(t *testing.T) {
	life := mustLife(t, evening("nn", "nn", "nn", "ynn", "yynn", "yyynn"))
	require.Equal(t, []string{
		"q50 turnbull either_side+sip_through - | - 0 8 0.96875 | min ok 6 3 18",
		"q50_from turnbull either_side+sip_through - | 0 - - - | min ok 6 3 18",
		"q50_to turnbull either_side+sip_through - | 4 - - - | min ok 6 3 18",
		"q50 turnbull either_side+sip_through+without_never - | - 2 8 0.75 | min not_enough 0 0 0",
		"q50_from turnbull either_side+sip_through+without_never - | 4 - - - | min not_enough 0 0 0",
		"q50_to turnbull either_side+sip_through+without_never - | 6 - - - | min not_enough 0 0 0",
	}, briefs(life.Rows, func(r Row) bool {
		return exact(r) && strings.HasPrefix(r.Statistic, "q50") && strings.HasPrefix(r.Variant, "either_side")
	}))
	// The sentence tells the headline of the three others, as if they alone had tasted.
	alone := mustLife(t, evening("ynn", "yynn", "yyynn")).Parts[0].Headline.Quantiles[0]
	require.Contains(t, words(strings.Join(life.Sentences, " ")), words("Tasters a, b and c never accepted it, at any age, and stay in; "+alone.words("without them half would leave the rest", "")))
}

// Six tasters see 4, 8 and 12 min once: 1, 3 and 5 of 6 would leave the rest, which is not decreasing, so these are the shares.
// Masses are the steps between them; the log-likelihood is the sum of k log(k/6) + (6 - k) log(1 - k/6). Half is reached at the
// end of (4,8], hence 4 to 12; a quarter is crossed in it. Limits of the median: the smallest L, 0, and the largest R, open; of a
// quarter the fifth R (1 - P(B >= 5) = 0.995361, B ~ Bin(6, 1/4)). Limits of shares: binom.test(k, 6)$conf.int.
// Without taster f, who never accepted, 0, 2 and 4 of 5: half is crossed in (8,12], limits the extremes 4 and open, level 1 - 2/32.
func TestIsotonicRowsByHand(t *testing.T) {
	in := beside([]float64{4, 8, 12}, "yyy", "yyn", "yyn", "ynn", "ynn", "nnn")
	loglik := 2*(math.Log(1.0/6)+5*math.Log(5.0/6)) + 6*math.Log(1.0/2)
	want := []string{
		"mean_to_from isotonic side_by_side - | 6 - - - | min ok 6 18 18",     // 4 x 2/6 + 8 x 2/6 + 12 x 1/6
		"mean_to_to isotonic side_by_side - | 9.33333 - - - | min ok 6 18 18", // 4 x 1/6 + 8 x 2/6 + 12 x 2/6 + 12 x 1/6
		"q50 isotonic side_by_side - | - 0 inf 0.96875 | min ok 6 18 18",
		"q50_from isotonic side_by_side - | 4 - - - | min ok 6 18 18",
		"q50_to isotonic side_by_side - | 12 - - - | min ok 6 18 18",
		"q25 isotonic side_by_side - | - 0 12 0.995361 | min ok 6 18 18",
		"q25_from isotonic side_by_side - | 4 - - - | min ok 6 18 18",
		"q25_to isotonic side_by_side - | 8 - - - | min ok 6 18 18",
		"q50 isotonic side_by_side+without_never - | - 4 inf 0.9375 | min not_enough 0 0 0",
		"q50_from isotonic side_by_side+without_never - | 8 - - - | min not_enough 0 0 0",
		"q50_to isotonic side_by_side+without_never - | 12 - - - | min not_enough 0 0 0",
		"share isotonic side_by_side 4 | 0.833333 0.358765 0.995789 0.95 | 1 ok 6 18 18",
		"share isotonic side_by_side 8 | 0.5 0.118117 0.881883 0.95 | 1 ok 6 18 18",
		"share isotonic side_by_side 12 | 0.166667 0.00421074 0.641235 0.95 | 1 ok 6 18 18",
		"loglik isotonic side_by_side - | " + strconv.FormatFloat(loglik, 'g', 6, 64) + " - - - | 1 ok 6 18 18",
	}
	life := mustLife(t, in)
	require.Equal(t, want, briefs(life.Rows, exact))
	p := life.Parts[0]
	require.Equal(t, 18, p.Curve.Rows)
	var masses []float64
	for _, s := range p.Curve.Sets {
		masses = append(masses, s.Mass)
	}
	require.InDeltaSlice(t, []float64{1.0 / 6, 2.0 / 6, 2.0 / 6, 1.0 / 6}, masses, 1e-12)

	// A rejection at age 0 says nothing about ageing: it is left out, and counted.
	in.see("a", 0, true)
	in.see("b", 0, true)
	life = mustLife(t, in)
	require.Equal(t, p.Curve, life.Parts[0].Curve)
	require.Equal(t, p.Shares, life.Parts[0].Shares)
	require.Equal(t, p.Quantiles, life.Parts[0].Quantiles)
	require.Equal(t, []LeftOut{{"rejected fresh, which says nothing about ageing", 2}}, life.Counts.LeftOut)
	require.Equal(t, []LeftOut{{"rejected fresh, which says nothing about ageing", 2}}, life.Parts[0].Counts.LeftOut)
	require.Equal(t, 18, life.Counts.RowsUsed)
}

// Side by side a share counts each taster once, by the first of their glasses on the step: taster a goes on at 7.9 and not at
// 8.1 (one step, its mean age is 8).
func TestFirstGlassOfAStepCounts(t *testing.T) {
	in := beside([]float64{4, 8}, "y.", "yn", "yy", "yy", "yn", "yn", "yn")
	in.see("a", 8.1, true)
	in.see("a", 7.9, false)
	shares := mustLife(t, in).Parts[0].Shares
	require.Len(t, shares, 2)
	s := shares[1]
	require.Equal(t, 8.0, s.AgeMin)
	require.Equal(t, []int{3, 3, 7}, []int{s.Going, s.Possible, s.Units}, "a, c and d of seven")
	require.Equal(t, 5, s.No, "tasters with a no at that step: all but c and d")
	// binom.test(3, 7)$conf.int in R 4.2.2
	require.InDelta(t, 0.0989883, s.Lower, 5e-8)
	require.InDelta(t, 0.8159484, s.Upper, 5e-8)
}

// A step is named by its mean actual age, in full: of 2, 2.1 and 2.3 min that is 32/15 min, in every answer.
func TestStepAgesAreMeans(t *testing.T) {
	in := evening("ynn", "ynn", "ynn")
	for i := range in.Panel.Tastes {
		if x := &in.Panel.Tastes[i]; x.Age == panel.Age(2) {
			x.Age = panel.Age([]float64{2, 2.1, 2.3}[x.Pour])
		}
		in.Panel.Tastes[i].Scores = []panel.Score{{Value: 5, Given: true}}
	}
	in.Panel.Attributes = []panel.Attribute{{Name: "liking"}}
	mean := 32.0 / 15
	life := mustLife(t, in)
	require.InDelta(t, mean, life.Parts[0].Shares[0].AgeMin, 1e-9)
	require.Equal(t, []int{3, 3}, []int{life.Parts[0].Shares[0].Going, life.Parts[0].Shares[0].Units})
	require.Equal(t, 0, life.Parts[0].Shares[0].No)
	require.Equal(t, 3, life.Parts[0].Shares[1].No)
	at := map[string][]float64{}
	for _, r := range life.Rows {
		if r.Statistic == "share" {
			at[r.Method+" "+r.Variant] = append(at[r.Method+" "+r.Variant], r.AgeMin.Float())
		}
	}
	require.Len(t, at, 3)
	for _, ages := range at { // with a family, of replies, and without
		require.InDeltaSlice(t, []float64{mean, 4, 6}, ages, 1e-9)
	}
	scores, err := NewScores(in, sour)
	require.NoError(t, err)
	require.InDelta(t, mean, scores.Attributes[0].Steps[0].AgeMin, 1e-9)
	data, err := NewData(in)
	require.NoError(t, err)
	require.InDelta(t, mean, data.Sessions[0].Drinks[0].Steps[0].AgeMin, 1e-9)
}

// Two scores of one taster at one step are averaged first: 2 and 4 make 3, beside another's 9 the mean is 6 (not 5). Type-7
// quartiles of 3 and 9: quantile(c(3, 9), c(.25, .75)) in R 4.2.2 is 4.5 and 7.5.
func TestScoresAverageATasterFirst(t *testing.T) {
	in := evening("y", "y")
	in.Panel.Attributes = []panel.Attribute{{Name: "liking", Ranged: true, High: 10}}
	in.Panel.Tastes = append(in.Panel.Tastes, in.Panel.Tastes[0])
	in.Panel.Tastes[2].Age += panel.Age(0.2)
	for i, v := range []float64{2, 9, 4} {
		in.Panel.Tastes[i].Scores = []panel.Score{{Value: v, Given: true}}
	}
	scores, err := NewScores(in, sour)
	require.NoError(t, err)
	s := scores.Attributes[0].Steps
	require.Len(t, s, 1)
	require.Equal(t, ScoreStep{AgeMin: s[0].AgeMin, Tasters: 2, Mean: 6, LowQuarter: 4.5, HighQuarter: 7.5, Least: 3, Most: 9}, s[0])
	require.Len(t, scores.Attributes[0].Points, 3, "every score is shown")
	require.Equal(t, []string{
		"mean raw  2.06667 | 6 - - - | points ok 2 1 3",
		"low_quarter raw  2.06667 | 4.5 - - - | points ok 2 1 3",
		"high_quarter raw  2.06667 | 7.5 - - - | points ok 2 1 3",
	}, briefs(scores.Rows, nil))
}

// The limits count the glass that a taster was given first; the act looks at all.
func TestFirstGlassOfATasterCounts(t *testing.T) {
	in := evening("yynn", "yyynn", "yyynn", "yynn")
	p := in.Panel
	p.Sessions = []panel.Session{{Name: "a late", Date: "2026-03-09"}, {Name: "z early", Date: "2026-03-02"}}
	for i := range p.Pours {
		p.Pours[i].Session = "a late"
	}
	for i := range p.Tastes {
		p.Tastes[i].Session = "a late"
	}
	p.Pours = append(p.Pours, panel.Pour{Session: "z early", ID: "first", Taster: "a", Style: sour.Style, Serve: sour.Serve, Batch: "e"})
	for _, x := range []struct {
		age float64
		v   panel.Verdict
	}{{8, panel.Accept}, {10, panel.Reject}} {
		p.Tastes = append(p.Tastes, panel.Taste{Session: "z early", Taster: "a", Pour: 4, Mode: panel.SipThrough, Age: panel.Age(x.age), Verdict: x.v})
	}
	part := mustLife(t, in).Parts[0]
	require.Equal(t, 4, part.Units)
	require.Len(t, part.Intervals, 5)
	require.Equal(t, Interval{Taster: "a", Session: "z early", Pour: "first", L: Of(8), R: Of(10), Counted: true}, part.Intervals[0])
	require.Equal(t, Interval{Taster: "a", Session: "a late", Pour: "ga", L: Of(4), R: Of(6)}, part.Intervals[4])
	require.Equal(t, []Num{Of(4), Of(10)}, []Num{part.median().Lower, part.median().Upper})
	require.Equal(t, 5, part.Curve.Rows)
}

// addTaster adds one more taster with a glass and a batch of their own to an evening.
func addTaster(in Input, word string) {
	p := in.Panel
	name := fmt.Sprint("t", len(p.Pours))
	p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: "g" + name, Taster: name, Style: sour.Style, Serve: sour.Serve, Batch: name})
	for k, c := range word {
		v := panel.Accept
		if c == 'n' {
			v = panel.Reject
		}
		p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: name, Pour: len(p.Pours) - 1, Mode: panel.SipThrough, Age: panel.Age(float64(2 + 2*k)), Verdict: v})
	}
}
