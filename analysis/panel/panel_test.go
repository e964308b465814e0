package panel_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// evening is a small valid panel: two tasters, a glass each, tasted twice.
func evening(session string) *panel.Panel {
	p := &panel.Panel{
		Sessions:   []panel.Session{{Name: session}},
		Attributes: []panel.Attribute{{Name: "liking", Ranged: true, Low: 0, High: 10, Limit: 4}, {Name: "bubbles", Ranged: true, Low: 0, High: 10, Limit: 3}},
		Settings: panel.Settings{Overall: "liking", HasLimits: true, PrimeLimit: 7, RejectLimit: 4, Unclear: "either_side", StandardDrinkG: 10,
			Allergens: []string{"egg"}, Taken: []panel.Taken{{Name: "unclear", Value: "either_side", Default: true}, {Name: "sip_ml", Value: session}}},
		LeftOut: []panel.LeftOut{{Session: session, Reason: "score off the scale", Rows: 1}},
	}
	for i, taster := range []string{"ann", "bob"} {
		p.Pours = append(p.Pours, panel.Pour{Session: session, ID: "1", Taster: taster, Style: "sour"})
		for _, age := range []float64{2, 6} {
			p.Tastes = append(p.Tastes, panel.Taste{Session: session, Taster: taster, Pour: i, Mode: panel.SipThrough, Age: panel.Age(age), Verdict: panel.Accept,
				Scores: []panel.Score{{Value: 9 - age, Given: true}, {}}, Origin: panel.Origin{File: "tastes.csv", Line: 2 + len(p.Tastes)}})
		}
	}
	return p
}

func TestValidate(t *testing.T) {
	require.NoError(t, evening("one").Validate())
	for _, tt := range []struct {
		name   string
		spoil  func(*panel.Panel)
		want   error
		column string
	}{
		{"pour index", func(p *panel.Panel) { p.Tastes[0].Pour = 7 }, dataerr.ErrUnknown, "pour"},
		{"pour index below 0", func(p *panel.Panel) { p.Tastes[0].Pour = -1 }, dataerr.ErrUnknown, "pour"},
		{"another taster's glass", func(p *panel.Panel) { p.Tastes[0].Pour = 1 }, dataerr.ErrConflict, "pour"},
		{"negative age", func(p *panel.Panel) { p.Tastes[0].Age = -1 }, dataerr.ErrRange, "age_min"},
		{"score NaN", func(p *panel.Panel) { p.Tastes[0].Scores[0].Value = math.NaN() }, dataerr.ErrNumber, "liking"},
		{"score Inf", func(p *panel.Panel) { p.Tastes[0].Scores[0].Value = math.Inf(1) }, dataerr.ErrNumber, "liking"},
		{"score off the scale", func(p *panel.Panel) { p.Tastes[0].Scores[0].Value = 11 }, dataerr.ErrRange, "liking"},
		{"score missing", func(p *panel.Panel) { p.Tastes[0].Scores = nil }, dataerr.ErrRange, "scores"},
		{"same taster, pour and age", func(p *panel.Panel) { p.Tastes[1].Age = p.Tastes[0].Age }, dataerr.ErrDuplicate, "age_min"},
		{"no taster", func(p *panel.Panel) { p.Tastes[0].Taster, p.Pours[0].Taster = "", "" }, dataerr.ErrMissing, "taster"},
		{"no mode", func(p *panel.Panel) { p.Tastes[0].Mode = 0 }, dataerr.ErrUnknown, "mode"},
		{"verdict out of range", func(p *panel.Panel) { p.Tastes[0].Verdict = 9 }, dataerr.ErrUnknown, "verdict"},
		{"no style", func(p *panel.Panel) { p.Pours[0].Style = "" }, dataerr.ErrMissing, "style"},
		{"no pour name", func(p *panel.Panel) { p.Pours[0].ID = "" }, dataerr.ErrMissing, "pour"},
		{"glass twice", func(p *panel.Panel) { p.Pours[1].Taster = "ann"; p.Tastes = p.Tastes[:2] }, dataerr.ErrDuplicate, "pour"},
		{"volume NaN", func(p *panel.Panel) { p.Pours[0].VolumeML = math.NaN() }, dataerr.ErrRange, "volume_ml"},
		{"unknown session", func(p *panel.Panel) { p.Sessions[0].Name = "other" }, dataerr.ErrUnknown, "session"},
		{"session twice", func(p *panel.Panel) { p.Sessions = append(p.Sessions, p.Sessions[0]) }, dataerr.ErrDuplicate, "session"},
		{"attribute twice", func(p *panel.Panel) { p.Attributes[1].Name = "liking" }, dataerr.ErrDuplicate, "attribute"},
		{"scale reversed", func(p *panel.Panel) { p.Attributes[1].Low = 20 }, dataerr.ErrOrder, "bubbles"},
		{"limit NaN", func(p *panel.Panel) { p.Attributes[1].Limit = math.NaN() }, dataerr.ErrRange, "bubbles"},
		{"overall unknown", func(p *panel.Panel) { p.Settings.Overall = "joy" }, dataerr.ErrUnknown, "overall"},
		{"prime limit NaN", func(p *panel.Panel) { p.Settings.PrimeLimit = math.NaN() }, dataerr.ErrRange, "limits"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := evening("one")
			tt.spoil(p)
			err := p.Validate()
			require.ErrorIs(t, err, tt.want)
			require.True(t, slices.ContainsFunc(dataerr.All(err), func(c *dataerr.Cell) bool { return c.Column == tt.column && errors.Is(c, tt.want) }), "%v", err)
		})
	}
}

