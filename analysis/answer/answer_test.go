package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

var sour = endpoint.Drink{Style: "sour", Serve: "coupe"}

// evening makes a sip-through panel: one string per taster, 'y' and 'n' at ages 2, 4, 6 ..., '.' for no taste. The letter of
// taster i is the i-th of the alphabet; every taster has an own glass, two to a batch.
func evening(words ...string) Input {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Unclear: "either_side"}}
	for i, w := range words {
		name := string(rune('a' + i))
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: "g" + name, Taster: name, Style: sour.Style, Serve: sour.Serve, Batch: fmt.Sprint("b", i/2)})
		for k, c := range w {
			if c == '.' {
				continue
			}
			v := panel.Accept
			if c == 'n' {
				v = panel.Reject
			}
			p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: name, Pour: i, Mode: panel.SipThrough, Age: panel.Age(float64(2 + 2*k)), Verdict: v})
		}
	}
	return Input{Panel: p, Quick: true}
}

// twelve clean tasters; their intervals are (2,4] once, (4,6] three times, (6,8] four times, (8,10] twice, (10,12], (12,14].
func twelve() Input {
	return evening("ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyynn", "yyyyynn", "yyyyyynn")
}

// Worked by hand: with n = 12 the ranks of the median's limits are 3 and 10 (P(B <= 2) = 0.0193, B ~ Bin(12, 1/2)), level
// 1 - 2 * 0.0193 = 0.9614; sorted L: 2 4 4 4 6 6 6 6 8 8 10 12, third 4; sorted R: 4 6 6 6 8 8 8 8 10 10 12 14, tenth 10. The
// curve has mass 1/12, 3/12, 4/12, 2/12, 1/12, 1/12; half is crossed inside (6,8].
func TestLifetimeByHand(t *testing.T) {
	life, err := NewLifetime(twelve(), sour)
	require.NoError(t, err)
	require.Equal(t, OK, life.Status)
	p := life.Parts[0]
	q := p.median()
	require.Equal(t, []Num{Of(6), Of(8), Of(4), Of(10)}, []Num{q.From, q.To, q.Lower, q.Upper})
	require.InDelta(t, 1-2*float64(1+12+66)/4096, q.Level, 1e-12)
	// The headline's numbers are those of testdata/answer/replies.csv: 6.888 (5.316 to 8.796), 4.259 (2.656 to 5.698).
	require.Equal(t, "Half of drinkers like these would leave the rest at about 7 min (95 % limits 5½ to 9 min, for these drinks).", words(life.Sentences[0]))
	require.Equal(t, "One in ten would leave the rest at about 4½ min (95 % limits 2½ to 5½ min), read off the curve's shape, not seen.", words(life.Sentences[1]))
	require.Equal(t, "Without an assumed curve the half lies between 6 and 8 min.", words(life.Sentences[2]))
	require.Equal(t, "All 12 tasters would go on with it at 2 min, none at 14 min.", words(life.Sentences[3]))
	require.Contains(t, words(life.Sentences[4]), "94, 89, 85", "six batches and twelve tasters: next fewer batches are four")
	require.Len(t, p.Quantiles, 3)
	// One in ten: mass 1/12 lies in (2,4], crossed inside (4,6]; no rank reaches the lower end (0.9^12 = 0.28), the upper
	// rank is 4 (P(B >= 4) = 0.0256 is over 0.025, P(B >= 5) = 0.0043): the fifth R, 8.
	q10 := p.Quantiles[2]
	require.Equal(t, []Num{Of(4), Of(6), Of(0), Of(8)}, []Num{q10.From, q10.To, q10.Lower, q10.Upper})
	// At 6 min: surely going on L >= 6: 8 of 12; possibly R > 6: 8 of 12.
	s := p.Shares[2]
	require.Equal(t, []int{8, 8, 12}, []int{s.Going, s.Possible, s.Units})
	require.InDelta(t, 8.0/12, s.EstLo, 1e-9)
	require.InDelta(t, 8.0/12, s.EstHi, 1e-9)
	// binom.test(8, 12)$conf.int in R 4.2.2: 0.3488755 0.9007539
	require.InDelta(t, 0.3488755, s.Lower, 5e-8)
	require.InDelta(t, 0.9007539, s.Upper, 5e-8)
	require.Less(t, p.Curve.Gap, 1e-6)
}

