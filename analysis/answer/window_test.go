package answer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

var sixAges = []float64{1, 3, 5, 7, 9, 11}

// scored is an invented panel with a prime limit: tasters fall by slope points a minute from about 8.
func scored(tasters int, ages []float64, slope, limit float64) Input {
	in := decline(rand.New(rand.NewPCG(3, 4)), tasters, ages, slope, 0.1)
	in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit, in.Panel.Settings.Unclear = true, limit, "either_side"
	in.Quick = true
	return in
}

// poured gives every taste a pour of the batch that of names for taster i at step k.
func poured(in Input, steps int, of func(i, k int) string) Input {
	at := map[string]int{}
	in.Panel.Pours = nil
	for j := range in.Panel.Tastes {
		x := &in.Panel.Tastes[j]
		b := of(j/steps, j%steps)
		if _, ok := at[b+x.Taster]; !ok {
			at[b+x.Taster] = len(in.Panel.Pours)
			in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: x.Session, ID: b + x.Taster, Taster: x.Taster, Style: sour.Style, Serve: sour.Serve, Batch: b})
		}
		x.Pour = at[b+x.Taster]
	}
	return in
}

// What cannot be asked, or is too little, is said, with a status and no number.
func TestWindowNotAnswered(t *testing.T) {
	alike := func(values ...float64) Input {
		in := liked(sixAges, values, values, values, values)
		in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit = true, 7
		return in
	}
	noOverall, noLimits, middle, apart := scored(8, sixAges, -0.3, 7), scored(8, sixAges, -0.3, 7), scored(8, sixAges, -0.3, 7), scored(8, sixAges[:4], -0.3, 7)
	noOverall.Panel.Settings.Overall = ""
	noLimits.Panel.Settings.HasLimits = false
	middle.Panel.Attributes[0].Better = panel.BetterMiddle
	apart.Panel.Sessions = append(apart.Panel.Sessions, panel.Session{Name: "two"})
	for j := range apart.Panel.Tastes {
		if x := &apart.Panel.Tastes[j]; j%4 >= 2 { // the two older ages on another evening
			p := apart.Panel.Pours[x.Pour]
			p.Session, x.Session, x.Pour = "two", "two", len(apart.Panel.Pours)
			apart.Panel.Pours = append(apart.Panel.Pours, p)
		}
	}
	for name, tt := range map[string]struct {
		in           Input
		status, says string
	}{
		"no overall score":        {noOverall, NotAsked, "nobody was asked for an overall score"},
		"no limits":               {noLimits, NotAsked, "there is no prime limit"},
		"best in the middle":      {middle, NotAsked, "best in the middle of its scale"},
		"one taster, one pour":    {scored(1, sixAges, -0.3, 7), NotEnough, "one taster speaks for one person"},
		"two tasters":             {scored(2, sixAges, -0.3, 7), NotEnough, "two tasters are too few"},
		"two ages":                {scored(8, sixAges[:2], -0.3, 7), NotEnough, "scored at 2 ages only"},
		"all scores equal":        {alike(7, 7, 7, 7, 7, 7), NotEnough, "every score is 7"},
		"no scatter":              {alike(9, 8, 7, 6, 5, 4), NotEnough, "without any scatter"},
		"ages on evenings of own": {apart, NotEnough, "some ages were not tasted on the same evenings"},
	} {
		t.Run(name, func(t *testing.T) {
			w := mustWindow(t, tt.in, sour)
			require.Equal(t, []string{tt.status, tt.status}, []string{w.Status, w.Main.Status})
			require.Contains(t, words(w.Sentences[0]), tt.says)
			require.NotRegexp(t, "column (score|taster)", w.Sentences[0]) // the fit's own words are a warning
			require.Len(t, w.Rows, 3)
			for _, r := range w.Rows {
				require.Equal(t, tt.status, r.Status)
				require.True(t, r.Value.Empty() && r.Lower.Empty() && r.Upper.Empty())
			}
			require.False(t, w.answered())
			require.True(t, w.actUntil().Empty())
		})
	}
}

