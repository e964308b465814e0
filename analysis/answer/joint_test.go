package answer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// bothModes are seven tasters again and again and six others side by side.
func bothModes() (in Input, sip, side []string, ages []float64) {
	sip = []string{"yyynn", "yyyynn", "yyynn", "yyyyynn", "yynn", "yyyynn", "yyyyynn"}
	side = []string{"yyn", "ynn", "yyn", "ynn", "nnn", "yyy"}
	ages = []float64{3, 6, 9}
	in = evening(sip...)
	for i, w := range side {
		for k, c := range w {
			in.see(string(rune('p'+i)), ages[k], c == 'n')
		}
	}
	return in, sip, side, ages
}

// The joint fit has one more number, how many times as long it lasts again and again as side by side: the ratio, its sentence and
// its row, and one other choice of each mode.
func TestJointModes(t *testing.T) {
	in, sip, side, ages := bothModes()
	units := unitsOf(ages, false, side...)
	for i := range units {
		units[i].X = []float64{0}
	}
	for i, u := range unitsOf(byTwo(8), false, sip...) {
		u.Subject, u.X = 10+i, []float64{1}
		units = append(units, u)
	}
	fit, err := survival.ReplyModel{Slips: 0.02}.Fit(units)
	require.NoError(t, err)
	ratio, err := fit.Ratio(1)
	require.NoError(t, err)

	life := mustLife(t, in)
	require.Equal(t, []string{"side_by_side", "sip_through"}, []string{life.Parts[0].Mode, life.Parts[1].Mode})
	require.NotNil(t, life.ModeRatio)
	q := *life.ModeRatio
	require.Greater(t, q.From.Float(), 1.0)
	for _, v := range [][2]float64{{ratio.From, q.From.Float()}, {ratio.To, q.To.Float()}, {ratio.Lower, q.Lower.Float()}, {ratio.Upper, q.Upper.Float()}, {0.95, q.Level}} {
		require.InEpsilon(t, v[0], v[1], 1e-4)
	}
	require.Equal(t, "Tasted again and again it lasts "+q.timesWords()+" as long as side by side, by different tasters, so the way of tasting cannot be told from the people.", life.Sentences[len(life.Sentences)-1])
	for i, x := range []float64{0, 1} {
		e, err := fit.Quantile([]float64{x}, 0.5)
		require.NoError(t, err)
		rows := life.Parts[i].Sensitivity.Rows
		c := rows[len(rows)-1]
		require.Equal(t, []string{"both modes together, with a mode effect", "replies", "joint", OK}, []string{c.Words, c.Method, c.Variant, c.Status})
		for _, v := range [][2]float64{{e.From, c.Half.From.Float()}, {e.Lower, c.Half.Lower.Float()}, {e.Upper, c.Half.Upper.Float()}, {fit.LogLik, c.LogLik.Float()}} {
			require.InEpsilon(t, v[0], v[1], 1e-4)
		}
		require.LessOrEqual(t, life.Parts[i].Sensitivity.From.Float(), c.Half.From.Float(), "the range knows it")
		require.GreaterOrEqual(t, life.Parts[i].Sensitivity.To.Float(), c.Half.To.Float())
	}
	var joint []string
	for _, r := range life.Rows {
		if r.Statistic == "time_ratio" {
			joint = append(joint, r.Variant)
			require.Equal(t, []Num{q.From, q.Lower, q.Upper, Of(0.95)}, []Num{r.Value, r.Lower, r.Upper, r.Level})
			require.Equal(t, []any{"lifetime", "replies", "1", OK, 13}, []any{r.Question, r.Method, r.Unit, r.Status, r.Tasters})
		}
		if strings.HasPrefix(r.Variant, "joint") {
			joint = append(joint, r.Statistic+" "+r.Variant)
		}
	}
	require.Equal(t, []string{"q50 joint+side_by_side", "loglik joint+side_by_side", "q50 joint+sip_through", "loglik joint+sip_through", "sip_through/side_by_side"}, joint)
	require.Empty(t, twice(life.Rows))
}

// One taster's limits in both modes go together: they are one subject.
func TestJointModesOfTheSameTasters(t *testing.T) {
	in := evening(shorter...)
	ages := []float64{3, 5, 8, 10}
	side := []string{"yynn", "yyyn", "yynn", "yyyn", "ynnn", "yyyn", "yyyn"}
	for i, w := range side {
		for k, c := range w {
			in.see(string(rune('a'+i)), ages[k], c == 'n')
		}
	}
	var units []survival.ReplyUnit
	for x, list := range [][]survival.ReplyUnit{unitsOf(ages, false, side...), unitsOf(byTwo(8), false, shorter...)} {
		for _, u := range list {
			u.X = []float64{float64(x)}
			units = append(units, u)
		}
	}
	fit, err := survival.ReplyModel{Slips: 0.02}.Fit(units)
	require.NoError(t, err)
	require.Equal(t, []any{7, 14, true}, []any{fit.Subjects, fit.Units, fit.Apart})
	life := mustLife(t, in)
	require.Equal(t, 7, life.Counts.Tasters)
	rows := life.Parts[0].Sensitivity.Rows
	joint := rows[len(rows)-1]
	require.Equal(t, "joint", joint.Variant)
	require.InDelta(t, fit.LogLik, joint.LogLik.Float(), 1e-6)
	ratio, err := fit.Ratio(1)
	require.NoError(t, err)
	require.InEpsilon(t, ratio.From, life.ModeRatio.From.Float(), 1e-4)
	require.InEpsilon(t, ratio.Upper, life.ModeRatio.Upper.Float(), 1e-4)
}

// No joint fit: one mode alone, fewer than three tasters in one, an early headline, pours of a single taster.
func TestNoJointModes(t *testing.T) {
	none := func(in Input) {
		t.Helper()
		life := mustLife(t, in)
		require.Nil(t, life.ModeRatio)
		require.NotContains(t, strings.Join(life.Sentences, " "), "times (95")
		for _, r := range life.Rows {
			require.NotContains(t, r.Variant, "joint")
			require.NotEqual(t, "time_ratio", r.Statistic)
		}
	}
	none(twelve())
	in := evening("yyynn", "yyyynn", "yyynn", "yyyyynn")
	for _, age := range []float64{3, 6, 9} {
		in.see("p", age, age > 5)
		in.see("q", age, age > 7)
	}
	none(in)
	early := evening(stopped...)
	single := evening("yyynn", "yyyynn", "yyynn", "yyyyynn")
	for _, name := range []string{"p", "q", "r"} {
		for _, age := range []float64{3, 6, 9} {
			early.see(name, age, age > 5)
			single.see("p", age, age > 5)
		}
	}
	none(early)
	none(single)
}

// Everyone side by side would go on: there is no ratio to tell.
func TestJointModesWithoutAnEnd(t *testing.T) {
	in := evening("yyynn", "yyyynn", "yyynn", "yyyyynn")
	for _, name := range []string{"p", "q", "r", "s", "t"} {
		for _, age := range []float64{3, 6, 9} {
			in.see(name, age, false)
		}
	}
	life := mustLife(t, in)
	require.Equal(t, panel.SideBySide.String(), life.Parts[0].Mode)
	require.Nil(t, life.ModeRatio)
}