// words undoes no-break spaces.
func words(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

// Below eight tasters the act is the smallest L.
func TestServeByIsSmallestL(t *testing.T) {
	in := evening("ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn")
	for i := range in.Panel.Tastes { // every taste three quarters of a minute late
		in.Panel.Tastes[i].Age += panel.Age(0.75)
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	require.Equal(t, leastOfAllLs, act.Basis)
	require.Equal(t, Of(2.75), act.SmallestL)
	require.Equal(t, Of(2.5), act.Act, "rounded down, never to the nearest")
	require.Equal(t, []string{"a"}, act.Tasters)
	require.Equal(t, "Good for 2½ minutes from the making, the walk to the table included.", words(act.Sentences[0]))
	require.Equal(t, "act", act.Rows[0].Statistic)
	require.Equal(t, Of(2.5), act.Rows[0].Value)
}

// A taster who never accepts stays in, is named, and the answer without them stands beside.
func TestNeverAccepts(t *testing.T) {
	in := twelve()
	for _, age := range []float64{2, 4, 6} { // thrice: one no alone may be a slip
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "z", Pour: 0, Mode: panel.SipThrough, Age: panel.Age(age), Verdict: panel.Reject})
	}
	in.Panel.Pours[0].Taster = ""
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	require.Equal(t, []string{"z"}, life.Parts[0].NeverTook)
	require.Equal(t, 13, life.Parts[0].Units)
	require.NotNil(t, life.Parts[0].WithoutNeverExact)
	require.Equal(t, Of(4), life.Parts[0].WithoutNeverExact.Lower)
	alone := mustLife(t, twelve()).Parts[0].Headline
	require.Equal(t, alone.Quantiles[0], *life.Parts[0].WithoutNever, "as if they had not been there")
	require.Equal(t, alone.Quantiles[2], *life.Parts[0].WithoutNeverTenth)
	require.Contains(t, strings.Join(life.Sentences, " "), "Taster z never accepted it, at any age, and stay")
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	with, _ := life.Parts[0].Headline.Quantile(0.1)
	require.Equal(t, floorHalf(with.From.Float()), act.Act.Float())
	require.Less(t, act.Act.Float(), 4.0, "they stay in")
	require.Contains(t, words(strings.Join(act.Sentences, " ")), "Without z, who never accepted it, it would be 4 minutes.")
	require.Equal(t, "act one_in_ten sip_through+without_never - | 4 - - - | min ok 12 6 62", brief(act.Rows[2]))
}

// Two tasters: replies only. Three to five: the headline's half with its limits, beside it [smallest L, largest R] with the level
// that this attains, 1 - 2^(1-n); no quarter, no one in ten. Six: a quarter; eight: one in ten.
func TestFewTasters(t *testing.T) {
	for _, tt := range []struct {
		n             int
		status, exact string
		level         float64
		quants        int
	}{
		{1, NotEnough, "", 0, 0}, {2, NotEnough, "", 0, 0},
		{3, OK, NotEnough, 0.75, 1}, {4, OK, NotEnough, 0.875, 1}, {5, OK, NotEnough, 0.9375, 1}, // 1 - 2^(1-n)
		{6, OK, OK, 1 - 2.0/64, 2}, {7, OK, OK, 1 - 2.0/128, 2}, {8, OK, OK, 1 - 2.0/256, 3},
	} {
		t.Run(fmt.Sprint(tt.n), func(t *testing.T) {
			all := []string{"yynn", "yyynn", "ynn", "yyyynn", "yynn", "yyynn", "yynn", "yyynn"}
			life, err := NewLifetime(evening(all[:tt.n]...), sour)
			require.NoError(t, err)
			require.Equal(t, tt.status, life.Status)
			p := life.Parts[0]
			require.Len(t, p.Quantiles, tt.quants)
			if tt.quants == 0 {
				require.Nil(t, p.Headline)
				require.Contains(t, words(life.Sentences[0]), "What the replies tell: a would leave the rest between 4 and 6 min")
			} else {
				require.Len(t, p.Headline.Quantiles, tt.quants)
				require.Equal(t, tt.exact, p.median().Status)
				require.InDelta(t, tt.level, p.median().Level, 1e-12)
				require.Equal(t, 0.95, p.Headline.Quantiles[0].Level)
				require.True(t, p.Headline.Quantiles[0].Lower.Float() > 0 && p.Headline.Quantiles[0].Upper.Finite())
			}
			if tt.n > 2 && tt.n < 8 {
				require.Equal(t, Of(2), p.median().Lower, "the smallest L")
				require.Equal(t, []Num{Of(8), Of(10)}[min(tt.n-3, 1)], p.median().Upper, "the largest R")
			}
			require.Equal(t, tt.quants == 3, slices.ContainsFunc(life.Rows, func(r Row) bool { return strings.HasPrefix(r.Statistic, "q10") }))
			act, err := NewServeBy(evening(all[:tt.n]...), sour, life, nil)
			require.NoError(t, err)
			require.True(t, act.Act.Finite(), "every page has an act")
		})
	}
}