// Batches have a term where ages share them, are left out and said where an age is a batch, and say nothing where a batch is a taster.
func TestWindowBatches(t *testing.T) {
	plain := mustWindow(t, scored(8, sixAges, -0.3, 7), sour) // a batch a taster
	require.Empty(t, plain.Fixed)
	for name, tt := range map[string]struct {
		of    func(i, k int) string
		fixed []string
		same  bool // as without a term
		warns string
	}{
		"one per age":     {func(i, k int) string { return fmt.Sprint("B", k) }, nil, true, "cannot be told from the batch"},
		"one per taste":   {func(i, k int) string { return fmt.Sprint("B", i, k) }, nil, true, ""},
		"not known":       {func(i, k int) string { return "" }, nil, true, ""},
		"two":             {func(i, k int) string { return fmt.Sprint("B", i%2) }, []string{"batch"}, false, ""},
		"five":            {func(i, k int) string { return fmt.Sprint("B", (i+k)%5) }, nil, false, ""},
		"two to each age": {func(i, k int) string { return fmt.Sprint("B", k, i%2) }, nil, false, ""},
	} {
		w := mustWindow(t, poured(scored(8, sixAges, -0.3, 7), 6, tt.of), sour)
		require.Equal(t, OK, w.Status, name)
		require.Equal(t, tt.fixed, w.Fixed, name)
		require.Equal(t, tt.same, slices.Equal(ends(w.Main), ends(plain.Main)), name)
		require.Equal(t, tt.warns != "", strings.Contains(strings.Join(w.Warnings, " "), "cannot be told from the batch"), name)
	}
}

func ends(w Window) []Num {
	return []Num{w.From, w.FromLower, w.FromUpper, w.To, w.ToLower, w.ToUpper, w.AtLeastUntil}
}

// A scale turned over gives the same ages, and curve, limits and residuals turned.
func TestWindowMirrored(t *testing.T) {
	high, low := scored(8, sixAges, -0.3, 7), scored(8, sixAges, -0.3, 7)
	low.Panel.Settings.PrimeLimit = 10 - 7
	low.Panel.Attributes[0].Better = panel.BetterLow
	for j := range low.Panel.Tastes {
		s := low.Panel.Tastes[j].Scores[0]
		low.Panel.Tastes[j].Scores = []panel.Score{{Value: 10 - s.Value, Given: true}}
	}
	a, b := mustWindow(t, high, sour), mustWindow(t, low, sour)
	require.Len(t, b.Variants, len(a.Variants))
	near := func(x, y Window) {
		t.Helper()
		require.Equal(t, x.Status, y.Status)
		p, q := ends(x), ends(y)
		for i := range p {
			require.Equal(t, p[i].Finite(), q[i].Finite())
			if p[i].Finite() {
				require.InDelta(t, p[i].Float(), q[i].Float(), 1e-3)
			}
		}
	}
	near(a.Main, b.Main)
	require.True(t, b.Main.Below && !a.Main.Below)
	for i, v := range a.Variants {
		near(v.Window, b.Variants[i].Window)
		require.InDelta(t, 10, v.Window.Limit+b.Variants[i].Window.Limit, 1e-9)
	}
	for i, p := range a.Curve {
		q := b.Curve[i]
		require.InDeltaSlice(t, []float64{10 - p.Upper, 10 - p.Mean, 10 - p.Lower}, []float64{q.Lower, q.Mean, q.Upper}, 1e-4)
	}
	require.InDelta(t, a.Residuals[0].Residual, -b.Residuals[0].Residual, 1e-4)
	require.InDelta(t, 10, a.Lines[2].Means[5]+b.Lines[2].Means[5], 1e-4)
	require.Contains(t, words(b.Sentences[0]), "An average taster would score it 3 or lower until ")
	low.Panel.Settings.PrimeLimit = 1
	require.Equal(t, "They gave it 1.8 fresh, so it never came down to 1; lowest 1.8 at 1 min.", words(mustWindow(t, low, sour).Sentences[0]))
}

// States of the window in a sentence each.
func TestWindowStates(t *testing.T) {
	never := mustWindow(t, scored(8, sixAges, -0.3, 9.5), sour)
	require.Equal(t, Never, never.Status)
	require.Equal(t, []string{
		"They gave it 8.2 fresh, so it never reached 9.5; highest 8.2 at 1 min.",
		"It had lost one point by 3½ min (95 % limits 2½ to 5 min).",
		"With the limit at 10.5 it is never there; with the limit at 8.5 it is never there.",
	}, unbroken(never.Sentences))
	require.Equal(t, []string{Never, Never, Never}, []string{never.Rows[0].Status, never.Rows[1].Status, never.Rows[2].Status})
	require.True(t, never.Rows[0].Value.Empty() && never.Rows[1].Value.Empty() && never.Rows[2].Value.Empty())

	always := mustWindow(t, scored(8, sixAges, 0, 5), sour)
	require.Equal(t, Always, always.Status)
	require.Equal(t, "An average taster would score it 5 or better to the last age tasted, 11 min.", words(always.Sentences[0]))
	require.True(t, always.Main.To.Empty() && always.Main.ToUpper.Open())

	rising := mustWindow(t, scored(8, sixAges, 0.3, 9), sour)
	require.Equal(t, BeyondLastAge, rising.Status)
	require.Contains(t, words(rising.Sentences[0]), "An average taster would score it 9 or better from 2 min")

	few := mustWindow(t, scored(8, []float64{1, 4, 8, 12}, -0.3, 7), sour)
	require.Equal(t, []any{shapeJoined, 0}, []any{few.Shape, len(few.Knots)})
	require.True(t, few.Main.To.Finite())

	in := scored(8, sixAges, -0.3, 7)
	in.Panel.Tastes[3].Scores = []panel.Score{{}}
	gap := mustWindow(t, in, sour)
	require.Equal(t, []any{47, []LeftOut{{"no liking given", 1}}}, []any{gap.Counts.RowsUsed, gap.Counts.LeftOut})
}