func TestValidateTellsThePlace(t *testing.T) {
	p := evening("one")
	p.Tastes[2].Age = -1
	p.Tastes[3].Origin = panel.Origin{}
	p.Tastes[3].Taster = ""
	cells := dataerr.All(p.Validate())
	require.Equal(t, dataerr.Cell{File: "tastes.csv", Row: 4, Column: "age_min", Value: cells[0].Value, Err: dataerr.ErrRange, Want: cells[0].Want}, *cells[0])
	require.Equal(t, 4, cells[1].Row, "without a file the observation is counted from 1")
}

func TestMerge(t *testing.T) {
	a, b := evening("one"), evening("two")
	// The second evening scores in another order, and something else too.
	b.Attributes = []panel.Attribute{{Name: "colour", Ranged: true, Low: 1, High: 9, Limit: 4}, b.Attributes[0]}
	for i := range b.Tastes {
		b.Tastes[i].Scores = []panel.Score{{Value: 5, Given: true}, {Value: 6, Given: true}}
	}
	b.Settings.Allergens = []string{"nuts", "egg"}
	b.Settings.SipML = 8
	m, err := panel.Merge(a, b)
	require.NoError(t, err)
	require.NoError(t, m.Validate())
	require.Equal(t, []panel.Session{{Name: "one"}, {Name: "two"}}, m.Sessions)
	names := []string{m.Attributes[0].Name, m.Attributes[1].Name, m.Attributes[2].Name}
	require.Equal(t, []string{"liking", "bubbles", "colour"}, names)
	require.Len(t, m.Tastes, 8)
	require.Equal(t, []panel.Score{{Value: 7, Given: true}, {}, {}}, m.Tastes[0].Scores)
	require.Equal(t, []panel.Score{{Value: 6, Given: true}, {}, {Value: 5, Given: true}}, m.Tastes[4].Scores)
	require.Equal(t, 2, m.Tastes[4].Pour)
	require.Equal(t, "two", m.Pours[m.Tastes[4].Pour].Session)
	require.Equal(t, []string{"egg", "nuts"}, m.Settings.Allergens)
	require.Equal(t, 8.0, m.Settings.SipML)
	require.Equal(t, "liking", m.Settings.Overall)
	require.Equal(t, 4.0, m.Settings.RejectLimit)
	require.Equal(t, []panel.Taken{{Name: "unclear", Value: "either_side", Default: true}, {Name: "sip_ml", Value: "one", Session: "one"},
		{Name: "sip_ml", Value: "two", Session: "two"}}, m.Settings.Taken)
	require.Len(t, m.LeftOut, 2)

	before := evening("one")
	m.Tastes[0].Scores[0].Value, m.Settings.Allergens[0], m.Pours[0].Style = 0, "x", "x"
	require.Equal(t, before, a, "the inputs share nothing with the result")
}