// One taster with three own pours: the pour is the unit, the word half is about pours.
func TestOneTaster(t *testing.T) {
	in := evening("yynn", "yyynn", "yyyynn")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Taster = "a"
	}
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Taster = "a"
	}
	shared, err := NewLifetime(in, sour)
	require.NoError(t, err)
	require.Equal(t, 2, shared.Parts[0].Units, "two pours of one batch are not made independently")
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Batch = fmt.Sprint(i)
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	p := life.Parts[0]
	require.Equal(t, "pour", p.Unit)
	require.Equal(t, 3, p.Units)
	require.Contains(t, life.Sentences[0], "taster a")
	require.Contains(t, life.Sentences[0], "for this taster")
}

func TestStatuses(t *testing.T) {
	status := func(words ...string) string {
		life, err := NewLifetime(evening(words...), sour)
		require.NoError(t, err)
		return life.Status
	}
	require.Equal(t, BeyondLastAge, status("yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"))
	require.Equal(t, BeforeFirstAge, status("nn", "nn", "nn", "nn", "nn", "nn"))
	in := evening("n", "n", "n")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Age = 0
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	require.Equal(t, BeforeFirstAge, life.Status)
	require.Equal(t, "", life.Rows[0].Value.String())
	in = evening("...")
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 0, Mode: panel.SipThrough})
	life, err = NewLifetime(in, sour)
	require.NoError(t, err)
	require.Equal(t, NotAsked, life.Status)
}

// Side by side speaks in the sentence from five tasters up; one status row a verdict, one interval a taster.
func TestSideBySideSpeaksFirst(t *testing.T) {
	for _, n := range []int{4, 5} {
		in := twelve()
		for i := range n {
			for _, age := range []float64{3, 7, 11} {
				in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i, age), Style: sour.Style, Serve: sour.Serve})
				v := panel.Accept
				if age > 5 {
					v = panel.Reject
				}
				in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: len(in.Panel.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: v})
			}
		}
		life, err := NewLifetime(in, sour)
		require.NoError(t, err)
		require.Len(t, life.Parts, 2)
		want := "sip_through"
		if n == 5 {
			want = "side_by_side"
		}
		require.Equal(t, want, life.Parts[0].Mode)
		side := life.Parts[map[bool]int{true: 0, false: 1}[n == 5]]
		require.Equal(t, "isotonic", side.Method)
		require.Equal(t, []Num{Of(3), Of(7)}, []Num{side.median().From, side.median().To})
		require.Equal(t, n, side.Units)
	}
}

// Every answer survives a JSON round trip.
func TestRoundTrip(t *testing.T) {
	in := twelve()
	in.Panel.Attributes = []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Limit: 4}}
	in.Panel.Settings.Overall, in.Panel.Settings.HasLimits = "liking", true
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Scores = []panel.Score{{Value: float64(i % 10), Given: true}}
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	scores, err := NewScores(in, sour)
	require.NoError(t, err)
	rejections, err := NewRejections(in, sour)
	require.NoError(t, err)
	data, err := NewData(in)
	require.NoError(t, err)
	glass, err := NewGlass(in, sour)
	require.NoError(t, err)
	in.Panel.Readings = []panel.Reading{{Session: "one", Pour: 0, Age: panel.Age(2), Quantity: "temperature", Value: -3.5, Unit: "C"}}
	readings, err := NewReadings(in, sour)
	require.NoError(t, err)
	provenance := NewProvenance(in, []InputFile{{Session: "one", File: "tastes.csv", SHA256: "00", Bytes: 3}}, []Fact{{"go", "go1"}})
	first, err := NewGoesFirst(twelveScored(), sour)
	require.NoError(t, err)
	ages, err := NewAgeDifferences(twelveScored(), sour)
	require.NoError(t, err)
	for _, a := range []Answer{life, act, scores, rejections, data, glass, readings, first, ages, &Differences{}, &PrimeWindow{}, provenance, NewCompare([]*ServeBy{act})} {
		b, err := Encode(a)
		require.NoError(t, err)
		back, err := Decode(b)
		require.NoError(t, err)
		require.Equal(t, a, back)
	}
	require.Len(t, kinds, 13, "a new answer type belongs into this test")
}

func TestNum(t *testing.T) {
	for _, n := range []Num{{}, Of(0), Of(7.25), Of(math.Inf(1))} {
		b, err := n.MarshalJSON()
		require.NoError(t, err)
		var back Num
		require.NoError(t, back.UnmarshalJSON(b))
		require.Equal(t, n, back)
	}
	require.Panics(t, func() { Of(math.NaN()) })
	require.Error(t, new(Num).UnmarshalJSON([]byte(`"x"`)))
}

