package answer

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

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
