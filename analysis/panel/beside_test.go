package panel_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// beside is evening with a reading, two choices, a ranking of two and a pace.
func beside(session string) *panel.Panel {
	p := evening(session)
	for _, id := range []string{"x", "y"} {
		p.Pours = append(p.Pours, panel.Pour{Session: session, ID: id, Style: "sour"})
	}
	p.Readings = []panel.Reading{{Session: session, Pour: 2, Age: panel.Age(2), Quantity: "temperature", Value: -1, Unit: "C"}}
	p.Choices = []panel.Choice{
		{Session: session, Taster: "ann", Trial: "1", Test: "triangle", PourA: 2, PourB: 3, AgeA: panel.Age(6), AgeB: panel.Age(1), Answer: "right"},
		{Session: session, Taster: "bob", Trial: "1", Test: "preference", PourA: 2, PourB: 3, AgeA: panel.Age(1), AgeB: panel.Age(6), Answer: "tie"}}
	p.Places = []panel.Place{{Session: session, Taster: "ann", Trial: "1", Pour: 2, Rank: 1.5}, {Session: session, Taster: "ann", Trial: "1", Pour: 3, Rank: 1.5}}
	p.Paces = []panel.Pace{{Session: session, Style: "sour", Minutes: 8, Finished: true}, {Session: session, Style: "sour", Minutes: 8, Why: panel.WhyDrink}}
	return p
}

func TestValidateBeside(t *testing.T) {
	require.NoError(t, beside("one").Validate())
	for _, tt := range []struct {
		name   string
		spoil  func(*panel.Panel)
		want   error
		column string
	}{
		{"reading of no pour", func(p *panel.Panel) { p.Readings[0].Pour = 9 }, dataerr.ErrUnknown, "pour"},
		{"reading of another session", func(p *panel.Panel) { p.Readings[0].Session = "x" }, dataerr.ErrConflict, "pour"},
		{"reading before making", func(p *panel.Panel) { p.Readings[0].Age = -1 }, dataerr.ErrRange, "age_min"},
		{"reading NaN", func(p *panel.Panel) { p.Readings[0].Value = math.NaN() }, dataerr.ErrNumber, "value"},
		{"reading of nothing", func(p *panel.Panel) { p.Readings[0].Quantity = "" }, dataerr.ErrMissing, "quantity"},
		{"choice of one glass", func(p *panel.Panel) { p.Choices[0].PourB = 2 }, dataerr.ErrConflict, "pour_b"},
		{"choice of another's glass", func(p *panel.Panel) { p.Choices[0].PourA = 1 }, dataerr.ErrConflict, "pour_a"},
		{"unknown test", func(p *panel.Panel) { p.Choices[0].Test = "guess" }, dataerr.ErrUnknown, "test"},
		{"answer of another test", func(p *panel.Panel) { p.Choices[0].Answer = "tie" }, dataerr.ErrUnknown, "answer"},
		{"the older second", func(p *panel.Panel) { p.Choices[0].AgeB = panel.Age(7) }, dataerr.ErrOrder, "pour_a"},
		{"choice without trial", func(p *panel.Panel) { p.Choices[0].Trial = "" }, dataerr.ErrMissing, "trial"},
		{"choice without taster", func(p *panel.Panel) { p.Choices[0].Taster = "" }, dataerr.ErrMissing, "taster"},
		{"choice before making", func(p *panel.Panel) { p.Choices[1].AgeA = -1 }, dataerr.ErrRange, "age_min"},
		{"rank 0", func(p *panel.Panel) { p.Places[0].Rank = 0 }, dataerr.ErrRange, "rank"},
		{"rank NaN", func(p *panel.Panel) { p.Places[0].Rank = math.NaN() }, dataerr.ErrRange, "rank"},
		{"two places of a pour", func(p *panel.Panel) { p.Places[1].Pour = 2 }, dataerr.ErrDuplicate, "pour"},
		{"place before making", func(p *panel.Panel) { p.Places[0].HasAge, p.Places[0].Age = true, -1 }, dataerr.ErrRange, "age_min"},
		{"pace without style", func(p *panel.Panel) { p.Paces[0].Style = "" }, dataerr.ErrMissing, "style"},
		{"pace NaN", func(p *panel.Panel) { p.Paces[0].Minutes = math.NaN() }, dataerr.ErrRange, "minutes"},
		{"pace of no session", func(p *panel.Panel) { p.Paces[0].Session = "x" }, dataerr.ErrUnknown, "session"},
		{"reason of a finished glass", func(p *panel.Panel) { p.Paces[0].Why = panel.WhyFull }, dataerr.ErrConflict, "why"},
		{"pace volume", func(p *panel.Panel) { p.Paces[0].VolumeML = -1 }, dataerr.ErrRange, "volume_ml"},
		{"first sip before making", func(p *panel.Panel) { p.Paces[0].HasFirstSip, p.Paces[0].FirstSip = true, -1 }, dataerr.ErrRange, "age_min"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := beside("one")
			tt.spoil(p)
			err := p.Validate()
			require.ErrorIs(t, err, tt.want)
			require.Equal(t, tt.column, dataerr.All(err)[0].Column)
		})
	}
}

func TestMergeBeside(t *testing.T) {
	a, b := beside("one"), beside("two")
	b.Blind = true
	m, err := panel.Merge(a, b)
	require.NoError(t, err)
	require.NoError(t, m.Validate())
	require.True(t, m.Blind)
	require.Len(t, m.Readings, 2)
	require.Equal(t, 6, m.Readings[1].Pour)
	require.Equal(t, []int{6, 7}, []int{m.Choices[2].PourA, m.Choices[3].PourB})
	require.Equal(t, 7, m.Places[3].Pour)
	require.Len(t, m.Paces, 4)
	m.Readings[0].Pour, m.Paces[0].Style, m.Choices[0].PourA, m.Places[0].Pour = 9, "x", 9, 9
	require.Equal(t, beside("one"), a, "the inputs share nothing with the result")
}