func TestGrain(t *testing.T) {
	require.Equal(t, "7½", GrainOf(Of(6), Of(9.5)).Minutes(Of(7.4)))
	require.Equal(t, "7.4", GrainOf(Of(6.5), Of(8.5)).Minutes(Of(7.44)))
	require.Equal(t, "½", Halves.Minutes(Of(0.4)))
	require.Equal(t, "0", Halves.Minutes(Of(0.2)))
	require.Equal(t, "open", Halves.Minutes(Of(math.Inf(1))))
}

// The keys of results.csv are unique over all answers of one study.
func TestRowKeysUnique(t *testing.T) {
	in := twelve()
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, r := range life.Rows {
		k := fmt.Sprint(r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin, r.Statistic, r.Method, r.Variant)
		require.False(t, seen[k], k)
		seen[k] = true
	}
}

// Quartiles by hand: of 1, 2, 4, 8 the type-7 quarter points are 1.75 and 5.
func TestType7(t *testing.T) {
	x := []float64{1, 2, 4, 8}
	require.Equal(t, 1.75, type7(x, 0.25))
	require.Equal(t, 5.0, type7(x, 0.75))
	require.Equal(t, 8.0, type7(x, 1))
	require.Equal(t, 3.0, type7([]float64{3}, 0.25))
}

// The act looks at every glass, the exact limits count the glass made first.
func TestSecondGlassesMoveTheActOnly(t *testing.T) {
	in := evening("ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn")
	before, err := NewLifetime(in, sour)
	require.NoError(t, err)
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Made = 0
	}
	in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: "late", Taster: "g", Style: sour.Style, Serve: sour.Serve, Batch: "b9", Made: panel.Age(30)})
	for _, x := range []struct {
		age float64
		v   panel.Verdict
	}{{1, panel.Accept}, {3, panel.Reject}} {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "g", Pour: len(in.Panel.Pours) - 1, Mode: panel.SipThrough, Age: panel.Age(x.age), Verdict: x.v})
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	require.Equal(t, 7, life.Parts[0].Units)
	require.Equal(t, before.Parts[0].median().Lower, life.Parts[0].median().Lower)
	require.Len(t, life.Parts[0].Intervals, 8)
	require.Equal(t, 8, life.Parts[0].Curve.Rows, "the curve uses every glass")
	h := life.Parts[0].Headline
	require.Equal(t, 8, h.Units, "so does the headline")
	require.True(t, h.TasterSD.Finite() && h.GlassSD.Finite())
	require.InDelta(t, h.LogSD.Float(), math.Hypot(h.TasterSD.Float(), h.GlassSD.Float())*math.Sqrt(7.0/6), 1e-12, "seven tasters, together the spread before it is widened")
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	require.Equal(t, Of(1), act.Act)
	require.Equal(t, []string{"g"}, act.Tasters)
}

func TestWhatLimitsSpeakFor(t *testing.T) {
	for _, tt := range []struct {
		reason string
		change func(p *panel.Panel)
		want   string
	}{
		{"two glasses a shake", func(*panel.Panel) {}, ", for these drinks)"},
		{"batches unknown", func(p *panel.Panel) { p.Pours[0].Batch = "" }, ", for these drinks)"},
		{"every taster an own shake", func(p *panel.Panel) {
			for i := range p.Pours {
				p.Pours[i].Batch = fmt.Sprint(i)
			}
		}, "min)"},
		{"two evenings", func(p *panel.Panel) {
			p.Sessions = append(p.Sessions, panel.Session{Name: "two"})
			for i := range p.Tastes {
				if p.Tastes[i].Taster == "a" {
					p.Tastes[i].Session = "two"
				}
			}
		}, ", for these drinks and evenings)"},
	} {
		t.Run(tt.reason, func(t *testing.T) {
			in := twelve()
			tt.change(in.Panel)
			life, err := NewLifetime(in, sour)
			require.NoError(t, err)
			require.Contains(t, words(life.Sentences[0]), tt.want)
		})
	}
}

func TestReadings(t *testing.T) {
	in := twelve()
	none, err := NewReadings(in, sour)
	require.NoError(t, err)
	require.Equal(t, NotAsked, none.Status)
	read := func(pour int, age, v float64) panel.Reading {
		return panel.Reading{Session: "one", Pour: pour, Age: panel.Age(age), Quantity: "temperature", Value: v, Unit: "C"}
	}
	in.Panel.Readings = []panel.Reading{read(1, 9, 1), read(0, 6, 0.5), read(0, 1, -4), read(0, 1, -4.5)}
	got, err := NewReadings(in, sour)
	require.NoError(t, err)
	require.Equal(t, "Read in 2 glasses: temperature.", words(got.Sentences[0]))
	require.Equal(t, "Temperature went from -4 to 1 °C between 1 and 9 min.", words(got.Sentences[1]))
	require.Len(t, got.Rows, 4)
	require.NotEqual(t, got.Rows[0].Variant, got.Rows[1].Variant, "two readings at one minute have keys of their own")
	other, err := NewReadings(in, endpoint.Drink{Style: "stirred"})
	require.NoError(t, err)
	require.Empty(t, other.Series)
}

