package answer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// No age surely differs: said so, with what the limits still allow, and that this is no proof. Without a margin sameness is not
// asked; with one that no age meets it is not shown.
func TestAgeDifferencesNothingSure(t *testing.T) {
	in := liked([]float64{2, 9}, []float64{8, 7.5}, []float64{7, 7.6}, []float64{9, 8.2}, []float64{6.5, 6.9})
	a := agesOf(t, in)
	require.Equal(t, []any{OK, NotAsked, Num{}, Num{}}, []any{a.Status, a.SameStatus, a.FirstSure, a.SameUpTo})
	require.Equal(t, []string{
		"No age up to 9 min is surely different from fresh; the limits still allow it to be 1.2 points lower: that is no proof that it is the same.",
		"Up to which age it is the same as fresh is not asked: state in datapackage.json (same_margin), before tasting, how many points count as the same.",
		"Fresh is the youngest age tasted, 2 min.",
	}, unbroken(a.Sentences))
	require.True(t, a.Steps[1].Lower90.Empty())
	last := a.Rows[len(a.Rows)-1]
	require.Equal(t, []string{"same_up_to", NotAsked, "", ""}, []string{last.Statistic, last.Status, last.Value.String(), last.Note})
	in.Panel.Settings.SameMargin = 0.5
	a = agesOf(t, in)
	require.Equal(t, []any{Never, Num{}}, []any{a.SameStatus, a.SameUpTo})
	require.Equal(t, "That it is the same as fresh within half a point is not shown at any age, not even at 9 min (90 % limits -0.9 to +0.7).", words(a.Sentences[1]))
}

// The sentence follows the pattern of sure ages: from one on, at some, better than fresh.
func TestAgeDifferencesWords(t *testing.T) {
	step := func(age, difference float64) AgeDifference {
		return AgeDifference{AgeMin: age, Difference: difference, Lower: difference - 1, Upper: difference + 1}
	}
	for _, tt := range []struct {
		reason string
		steps  []AgeDifference
		want   []string
	}{
		{"from one age on", []AgeDifference{{AgeMin: 1}, step(3, -0.4), step(6, -1.4), step(16, -3)},
			[]string{"From 6 min on it is surely below fresh: there by 1.4 points (95 % limits 0.4 to 2.4, for these drinks), at 16 min by 3.0 (2.0 to 4.0)."}},
		{"not the last", []AgeDifference{{AgeMin: 1}, step(3.26, -1.4), step(6, -0.4), step(16, -1.5), step(17, 0)},
			[]string{"It is surely below fresh at 3.3 and 16 min: at 3.3 min by 1.4 points (95 % limits 0.4 to 2.4, for these drinks), at 16 min by 1.5 (0.5 to 2.5)."}},
		{"the last alone", []AgeDifference{{AgeMin: 1}, step(3, -0.4), step(16, -2)},
			[]string{"At 16 min it is surely below fresh: by 2.0 points (95 % limits 1.0 to 3.0, for these drinks)."}},
		{"better first", []AgeDifference{{AgeMin: 1}, step(3, 1.2), step(6, 1.1), step(16, -2)},
			[]string{"At 16 min it is surely below fresh: by 2.0 points (95 % limits 1.0 to 3.0, for these drinks).", "At 3 and 6 min it is surely better than fresh."}},
		{"better only", []AgeDifference{{AgeMin: 1}, step(3, 1.2), step(6, 0.2)},
			[]string{"At no age up to 6 min is it surely below fresh; the limits still allow it to be 0.8 points lower.", "At 3 min it is surely better than fresh."}},
		{"better throughout", []AgeDifference{{AgeMin: 1}, step(3, 1.2), step(6, 2.2)},
			[]string{"At no age up to 6 min is it below fresh.", "At 3 and 6 min it is surely better than fresh."}},
	} {
		a := &AgeDifferences{Better: "high", Decimals: 1, Level: Level, Steps: tt.steps, FreshAge: 1, SameStatus: NotAsked}
		a.say()
		require.Equal(t, tt.want, unbroken(a.Sentences[:len(tt.want)]), tt.reason)
	}
}

func TestAgeDifferencesNotAnswered(t *testing.T) {
	for reason, tt := range map[string]struct {
		change func(*panel.Panel)
		status string
	}{
		"nobody was asked for an overall score (a column liking, or name another in datapackage.json under overall)": {func(p *panel.Panel) { p.Settings.Overall = "" }, NotAsked},
		"no overall score was given": {func(p *panel.Panel) {
			for i := range p.Tastes {
				p.Tastes[i].Scores[0] = panel.Score{}
			}
		}, NotEnough},
		"it was scored at one age only": {func(p *panel.Panel) {
			for i := range p.Tastes {
				p.Tastes[i].Age = 0
			}
		}, NotEnough},
		"every score of liking is the same, so that nothing tells how far scores scatter": {func(p *panel.Panel) {
			for i := range p.Tastes {
				p.Tastes[i].Scores[0].Value = 7
			}
		}, NotEnough},
		whyNothing: {func(p *panel.Panel) { // everyone falls by the same: nothing is left for the residual
			for i := range p.Tastes {
				p.Tastes[i].Scores[0].Value = float64(i/2) - float64(i%2)
			}
		}, NotEnough},
		whyApart: {func(p *panel.Panel) { // fresh on one evening, aged on another
			p.Sessions = append(p.Sessions, panel.Session{Name: "two"})
			for i := range p.Tastes {
				if i%2 == 1 {
					p.Tastes[i].Session = "two"
				}
			}
		}, NotEnough},
	} {
		in := sixTwice()
		tt.change(in.Panel)
		a := agesOf(t, in)
		require.Equal(t, []string{tt.status, tt.status, reason}, []string{a.Status, a.SameStatus, a.Unsaid})
		require.Equal(t, []string{"Differences between ages are not answered: " + reason + "."}, unbroken(a.Sentences))
		require.Len(t, a.Rows, 2)
		for _, r := range a.Rows {
			require.Equal(t, tt.status, r.Status)
			require.True(t, r.Value.Empty())
		}
	}
}