func TestMergeOfOneIsACopy(t *testing.T) {
	a := evening("one")
	m, err := panel.Merge(a)
	require.NoError(t, err)
	require.Equal(t, []string{"egg"}, m.Settings.Allergens)
	m.Settings.Allergens[0], m.Settings.Taken[0].Value, m.LeftOut[0].Rows, m.Attributes[0].Name, m.Sessions[0].Name = "x", "x", 9, "x", "x"
	require.Equal(t, evening("one"), a)
}

func TestMergeOfVerdictsAlone(t *testing.T) {
	a, b := evening("one"), evening("two")
	a.Attributes, a.Settings.Overall, a.Settings.HasLimits, a.Settings.PrimeLimit, a.Settings.RejectLimit = nil, "", false, 0, 0
	for i := range a.Tastes {
		a.Tastes[i].Scores = nil
	}
	m, err := panel.Merge(a, b)
	require.NoError(t, err)
	require.NoError(t, m.Validate())
	require.Equal(t, "liking", m.Settings.Overall)
	require.Equal(t, 7.0, m.Settings.PrimeLimit)
}

func TestMergeRefuses(t *testing.T) {
	for _, tt := range []struct {
		name  string
		spoil func(*panel.Panel)
		want  string
	}{
		{"scale", func(p *panel.Panel) { p.Attributes[1].High = 9 },
			`column bubbles: "line 0 to 9, better high, limit 3" contradicts another place; session one has line 0 to 10, better high, limit 3, session two has line 0 to 9, better high, limit 3: scores on different scales are not put together`},
		{"attribute limit", func(p *panel.Panel) { p.Attributes[1].Limit = 2 },
			`column bubbles: "line 0 to 10, better high, limit 2" contradicts another place; session one has line 0 to 10, better high, limit 3, session two has line 0 to 10, better high, limit 2: scores on different scales are not put together`},
		{"reject limit", func(p *panel.Panel) { p.Settings.RejectLimit = 5 },
			`column reject_limit: "5" contradicts another place; session one has 4, session two has 5: give both evenings the same rule, or answer them apart`},
		{"reading of wavering replies", func(p *panel.Panel) { p.Settings.Unclear = "first_no" },
			`column unclear: "first_no" contradicts another place; session one has either_side, session two has first_no: give both evenings the same rule, or answer them apart`},
		{"session name", func(p *panel.Panel) { p.Sessions[0] = panel.Session{Name: "one", Dir: "attic/one"} },
			`column session: "one" stands twice; two evenings have this name (one and attic/one): rename one folder, or open it once`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := evening("two")
			tt.spoil(b)
			_, err := panel.Merge(evening("one"), b)
			require.EqualError(t, err, tt.want)
			require.NotEmpty(t, dataerr.All(err))
		})
	}
	_, err := panel.Merge()
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	for _, spoil := range []func(*panel.Settings){
		func(s *panel.Settings) { s.PrimeLimit = 8 }, func(s *panel.Settings) { s.PrimeDrop = 1 }, func(s *panel.Settings) { s.SameMargin = 1 },
		func(s *panel.Settings) { s.ImprovesFirst = true }, func(s *panel.Settings) { s.StandardDrinkG = 14 },
		func(s *panel.Settings) { s.Overall = "bubbles" }, func(s *panel.Settings) { s.HasLimits = false },
	} {
		b := evening("two")
		spoil(&b.Settings)
		_, err := panel.Merge(evening("one"), b)
		require.ErrorIs(t, err, dataerr.ErrConflict)
	}
}