func TestCompareOrdersByAct(t *testing.T) {
	act := func(label string, x float64) *ServeBy {
		return &ServeBy{Head: Head{Act: Of(x), AxisEnd: 16}, Ribbon: Ribbon{Label: label}}
	}
	c := NewCompare([]*ServeBy{act("sour", 3), act("stirred", 5.5), act("highball", 3)})
	require.Equal(t, "Stirred is good for 5½ minutes; highball must be drunk first, within 3 minutes.", words(c.Sentences[0]))
	require.Equal(t, []string{"stirred", "sour", "highball"}, []string{c.Styles[0].Ribbon.Label, c.Styles[1].Ribbon.Label, c.Styles[2].Ribbon.Label})
	require.Contains(t, NewCompare([]*ServeBy{act("a", 2), act("b", 2)}).Sentences[0], "same time")
	require.Equal(t, NotAsked, NewCompare(nil).Status)
}

// Tastes by those who knew the drink stay in; the answer without them stands beside, with rows of its own.
func TestWithoutAware(t *testing.T) {
	in := twelve()
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Aware = in.Panel.Tastes[i].Taster == "a"
	}
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	require.Contains(t, words(life.Sentences[len(life.Sentences)-1]), "Without the 3 tastes by those who made or knew the drink: half of drinkers")
	var with, without *Row
	for i, r := range life.Rows {
		switch {
		case r.Statistic == "q50" && r.Variant == "either_side+sip_through":
			with = &life.Rows[i]
		case r.Statistic == "q50" && r.Variant == "either_side+sip_through+without_aware":
			without = &life.Rows[i]
		}
	}
	require.NotNil(t, with)
	require.NotNil(t, without)
	require.Equal(t, 11, without.Tasters)
	require.Equal(t, Of(4), without.Lower, "sorted L of the eleven others: 4 4 4 6, rank 2")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Aware = true
	}
	_, err = NewLifetime(in, sour)
	require.NoError(t, err, "nobody is left")
}

func TestNextEvening(t *testing.T) {
	life, err := NewLifetime(twelve(), sour)
	require.NoError(t, err)
	require.Equal(t, "Taste most between 2½ and 9 min, several ages side by side and blind: one in ten, on which the act rests, and the half lie there.", words(life.NextEvening[0]))
	life, err = NewLifetime(evening("yyyy", "yyyy", "yyyy", "yyyy", "yyyy", "yyyy"), sour)
	require.NoError(t, err)
	require.Contains(t, life.NextEvening[0], "later ages")
	life, err = NewLifetime(evening("yyyy"), sour)
	require.NoError(t, err)
	require.Contains(t, life.NextEvening[0], "at least six tasters")
}

func answers(t *testing.T, in Input) (*Lifetime, *ServeBy, string) {
	t.Helper()
	life, err := NewLifetime(in, sour)
	require.NoError(t, err)
	act, err := NewServeBy(in, sour, life, nil)
	require.NoError(t, err)
	return life, act, words(strings.Join(append(slices.Clone(act.Sentences), life.Sentences...), " "))
}

// Nobody was asked: that is said, and no act is invented.
func TestNotAskedHasNoAct(t *testing.T) {
	in := evening("...")
	in.Panel.Tastes = []panel.Taste{{Session: "one", Taster: "a", Pour: 0, Mode: panel.SipThrough, Age: panel.Age(2)}}
	_, act, said := answers(t, in)
	require.True(t, act.Act.Empty())
	require.Contains(t, said, "Not answered: nobody was asked")
	require.Equal(t, NotAsked, act.Rows[0].Status)
	require.Equal(t, "", act.Rows[0].Value.String())
	data, err := NewData(in)
	require.NoError(t, err)
	require.Contains(t, strings.Join(data.Findings, " "), "cannot be answered")
}

// A no before a first yes is not counted, and the sentences do not claim that everyone would go on at that age.
func TestEarlyNoIsTold(t *testing.T) {
	life, act, said := answers(t, evening("yynn", "yyynn", "nyynn", "yyynn"))
	require.Equal(t, Of(4), act.Act)
	require.Contains(t, said, "Not counted: 1 no before a first yes (taster c).")
	require.NotContains(t, said, "at 2 min")
	require.Contains(t, said, "All 4 tasters would go on with it at 4 min")
	require.Equal(t, 1, life.Parts[0].Shares[0].No)
}

