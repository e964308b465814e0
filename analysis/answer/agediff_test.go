package answer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
	"lastsip/analysis/panel"
)

// liked makes a sip-through panel scored for liking, 0 to 10: one row per taster, scores at the ages given; NaN is no taste.
// Each taster has a batch.
func liked(ages []float64, rows ...[]float64) Input {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Overall: "liking"}}
	p.Attributes = []panel.Attribute{{Name: "liking", Ranged: true, High: 10}}
	for i, row := range rows {
		name := string(rune('a' + i))
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: "g" + name, Taster: name, Style: sour.Style, Serve: sour.Serve, Batch: name})
		for k, v := range row {
			if !math.IsNaN(v) {
				p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: name, Pour: i, Mode: panel.SipThrough, Age: panel.Age(ages[k]), Scores: []panel.Score{{Value: v, Given: true}}})
			}
		}
	}
	return Input{Panel: p}
}

func agesOf(t *testing.T, in Input) *AgeDifferences {
	t.Helper()
	a, err := NewAgeDifferences(in, sour)
	require.NoError(t, err)
	b, err := Encode(a)
	require.NoError(t, err)
	back, err := Decode(b)
	require.NoError(t, err)
	require.Equal(t, a, back)
	return a
}

// sixTwice: six tasters fresh and at 6 min.
func sixTwice() Input {
	return liked([]float64{1, 6}, []float64{8, 6.5}, []float64{7, 6}, []float64{9, 8}, []float64{6.5, 5}, []float64{7.5, 7}, []float64{8.5, 6.5})
}

// Two ages leave no slopes to tell, and the model is Student's paired t.
func TestAgeDifferencesOfTwoAgesIsPairedT(t *testing.T) {
	in := sixTwice()
	in.Panel.Settings.SameMargin = 2
	a := agesOf(t, in)
	const r = "R 4.2.2 t.test(c(6.5, 6, 8, 5, 7, 6.5), c(8, 7, 9, 6.5, 7.5, 8.5), paired = TRUE)"
	require.Equal(t, OK, a.Status)
	x := a.Steps[1]
	mathtest.Close(t, "difference", x.Difference, -1.25, 1e-9, r)
	mathtest.Close(t, "standard error", x.SE, 0.2140872096, 1e-8, r)
	mathtest.Close(t, "degrees of freedom", x.DF, 5, 1e-6, r)
	mathtest.Close(t, "lower", x.Lower, -1.8003286924, 1e-6, r)
	mathtest.Close(t, "upper", x.Upper, -0.6996713076, 1e-6, r)
	mathtest.Close(t, "p", x.P.Float(), 0.002084792945, 1e-8, r)
	mathtest.Close(t, "p of one age, adjusted for one", x.PAdjusted.Float(), 0.002084792945, 1e-8, r)
	mathtest.Close(t, "lower of 90 %", x.Lower90.Float(), -1.6813960835, 1e-7, r+", conf.level = 0.9")
	mathtest.Close(t, "upper of 90 %", x.Upper90.Float(), -0.8186039165, 1e-7, r+", conf.level = 0.9")
	require.Equal(t, []Num{Of(6), Of(6)}, []Num{a.FirstSure, a.SameUpTo})
	require.Equal(t, BeyondLastAge, a.SameStatus)
	require.Equal(t, []string{
		"At 6 min it is surely below fresh: by 1.2 points (95 % limits 0.7 to 1.8).",
		"The same as fresh within 2 points up to 6 min, the last age tasted.",
		"Fresh is the youngest age tasted, 1 min; sameness is looked at age by age, from the youngest, until the first that fails.",
	}, unbroken(a.Sentences))
	require.Equal(t, []string{alikeNote}, a.Warnings)
	require.Equal(t, []string{
		"mean mixed  1 | 7.75 - - - | points ok 6 6 12",
		"mean mixed  6 | 6.5 - - - | points ok 6 6 12",
		"difference mixed  6 | -1.25 -1.80033 -0.699671 0.95 | points ok 6 6 12",
		"p_adjusted max_t  6 | 0.00208479 - - - | 1 ok 6 6 12",
		"difference two_one_sided  6 | -1.25 -1.6814 -0.818604 0.9 | points ok 6 6 12",
		"same_up_to two_one_sided  - | 6 - - 0.9 | min beyond_last_age 6 6 12",
	}, briefs(a.Rows, nil))
	require.Len(t, a.Own, 6)
	require.Equal(t, ScorePoint{Taster: "a", AgeMin: 6, Score: -1.5}, a.Own[0])
}

