package answer

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

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