func TestActBelowHalfAMinute(t *testing.T) {
	in := evening("yn", "yn", "yn", "yn", "yn", "yn")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Age /= 10
	}
	_, act, said := answers(t, in)
	require.Equal(t, Of(0), act.Act)
	require.Contains(t, said, "not even half a minute is shown for everyone")
	require.Contains(t, said, "is 0.2 min")
	require.NotContains(t, said, "already leave the rest")
}

func TestNobodyDoubted(t *testing.T) {
	_, _, said := answers(t, evening("yyy", "yyy", "yyy"))
	require.Contains(t, said, "nobody had left it by then")
	require.NotContains(t, said, "doubt")
	_, _, said = answers(t, evening("yy", "yyyn", "yyyn"))
	require.Contains(t, said, "taster a tasted no longer")
}

// Readings are compared as they print: 6 to 8 in one grain is not 6.0 to 8.0 in another.
func TestReadingsThatPrintAlike(t *testing.T) {
	r := func(name string, lower, upper float64) Reading {
		return Reading{Name: name, Median: Quantile{From: Of(6), To: Of(8), Lower: Of(lower), Upper: Of(upper)}}
	}
	p := LifetimePart{Readings: []Reading{r("either_side", 4, 10), r("first_no", 5, 10), r("last_yes", 6.5, 8)}}
	require.Empty(t, p.OtherReadings())
}

// Side by side from one batch an age says that age and shake cannot be told apart; two batches an age do not.
func TestAgeIsBatch(t *testing.T) {
	for _, batches := range []int{1, 2} {
		in := twelve()
		in.Panel.Pours, in.Panel.Tastes = nil, nil
		for i := range 6 {
			for _, age := range []float64{3, 8, 15} {
				in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i, age), Style: sour.Style, Serve: sour.Serve, Batch: fmt.Sprint(age, i%batches)})
				in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: len(in.Panel.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: panel.Accept})
			}
		}
		life, _, _ := answers(t, in)
		require.Equal(t, batches == 1, strings.Contains(strings.Join(life.Warnings, " "), "cannot be told from its shake"))
	}
}

// A step that few glasses were tasted at is no gap of the others.
func TestGaps(t *testing.T) {
	in := evening("yyyn", "y.yn", "yyyn", "yyyn")
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 0, Mode: panel.SipThrough, Age: panel.Age(5), Verdict: panel.Accept})
	data, err := NewData(in)
	require.NoError(t, err)
	require.Equal(t, []string{"taster b, glass gb: nothing at 4 min"}, []string{words(data.Sessions[0].Drinks[0].Gaps[0])})
	require.Len(t, data.Sessions[0].Drinks[0].Gaps, 1)
}

// One taster side by side: pours are the units of the limits, and the act rests on all replies together, in order of age.
func TestOneTasterSideBySide(t *testing.T) {
	in := evening()
	for i, age := range []float64{3, 4, 8, 9, 15} {
		in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i), Style: sour.Style, Serve: sour.Serve, Batch: fmt.Sprint(i)})
		v := panel.Accept
		if age > 5 {
			v = panel.Reject
		}
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: i, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: v})
	}
	life, act, _ := answers(t, in)
	require.Equal(t, 5, life.Parts[0].Units)
	require.Equal(t, "s3", life.Parts[0].Intervals[3].Pour, "every row is about its own pour")
	require.Equal(t, Of(4), act.Act)
	require.Empty(t, life.Parts[0].NeverTook)
	require.Nil(t, life.Parts[0].WithoutNever)
}

// A taster who rejected it fresh has no interval: that is said, and nobody claims that they stay in.
func TestRejectedFresh(t *testing.T) {
	in := evening("yyynn", "yyynn", "yyynn", "yyynn", "yyynn", "n")
	in.Panel.Tastes[len(in.Panel.Tastes)-1].Age = 0
	life, act, said := answers(t, in)
	require.Equal(t, []string{"f"}, life.Parts[0].RejectedFresh)
	require.Empty(t, life.Parts[0].NeverTook)
	require.Equal(t, Of(6), act.Act)
	require.Contains(t, said, "Not counted: taster f, who rejected it fresh")
	require.Contains(t, said, "Taster f rejected it fresh and tasted no older one: not in these figures.")
	require.NotContains(t, said, "stays in")
}