// One taster, three pours of each of three ages side by side: every pour is one row, and the model is that of independent
// groups. Limits are for this taster and wider than those of each age alone.
func TestAgeDifferencesOfOneTaster(t *testing.T) {
	in := liked(nil)
	p := in.Panel
	for i, v := range []float64{8, 7.5, 8.5, 7, 6, 7.5, 5, 6, 4.5} {
		id := fmt.Sprint("p", i)
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: id, Style: sour.Style, Serve: sour.Serve})
		p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: "ada", Pour: i, Mode: panel.SideBySide, Age: panel.Age(float64(1 + 5*(i/3))), Scores: []panel.Score{{Value: v, Given: true}}})
	}
	p.Settings.SameMargin = 2.3
	a := agesOf(t, in)
	const r = "R 4.2.2 lm(c(8, 7.5, 8.5, 7, 6, 7.5, 5, 6, 4.5) ~ factor(rep(1:3, each = 3)))"
	require.Equal(t, []any{OK, "pour", 9}, []any{a.Status, a.Unit, a.Units})
	for k, want := range [][5]float64{{-1.166666667, 0.5610836077, 6, -2.256953269, -0.07638006449}, {-2.833333333, 0.5610836077, 6, -3.923619936, -1.74304673116}} {
		x := a.Steps[k+1]
		mathtest.Close(t, "difference", x.Difference, want[0], 1e-9, r)
		mathtest.Close(t, "standard error", x.SE, want[1], 1e-9, r)
		mathtest.Close(t, "degrees of freedom", x.DF, want[2], 1e-9, r)
		mathtest.Close(t, "lower of 90 %", x.Lower90.Float(), want[3], 1e-7, r+", confint(level = 0.9)")
		mathtest.Close(t, "upper of 90 %", x.Upper90.Float(), want[4], 1e-7, r+", confint(level = 0.9)")
		mathtest.Close(t, "critical value", (x.Upper-x.Difference)/x.SE, 2.86, 0.005, "Dunnett 1964, two-sided 5 %, two comparisons, 6 degrees of freedom (from memory)")
		require.True(t, x.P.Empty() && x.PAdjusted.Empty(), "no p-value of a single taster")
	}
	require.Equal(t, []any{OK, Of(6), Of(11)}, []any{a.SameStatus, a.SameUpTo, a.FirstSure})
	require.Equal(t, []string{
		"At 11 min it is surely below fresh: by 2.8 points (95 % limits 1.2 to 4.4, for this taster).",
		"The same as fresh within 2.3 points up to 6 min.",
		"Fresh is the youngest age tasted, 1 min; the limits hold for all 2 older ages together; sameness is looked at age by age, from the youngest, until the first that fails.",
	}, unbroken(a.Sentences))
	p.Tastes, p.Pours = p.Tastes[:8], p.Pours[:8]
	for i := range p.Pours { // three pours of two batches
		p.Pours[i].Batch = fmt.Sprint(i % 2)
	}
	require.Equal(t, NotEnough, agesOf(t, in).Status)
}

// The answer is that of the model asked directly, with tasters' slopes, on ages that differ from taster to taster.
func TestAgeDifferencesAgainstTheModel(t *testing.T) {
	in := decline(rand.New(rand.NewPCG(3, 4)), 9, []float64{1, 4, 7, 10, 13}, -0.3, 0.15)
	in.Panel.Settings.SameMargin = 1.5
	a := agesOf(t, in)
	var who, step []string
	var score, age []float64
	for _, x := range in.Panel.Tastes {
		who, score, age = append(who, x.Taster), append(score, x.Scores[0].Value), append(age, panel.Minutes(x.Age))
		step = append(step, fmt.Sprintf("%02.0f", panel.Minutes(x.Planned)))
	}
	table, err := mixed.NewTable(mixed.Labels("who", who), mixed.Labels("step", step), mixed.Numbers("score", score), mixed.Numbers("age", age))
	require.NoError(t, err)
	fit, err := mixed.Spec{Response: "score", Fixed: []mixed.Term{mixed.Factor{Name: "step"}},
		Random: []mixed.Random{{Group: []string{"who"}, Slopes: []mixed.Term{mixed.Numeric{Name: "age"}}}}}.Fit(table)
	require.NoError(t, err)
	require.Empty(t, fit.Singular())
	means, err := fit.Means([]string{"step"})
	require.NoError(t, err)
	against := mixed.AgainstFirst(means)
	want, err := fit.Contrasts(against, mixed.ContrastOptions{DF: mixed.KenwardRoger, Adjust: mixed.MaxT})
	require.NoError(t, err)
	same, err := fit.Equivalent(against, mixed.Margins{Lower: -1.5, Upper: 1.5}, 0.05, mixed.KenwardRoger)
	require.NoError(t, err)
	shown := true
	for k, w := range want.List {
		x := a.Steps[k+1]
		require.InDelta(t, w.Estimate, x.Difference, 1e-9)
		require.InDelta(t, w.SE, x.SE, 1e-9)
		require.InDelta(t, w.DF, x.DF, 1e-6)
		require.InEpsilon(t, w.JointLower, x.Lower, 2e-3, "points of max-t are coarser here")
		require.InEpsilon(t, w.JointUpper, x.Upper, 2e-2)
		require.InDelta(t, w.Adjusted, x.PAdjusted.Float(), 3e-4)
		require.InDelta(t, same[k].Lower, x.Lower90.Float(), 1e-9)
		shown = shown && same[k].Equivalent
		require.Equal(t, shown, x.Same)
		require.Equal(t, x.Upper < 0, a.worse(&x))
	}
	require.True(t, a.Steps[1].Same && !a.Steps[4].Same, "the stop is seen")
	require.Equal(t, "Kenward-Roger", a.DF)
}