// A drop stated beforehand is answered whether or not the limit is reached.
func TestWindowDropStated(t *testing.T) {
	in := scored(8, sixAges, -0.3, 9.5)
	in.Panel.Settings.PrimeDrop = 1.5
	w := mustWindow(t, in, sour)
	v := variantNamed(t, w, "one_point").Window
	require.True(t, w.DropStated)
	require.Equal(t, v.AtLeastUntil, w.actUntil())
	require.Equal(t, 1.5, v.Limit)
	require.InDelta(t, w.Fresh.Mean-1.5, curveAt(w, v.To.Float()).Mean, 2e-3, "the curve is there 1.5 points below fresh")
	require.Contains(t, words(strings.Join(w.Sentences, " ")), "It had lost 1.5 points by 5 min")
	none := mustWindow(t, scored(8, sixAges, -0.3, 7), sour) // fresh 8.2
	_, ok := none.variant("one_point")
	require.False(t, ok)
	_, ok = mustWindow(t, scored(8, sixAges, -0.3, 7.8), sour).variant("one_point")
	require.True(t, ok, "fresh less than half a point above the limit")
}

// One taster answers for themself from three pours up; where each unit was tasted once, units are the residuals.
func TestWindowUnits(t *testing.T) {
	three := scored(3, sixAges, -0.3, 7)
	for j := range three.Panel.Tastes {
		three.Panel.Tastes[j].Taster = "a"
	}
	for j := range three.Panel.Pours {
		three.Panel.Pours[j].Taster = "a"
	}
	w := mustWindow(t, three, sour)
	require.Equal(t, []any{OK, "pour", 3, 0}, []any{w.Status, w.Unit, w.Units, len(w.Lines)})
	require.Contains(t, words(w.Sentences[0]), "Taster a would score it 7 or better until ")
	require.Contains(t, w.Sentences, "This is for this taster, not for guests.")

	once := scored(12, sixAges, -0.3, 7)
	once.Panel.Tastes = slices.DeleteFunc(once.Panel.Tastes, func(x panel.Taste) bool {
		k := slices.IndexFunc(sixAges, func(a float64) bool { return math.Abs(a-x.Age.Minutes()) < 0.5 })
		return k != int(x.Taster[0]-'a')%6
	})
	w = mustWindow(t, once, sour)
	require.Equal(t, []any{OK, 12, 12}, []any{w.Status, w.Counts.RowsUsed, w.Counts.Tasters})
	require.Equal(t, []string{"repeats"}, []string{w.Spread[0].Name})

	aware := scored(8, sixAges, -0.3, 7)
	for j := range aware.Panel.Tastes {
		aware.Panel.Tastes[j].Aware = j/6 == 0
	}
	v := variantNamed(t, mustWindow(t, aware, sour), withoutAwares)
	require.Equal(t, []int{7, 42}, []int{v.Tasters, v.Tastes})
	var rest []panel.Taste
	for _, x := range aware.Panel.Tastes {
		if !x.Aware {
			rest = append(rest, x)
		}
	}
	aware.Panel.Tastes = rest
	require.Equal(t, ends(mustWindow(t, aware, sour).Main), ends(v.Window))
}