// Never is a word about a taster, not about a glass.
func TestNeverIsAboutTasters(t *testing.T) {
	in := evening("yyynn", "yynn", "yynn", "yynn")
	in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: "second", Taster: "a", Style: sour.Style, Serve: sour.Serve, Batch: "b7"})
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 4, Mode: panel.SipThrough, Age: panel.Age(2), Verdict: panel.Reject})
	life, act, said := answers(t, in)
	require.Empty(t, life.Parts[0].NeverTook)
	require.NotContains(t, said, "never accepted")
	require.Equal(t, Of(0), act.Act, "their second glass was turned away at 2")
	require.Contains(t, said, "By 2 min taster a would already leave the rest.")
}

// The sentence names the earliest no and whose it is, not everyone's.
func TestFirstNoIsWhose(t *testing.T) {
	in := evening("nn", ".nn", "yyn", "yyn", "yyn", "yyn")
	_, _, said := answers(t, in)
	require.Contains(t, said, "By 2 min taster a would already leave the rest.")
	in = evening("yyn", "yyn", "y")
	in.Panel.Tastes[len(in.Panel.Tastes)-1].Age = 0
	_, act, said := answers(t, in)
	require.Equal(t, Of(0), act.Act)
	require.Contains(t, said, "Taster c tasted it fresh only.")
}

// Medians without a family at the edges are told as what they are, and so is the headline.
func TestMedianAtTheEdges(t *testing.T) {
	half := func(in Input) (said string, headline, exact Quantile) {
		life, _, _ := answers(t, in)
		p := life.Parts[0]
		return words(strings.Join(life.Sentences, " ")), p.Headline.Quantiles[0], p.median()
	}
	said, h, q := half(evening("ynn", "ynn", "yyyy", "yyyy"))
	require.Contains(t, said, "Without an assumed curve the half lies past 2 min (", "a flat step is no open end")
	require.False(t, q.Beyond)
	require.Equal(t, OK, h.Status)
	require.Contains(t, said, "(95 % limits open at both ends, for these drinks)")
	said, h, q = half(evening("nn", "nn", "nn", "nn", "yyynn", "yyynn", "yyynn", "yyynn"))
	require.Contains(t, said, "Without an assumed curve the half lies at some age up to 8 min.")
	require.Equal(t, []string{OK, OK}, []string{h.Status, q.Status})
	said, h, q = half(evening("nn", "nn", "nn", "nn", "nn", "yyynn"))
	require.Contains(t, said, "Half of drinkers like these would leave the rest by 2 min, the first age tasted")
	require.Equal(t, []Num{Of(0), Of(2)}, []Num{h.From, h.To})
	require.Equal(t, []string{BeforeFirstAge, BeforeFirstAge}, []string{h.Status, q.Status})
	in := evening("ynn", "ynn", "ynn", "ynn", "ynn", "ynn")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Age -= panel.Age(2)
	}
	said, h, q = half(in)
	require.Contains(t, said, "at some age up to 2.0 min (95 % limits up to 2.0 min, lower end open", "fresh it was accepted")
	require.Equal(t, []Num{Of(0), Of(2)}, []Num{h.From, h.To}, "not 0: that would be said of a drink that they accepted fresh")
	require.Equal(t, []string{OK, OK}, []string{h.Status, q.Status})
	said, h, q = half(evening("yy", "yy", "yy", "yy", "ynnn", "ynnn"))
	require.Contains(t, said, "Without an assumed curve the half lies past 4 min, when those still going on were last asked.")
	require.Equal(t, BeyondLastAge, q.Status)
	require.Equal(t, OK, h.Status, "two were asked up to 8 min")
	require.True(t, 4 <= h.From.Float() && h.From.Float() < 8)
	said, h, q = half(evening("yyyyyy", "yyyyyy", "yyyyyy", "yyyyyy", "yyyyyn", "yyyyyy"))
	require.Equal(t, []string{BeyondLastAge, BeyondLastAge}, []string{h.Status, q.Status}, "one left it at the last age, five did not")
	require.Equal(t, []Num{Of(12), inf()}, []Num{h.From, h.To})
	require.Contains(t, said, "Half of drinkers like these would leave the rest later than 12 min, when those still going on were last asked")
}