// Below three tasters nothing is compared; p-values from six on; the limits of three are Student's.
func TestAgeDifferencesOfFewTasters(t *testing.T) {
	all := [][]float64{{8, 6.5}, {7, 6}, {9, 8.2}, {6.5, 5}, {7.5, 7}, {8.5, 6.5}}
	for n := 1; n <= 6; n++ {
		a := agesOf(t, liked([]float64{1, 6}, all[:n]...))
		if n < 3 {
			require.Equal(t, NotEnough, a.Status)
			require.Contains(t, a.Sentences[0], map[int]string{1: "one taster speaks for one person", 2: "two tasters are too few"}[n])
			require.Empty(t, a.Steps)
			require.Equal(t, []string{"difference mixed  - | - - - - | points not_enough " + fmt.Sprint(n, n, 2*n), "same_up_to two_one_sided  - | - - - - | min not_enough " + fmt.Sprint(n, n, 2*n)},
				briefs(a.Rows, func(r Row) bool { return r.Attribute == "liking" }))
			continue
		}
		require.Equal(t, n == 6, a.Steps[1].PAdjusted.Finite())
		require.Equal(t, n == 6, a.Steps[1].P.Finite())
		require.Equal(t, n == 6, len(briefs(a.Rows, func(r Row) bool { return r.Statistic == "p_adjusted" })) > 0)
		if n == 3 {
			mathtest.Close(t, "lower", a.Steps[1].Lower, -1.9956685895, 1e-6, "R 4.2.2 t.test(c(6.5, 6, 8.2), c(8, 7, 9), paired = TRUE)")
		}
	}
}

// A scale on which low is better gives the mirrored numbers; in the middle the distance from the best is compared.
func TestAgeDifferencesOfOtherScales(t *testing.T) {
	high := agesOf(t, sixTwice())
	mirror := sixTwice()
	mirror.Panel.Attributes[0].Better = panel.BetterLow
	for i := range mirror.Panel.Tastes {
		mirror.Panel.Tastes[i].Scores[0].Value = 10 - mirror.Panel.Tastes[i].Scores[0].Value
	}
	low := agesOf(t, mirror)
	require.InDelta(t, -high.Steps[1].Difference, low.Steps[1].Difference, 1e-9)
	require.InDelta(t, -high.Steps[1].Upper, low.Steps[1].Lower, 1e-9)
	require.InDelta(t, 10-high.Steps[0].Mean, low.Steps[0].Mean, 1e-9)
	require.Equal(t, "At 6 min it is surely worse than fresh: by 1.2 points (95 % limits 0.7 to 1.8).", words(low.Sentences[0]))

	middle := sixTwice() // scores fall from the best, so the distance is 9 less the score
	middle.Panel.Attributes[0].Better, middle.Panel.Attributes[0].Best = panel.BetterMiddle, 9
	middle.Panel.Settings.SameMargin = 0.5
	m := agesOf(t, middle)
	require.InDelta(t, low.Steps[1].Difference, m.Steps[1].Difference, 1e-9)
	require.InDelta(t, 9-high.Steps[0].Mean, m.Steps[0].Mean, 1e-9)
	require.Equal(t, []any{"middle", Of(9)}, []any{m.Better, m.Best})
	require.Equal(t, "At 6 min it is surely further from its best than fresh: by 1.2 points (95 % limits 0.7 to 1.8).", words(m.Sentences[0]))
	require.Equal(t, "That it is as close to its best as fresh within half a point is not shown at any age, not even at 6 min (90 % limits +0.8 to +1.7).", words(m.Sentences[1]))
	require.True(t, strings.HasPrefix(m.Rows[0].Note, "distance from the best, 9"))
	require.Equal(t, 8.0, middle.Panel.Tastes[0].Scores[0].Value, "the panel is not changed")
}