// Quick and brief answers have the numbers of the full one; the seed makes the drawn limits, the same bytes each time.
func TestWindowQuickAndSeed(t *testing.T) {
	in := scored(6, sixAges, -0.3, 7)
	in.Seed = 3
	answers := map[string]*PrimeWindow{}
	bytes := map[string]string{}
	for name, as := range map[string]func(*Input){"quick": func(*Input) {}, "brief": func(x *Input) { x.Brief = true }, "full": func(x *Input) { x.Quick = false },
		"again": func(x *Input) { x.Quick = false }, "other seed": func(x *Input) { x.Quick, x.Seed = false, 4 }} {
		x := in
		as(&x)
		answers[name] = mustWindow(t, x, sour)
		b, err := Encode(answers[name])
		require.NoError(t, err)
		bytes[name] = string(b)
	}
	for name, a := range answers {
		require.Equal(t, answers["full"].Main, a.Main, name)
		require.Equal(t, answers["full"].Curve, a.Curve, name)
		require.Equal(t, answers["full"].Sentences, a.Sentences, name)
	}
	require.Equal(t, bytes["full"], bytes["again"])
	require.NotEqual(t, bytes["full"], bytes["other seed"])
	drawn := variantNamed(t, answers["full"], bootstrapped).Window
	require.Equal(t, drawn.From, drawn.FromUpper, "begun at the first age in all drawn panels")
	require.Less(t, drawn.ToLower.Float(), drawn.To.Float())
	require.Greater(t, drawn.ToUpper.Float(), drawn.To.Float())
}

// An act needs a fit that settled: neither its end nor a late begin. A begin is not held against a drop stated beforehand.
func TestLateBegin(t *testing.T) {
	in := twelve() // one in ten at 4.26
	late := func(from float64, change func(*PrimeWindow)) *ServeBy {
		w := best(from, 9, Of(8))
		if change != nil {
			change(w)
		}
		act, err := NewServeBy(in, sour, mustLife(t, in), w)
		require.NoError(t, err)
		require.Equal(t, Of(4), act.Act)
		return act
	}
	said := func(a *ServeBy) string { return words(joinLines(a.Sentences)) }
	require.Equal(t, Of(2.5), late(2.1, nil).HandOverAfter)
	for name, change := range map[string]func(*PrimeWindow){
		"did not settle": func(w *PrimeWindow) { w.Status = NotConverged },
		"drop stated": func(w *PrimeWindow) {
			w.DropStated, w.Drop = true, Of(1)
			w.Variants = []Variant{{Variant: "one_point", Window: Window{Status: OK, AtLeastUntil: Of(8)}}}
		},
	} {
		a := late(2.1, change)
		require.True(t, a.HandOverAfter.Empty(), name)
		require.NotContains(t, said(a), "at its best only from", name)
	}
	a := late(3.7, nil)
	require.True(t, a.HandOverAfter.Empty())
	require.Contains(t, said(a), "only from 3.7 min on, less than half a minute before the act: it cannot wait for that.")
	require.Contains(t, said(late(4, nil)), "only from 4 min on, which is past the act")
}

// An average taster and a share of drinkers never meet in one sentence.
func TestAverageAndShareStandApart(t *testing.T) {
	seen := 0
	for _, x := range [][2]string{{"sour-evening", "sour"}, {"stirred-evening", "stirred"}, {"stirred-evening", "highball"}} {
		in, d := demoDrink(t, x[0], x[1])
		life, err := NewLifetime(in, d)
		require.NoError(t, err)
		w := mustWindow(t, in, d)
		act, err := NewServeBy(in, d, life, w)
		require.NoError(t, err)
		for _, s := range slices.Concat(w.Sentences, w.Warnings, act.Sentences, act.Warnings) {
			average := strings.Contains(s, "verage taster") || strings.Contains(s, "mean score")
			share := strings.Contains(s, "in ten") || strings.Contains(s, "alf of") || strings.Contains(s, "guests")
			require.False(t, average && share, s)
			seen += btoi(average)
		}
	}
	require.GreaterOrEqual(t, seen, 6)
}

// Twelve drinks of 240 tastes each: 24 tasters at ten ages.
func BenchmarkPrimeWindow(b *testing.B) {
	var ins []Input
	for k := range 12 {
		in := decline(rand.New(rand.NewPCG(7, uint64(k))), 24, []float64{1, 3, 5, 7, 9, 11, 13, 15, 17, 19}, -0.3, 0.1).Indexed()
		in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit = true, 7
		ins = append(ins, in)
	}
	for _, as := range []struct {
		name         string
		quick, brief bool
	}{{"quick", true, false}, {"quick, brief", true, true}} {
		b.Run(as.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for _, in := range ins {
					in.Quick, in.Brief = as.quick, as.brief
					w, err := NewPrimeWindow(in, endpoint.Drink{Style: sour.Style, Serve: sour.Serve})
					require.NoError(b, err)
					require.Equal(b, OK, w.Status)
				}
			}
		})
	}
}