// Two modes have their own counts, in the sentence and in the rows.
func TestModesKeepTheirCounts(t *testing.T) {
	in := twelve()
	for i := range 5 {
		for _, age := range []float64{3, 7, 11} {
			in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i, age), Style: sour.Style, Serve: sour.Serve, Batch: "side"})
			v := panel.Accept
			if age > 5 {
				v = panel.Reject
			}
			in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('p' + i)), Pour: len(in.Panel.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: v})
		}
	}
	life, _, _ := answers(t, in)
	for _, r := range life.Rows {
		want := []int{12, 6, 62}
		switch {
		case strings.Contains(r.Variant, "+batch "): // two tasters of one shake each
			var k int
			_, err := fmt.Sscanf(r.Variant, "sip_through+batch b%d", &k)
			require.NoError(t, err)
			want = []int{2, 1, []int{3 + 4, 4 + 4, 5 + 5, 5 + 5, 6 + 6, 7 + 8}[k]}
		case r.Statistic == "time_ratio":
			want = []int{17, 7, 77}
		case strings.Contains(r.Variant, "side_by_side"):
			want = []int{5, 1, 15}
		}
		require.Equal(t, want, []int{r.Tasters, r.Batches, r.Tastes}, "%s %s", r.Statistic, r.Variant)
	}
}

// Side by side the limits read either side, whatever the descriptor says of wavering sips.
func TestSideBySideReadsEitherSide(t *testing.T) {
	limits := func(unclear string) []Num {
		in := evening()
		in.Panel.Settings.Unclear = unclear
		for i := range 6 {
			for k, age := range []float64{4, 7, 11, 15} {
				in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i, age), Style: sour.Style, Serve: sour.Serve})
				v := []panel.Verdict{panel.Accept, panel.Reject, panel.Accept, panel.Reject}[k]
				in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: len(in.Panel.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age), Verdict: v})
			}
		}
		life, _, _ := answers(t, in)
		return []Num{life.Parts[0].median().Lower, life.Parts[0].median().Upper}
	}
	require.Equal(t, []Num{Of(4), Of(15)}, limits("either_side"))
	require.Equal(t, limits("either_side"), limits("first_no"))
}

// A plan that was not kept puts age steps in another order than ages; the counts still are those of the steps.
func TestStepsOutOfOrder(t *testing.T) {
	in := evening("yynn", "yynn", "yynn", "yynn")
	for i := range in.Panel.Tastes {
		x := &in.Panel.Tastes[i]
		x.Planned, x.HasPlanned = x.Age, true
		if x.Taster == "d" && x.Planned == panel.Age(4) {
			x.Age = panel.Age(7.5)
		}
		if x.Taster == "d" && x.Planned == panel.Age(6) {
			x.Age = panel.Age(7)
		}
	}
	_, err := NewLifetime(in, sour)
	require.NoError(t, err)
}

func TestWarnings(t *testing.T) {
	warned := func(in Input, word string) bool {
		life, _, _ := answers(t, in)
		return strings.Contains(strings.Join(life.Warnings, " "), word)
	}
	require.True(t, warned(evening("yynynn", "yyynn", "yyynn", "yyynn", "yyynn"), "back and forth"), "one in five")
	require.False(t, warned(evening("yynynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyynn"), "back and forth"))
	require.True(t, warned(evening("nyynn", "yyynn", "yyynn", "yyynn", "yyynn"), "began with a no"))
	require.False(t, warned(evening("nyynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyynn"), "began with a no"))
	require.True(t, warned(evening("ynyynn", "ynyynn", "ynyynn"), "first no and the last yes"))
	require.False(t, warned(evening("yyynn", "yyynn", "yyynn"), "first no and the last yes"))
	require.True(t, warned(evening("ynyyyy", "ynyyyy", "ynyyyy"), "first no and the last yes"), "one of them open")
}

// Rows without those who never accepted rest on the others, and say so.
func TestWithoutNeverCounts(t *testing.T) {
	life, act, _ := answers(t, evening("nn", "nn", "nn", "ynn", "yynn", "yyynn"))
	n := 0
	for _, r := range append(slices.Clone(life.Rows), act.Rows...) {
		if strings.HasSuffix(r.Variant, "without_never") {
			n++
			require.Equal(t, []int{3, 2, 12}, []int{r.Tasters, r.Batches, r.Tastes}, r.Statistic)
		}
	}
	require.Positive(t, n)
}

// A second glass first tasted late and turned away says nothing about younger ages: the taster accepted another then.
func TestLateGlassDoesNotSpoilTheAct(t *testing.T) {
	in := evening("yyynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyynn")
	in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: "late", Taster: "a", Style: sour.Style, Serve: sour.Serve, Batch: "b9"})
	in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 6, Mode: panel.SipThrough, Age: panel.Age(8), Verdict: panel.Reject})
	_, act, _ := answers(t, in)
	require.Equal(t, Of(6), act.Act)
}

func TestLongLists(t *testing.T) {
	var names []string
	for i := range 20 {
		names = append(names, fmt.Sprint(i))
	}
	require.Equal(t, "0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 8 others", list(names))
	require.Equal(t, "0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 13", list(names[:14]))
}