// Tasters who fall alike have no variance of their own decline: named, and held at none for degrees of freedom. Four evenings are
// fixed, and some tasters leave early.
func TestAgeDifferencesSingular(t *testing.T) {
	in := decline(rand.New(rand.NewPCG(7, 9)), 8, []float64{1, 4, 7, 10}, -0.4, 0)
	in.Panel.Tastes = in.Panel.Tastes[:len(in.Panel.Tastes)-2]
	in.Panel.Tastes[5].Scores[0].Given = false
	a := agesOf(t, in)
	require.Equal(t, OK, a.Status)
	require.NotEmpty(t, a.Singular)
	require.Contains(t, words(a.Warnings[0]), "These scores cannot tell how ")
	require.Contains(t, words(fmt.Sprint(a.Warnings)), "At 9.9 min 7 of 8 tasters are left")
	require.Equal(t, "Left out: 1 taste, no liking given.", words(a.Sentences[len(a.Sentences)-1]))
	require.Equal(t, "Kenward-Roger", a.DF)
	require.Greater(t, a.Steps[3].DF, 10.0, "a slope that is held costs no degrees of freedom")
}

// Those who knew the drink stand beside.
func TestAgeDifferencesWithoutAware(t *testing.T) {
	in := sixTwice()
	in.Panel.Tastes[0].Aware, in.Panel.Tastes[1].Aware = true, true
	a := agesOf(t, in)
	require.NotNil(t, a.Blind)
	require.Equal(t, 10, a.Blind.Counts.RowsUsed)
	require.Equal(t, agesOf(t, withoutTaster(in, "a")).Steps, a.Blind.Steps)
	require.Contains(t, a.Sentences, "Without the tastes by those who made or knew the drink the answer is the same.")
	require.Len(t, briefs(a.Rows, func(r Row) bool { return r.Variant == withoutAwares }), 4, "no p-value of five")
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Aware = i > 3
	}
	a = agesOf(t, in)
	require.Nil(t, a.Blind)
	require.Contains(t, a.Warnings, "Without the tastes by those who made or knew the drink too little is left to compare.")
}

func withoutTaster(in Input, name string) Input {
	p := *in.Panel
	p.Tastes = nil
	for _, x := range in.Panel.Tastes {
		if x.Taster != name {
			p.Tastes = append(p.Tastes, x)
		}
	}
	in.Panel = &p
	return in
}

// Whatever was scored, the answer is finite, survives JSON and has rows of its own keys; numbers are printed as the scale asks.
func TestAgeDifferencesOfAnything(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	seen := map[string]int{}
	for range 300 {
		var rows [][]float64
		ages := []float64{0, 2, 4, 4.3, 9}[:1+rng.IntN(5)]
		for range 1 + rng.IntN(7) {
			var row []float64
			for range ages {
				v := math.Round(4 * rng.Float64())
				if rng.IntN(4) == 0 {
					v = math.NaN()
				}
				row = append(row, v)
			}
			rows = append(rows, row)
		}
		in := liked(ages, rows...)
		in.Panel.Attributes[0].Better = panel.Direction(rng.IntN(3))
		in.Panel.Settings.SameMargin = float64(rng.IntN(2))
		for i := range in.Panel.Tastes {
			x := &in.Panel.Tastes[i]
			x.Aware = rng.IntN(9) == 0
			x.Mode = panel.Mode(1 + rng.IntN(2))
		}
		a := agesOf(t, in)
		seen[a.Status+" "+a.SameStatus]++
		keys := map[string]bool{}
		for _, r := range a.Rows {
			k := fmt.Sprint(r.Statistic, r.Method, r.Variant, r.AgeMin)
			require.False(t, keys[k], k)
			keys[k] = true
		}
		for _, x := range a.Steps[min(1, len(a.Steps)):] {
			require.True(t, x.Lower < x.Difference && x.Difference < x.Upper && x.SE > 0 && x.DF > 0, "%+v", x)
		}
	}
	for _, s := range []string{OK + " " + Never, OK + " " + NotAsked, NotEnough + " " + NotEnough} {
		require.Positive(t, seen[s], "%v", seen)
	}
}

func TestAgeDifferencesDecimals(t *testing.T) {
	for _, tt := range []struct {
		high float64
		want int
	}{{1, 2}, {5, 1}, {9, 1}, {10, 1}, {15, 1}, {50, 0}, {100, 0}, {1000, 0}} {
		in := sixTwice()
		in.Panel.Attributes[0].High = tt.high
		require.Equal(t, tt.want, agesOf(t, in).Decimals, "0 to %g", tt.high)
	}
	in := sixTwice()
	in.Panel.Attributes[0].Ranged = false // scores from 5 to 9
	require.Equal(t, 2, agesOf(t, in).Decimals)
}
