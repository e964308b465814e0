package answer

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/panel"
)

// tasting makes a sip-through panel of liking, liveliness and coldness, better high, limits 4 of 0 to 10: one row per taster,
// scores of liveliness and coldness at 2, 4, 6 ... minutes; "." is no score, "" no taste at all. Each taster has a batch.
func tasting(rows ...[2]string) Input {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Overall: "liking", HasLimits: true, RejectLimit: 4}}
	for _, name := range []string{"liking", "liveliness", "coldness"} {
		p.Attributes = append(p.Attributes, panel.Attribute{Name: name, Ranged: true, High: 10, Limit: 4})
	}
	for i, r := range rows {
		name := string(rune('a' + i))
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: "g" + name, Taster: name, Style: sour.Style, Serve: sour.Serve, Batch: name})
		cold := strings.Fields(r[1])
		for k, live := range strings.Fields(r[0]) {
			t := panel.Taste{Session: "one", Taster: name, Pour: i, Mode: panel.SipThrough, Age: panel.Age(float64(2 + 2*k)), Scores: []panel.Score{{Value: 5, Given: true}, {}, {}}}
			for j, w := range []string{live, cold[k]} {
				if v, err := strconv.ParseFloat(w, 64); err == nil {
					t.Scores[1+j] = panel.Score{Value: v, Given: true}
				}
			}
			p.Tastes = append(p.Tastes, t)
		}
	}
	return Input{Panel: p}
}

// twelveScored: liveliness alone for 7 (2 at 4 min, 5 at 6 min), tied with coldness for 2 at 6 min, coldness alone for 1 at
// 8 min, nothing for 2, of whom one stopped after 6 min. At a limit of 5 liveliness fails at 4 min for everybody whose score
// is 4 there.
func twelveScored() Input {
	rows := [][2]string{{"8 3 3 2", "8 7 6 3"}, {"8 3 2 2", "8 7 6 5"}}
	for range 5 {
		rows = append(rows, [2]string{"8 6 3 2", "8 7 6 5"})
	}
	rows = append(rows, [2]string{"8 6 3 2", "8 7 3 2"}, [2]string{"8 6 3 2", "8 7 3 2"}, [2]string{"8 8 7 6", "8 7 6 3"}, [2]string{"8 8 7 6", "8 7 7 6"}, [2]string{"8 8 7", "8 7 6"})
	return tasting(rows...)
}

func goesFirstOf(t *testing.T, in Input) *GoesFirst {
	t.Helper()
	a, err := NewGoesFirst(in, sour)
	require.NoError(t, err)
	return a
}

// Counts worked by hand; limits are Clopper and Pearson's.
func TestGoesFirstByHand(t *testing.T) {
	a := goesFirstOf(t, twelveScored())
	require.Equal(t, OK, a.Status)
	p := a.Parts[0]
	require.Equal(t, []string{"liveliness"}, p.Leads)
	live, cold := p.Attributes[0], p.Attributes[1]
	counts := func(x FirstAttribute) (out [][5]int) {
		for _, s := range x.Steps {
			out = append(out, [5]int{s.Alone, s.Tied, s.Other, s.Nothing, s.Stopped})
		}
		return out
	}
	require.Equal(t, [][5]int{{0, 0, 0, 12, 0}, {2, 0, 0, 10, 0}, {7, 2, 0, 3, 0}, {7, 2, 1, 2, 1}}, counts(live))
	require.Equal(t, [][5]int{{0, 0, 0, 12, 0}, {0, 0, 2, 10, 0}, {0, 2, 7, 3, 0}, {1, 2, 7, 2, 1}}, counts(cold))
	const r = "R 4.2.2 binom.test"
	mathtest.Close(t, "lower, 7 of 12", live.Steps[2].Lower.Float(), 0.2766697, 5e-8, r)
	mathtest.Close(t, "upper, 9 of 12", live.Steps[2].Upper.Float(), 0.9451394, 5e-8, r)
	mathtest.Close(t, "upper, 10 of 12: the one who stopped may have been one more", live.Steps[3].Upper.Float(), 0.9791375, 5e-8, r)
	mathtest.Close(t, "upper, 4 of 12", cold.Steps[3].Upper.Float(), 0.6511245, 5e-8, r)
	require.Equal(t, []string{
		"Liveliness went first most often: by 6 min it had failed before anything else for 7 of 12 tasters, and together with coldness for 2 more (58 to 75 %, 95 % limits 28 to 95 %).",
		"That it goes first is not shown: the limits leave room for others (coldness: first alone for 1 of 12, tied for 2).",
		"Nothing had failed for 2 tasters up to their last score, which for 1 of them came before 8 min.",
		"Moving every limit by one point, either way, does not change this.",
	}, unbroken(a.Sentences))
	require.Empty(t, a.Warnings)
}

func unbroken(list []string) []string {
	var out []string
	for _, s := range list {
		out = append(out, words(s))
	}
	return out
}

func TestGoesFirstRows(t *testing.T) {
	a := goesFirstOf(t, twelveScored())
	find := func(variant, attribute, statistic string, age float64) Row {
		i := slices.IndexFunc(a.Rows, func(r Row) bool {
			return r.Variant == variant && r.Attribute == attribute && r.Statistic == statistic && r.AgeMin == Of(age)
		})
		require.GreaterOrEqual(t, i, 0)
		return a.Rows[i]
	}
	alone := find("sip_through", "liveliness", "alone", 6)
	require.Equal(t, Row{Question: "goes_first", Style: "sour", Serve: "coupe", Attribute: "liveliness", AgeMin: Of(6), Statistic: "alone", Method: "counts", Variant: "sip_through",
		Value: Of(7. / 12), Lower: alone.Lower, Upper: alone.Upper, Level: Of(.95), Unit: "1", Status: OK, Tasters: 12, Batches: 12, Tastes: 47,
		Note: "of 12 tasters: alone 7, tied 2, another first 0, nothing yet 3; limits: Clopper-Pearson, lower from 7, upper from 9"}, alone)
	tied := find("sip_through", "liveliness", "tied", 6)
	require.Equal(t, Of(2./12), tied.Value)
	require.True(t, tied.Lower.Empty() && tied.Upper.Empty() && tied.Level.Empty())
	require.Equal(t, Of(0), find("sip_through+limit_up", "liveliness", "alone", 2).Value)
	require.Equal(t, Of(7./12), find("sip_through+limit_down", "liveliness", "alone", 8).Value, "a limit of 3: six fail later, the same two tied")
	require.Equal(t, 4*2*2*4, len(a.Rows), "four steps, two attributes, two statistics; the rule and three others")
	keys := map[[4]string]bool{}
	for _, r := range a.Rows {
		k := [4]string{r.Attribute, r.AgeMin.String(), r.Statistic, r.Variant}
		require.False(t, keys[k], "one row a key")
		keys[k] = true
	}
}

// A limit moved by a point, scores that come back, tastes by those who knew: each said where it changes the answer.
func TestGoesFirstSensitivity(t *testing.T) {
	var rows [][2]string
	for range 6 {
		rows = append(rows, [2]string{"8 4.5 3 5", "8 7 4.5 3"})
	}
	in := tasting(rows...)
	a := goesFirstOf(t, in)
	require.Equal(t, "Liveliness goes first: by 6 min it had failed before anything else for 6 of 6 tasters (100 %, 95 % limits 54 to 100 %).", words(a.Sentences[0]), "binom.test(6, 6): 0.5407 to 1")
	require.Equal(t, "Some scores failed and came back within the limit (liveliness for 6 tasters); counting only what failed for good, coldness would go first most often (alone for 6 of 6).", words(a.Sentences[2]))
	require.Equal(t, "With every limit one point stricter this stays so; one point laxer, nothing would have failed.", words(a.Sentences[1]))
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Aware = in.Panel.Tastes[i].Taster >= "d"
	}
	a = goesFirstOf(t, in)
	require.Equal(t, "Without the tastes by those who made or knew the drink the answer is the same.", a.Sentences[3])
	v := a.Parts[0].variant("without_aware")
	require.Equal(t, []int{3, 12, 3}, []int{v.Units, v.Counts.RowsUsed, v.Attributes[0].Steps[2].Alone})
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Aware = true
	}
	require.Nil(t, goesFirstOf(t, in).Parts[0].variant("without_aware"), "nobody is left")
}

func TestGoesFirstSentences(t *testing.T) {
	times := func(n int, rows ...[2]string) (out [][2]string) {
		for range n {
			out = append(out, rows...)
		}
		return out
	}
	live, cold, both, none := [2]string{"8 3", "8 6"}, [2]string{"8 6", "8 3"}, [2]string{"8 3", "8 3"}, [2]string{"8 6", "8 6"}
	for _, tt := range []struct {
		name, status string
		rows         [][2]string
		want         []string
	}{
		{"nothing", BeyondLastAge, times(12, none), []string{"Nothing has failed by 4 min: every attribute kept within its limit for all 12 tasters."}},
		{"nothing, and one stopped", BeyondLastAge, append(times(11, none), [2]string{"8", "8"}), []string{"Nothing has failed: every attribute kept within its limit for as long as each of the 12 tasters was followed, to 4 min at the latest."}},
		{"ties everywhere", OK, times(6, both), []string{"liveliness and coldness cannot be told apart as the first to go: none failed before the others, each failed at one age step with others for 6 of 6 tasters, liveliness by 4 min and coldness by 4 min (0 to 100 %, 95 % limits 0 to 100 %)."}},
		{"equal", OK, times(3, live, cold), []string{"liveliness and coldness cannot be told apart as the first to go: each had failed before anything else for 3 of 6 tasters, liveliness by 4 min and coldness by 4 min (50 %, 95 % limits 12 to 88 %)."}},
		{"some nothing", OK, append(times(11, live), none), []string{"Liveliness goes first: by 4 min it had failed before anything else for 11 of 12 tasters (92 %, 95 % limits 62 to 100 %).", "Nothing has failed by 4 min for 1 taster."}},
		{"four tasters: counts", OK, times(2, live, live), []string{"Liveliness went first most often: by 4 min it had failed before anything else for 4 of 4 tasters (95 % limits 40 to 100 %).", "That it goes first is not shown: so few tasters leave room for others."}},
		{"two tasters", NotEnough, [][2]string{live, none}, []string{"Two tasters cannot speak for drinkers; what went first: a liveliness by 4 min and b nothing by 4 min."}},
		{"one taster, one glass", NotEnough, [][2]string{both}, []string{"One taster speaks for one person, and from three pours of their own up; what went first: a, glass ga, liveliness and coldness together by 4 min."}},
		{"nobody scored all", NotEnough, [][2]string{{"8 3", ". ."}, {". .", "8 3"}}, []string{"Nobody scored every attribute that is compared: what goes first is not answered.", "Not compared: taster a, without any score of coldness.", "Not compared: taster b, without any score of liveliness."}},
		{"one left out", OK, append(times(6, live), [2]string{"8 3", ". ."}), []string{"Liveliness goes first: by 4 min it had failed before anything else for 6 of 6 tasters (100 %, 95 % limits 54 to 100 %).", "With every limit one point stricter this stays so; one point laxer, nothing would have failed.", "Not compared: taster g, without any score of coldness."}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := goesFirstOf(t, tasting(tt.rows...))
			require.Equal(t, tt.status, a.Status)
			got := unbroken(a.Sentences)
			for _, w := range tt.want {
				require.Contains(t, got, upperFirst(w))
			}
			require.Equal(t, upperFirst(tt.want[0]), got[0])
			for _, r := range a.Rows {
				require.Equal(t, tt.status == NotEnough, r.Status == NotEnough)
				require.False(t, r.Status == NotEnough && (r.Lower.Finite() || r.Upper.Finite()), "no limits from fewer than three")
			}
		})
	}
}

// One taster with four pours of their own: the pour is the unit, and the words say whose.
func TestGoesFirstOfOneTaster(t *testing.T) {
	rows := make([][2]string, 4)
	for i := range rows {
		rows[i] = [2]string{"8 3", "8 6"}
	}
	in := tasting(rows...)
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Taster = "a"
	}
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Taster = "a"
	}
	a := goesFirstOf(t, in)
	require.Equal(t, "Liveliness went first most often: by 4 min it had failed before anything else for 4 of 4 pours of taster a (95 % limits 40 to 100 %, for this taster).", words(a.Sentences[0]))
	require.Equal(t, 1, a.Rows[0].Tasters)
	require.Contains(t, a.Rows[0].Note, "of 4 pours")
}

func TestGoesFirstNotAsked(t *testing.T) {
	for reason, change := range map[string]func(*panel.Panel){
		"only liveliness has a limit to fail at":                                               func(p *panel.Panel) { p.Attributes[2].Ranged = false },
		"the scale of liveliness and coldness is not known, so nothing has a limit to fail at": func(p *panel.Panel) { p.Attributes[1].Ranged, p.Attributes[2].Ranged = false, false },
		"only liking was scored, which is the overall score": func(p *panel.Panel) {
			for i := range p.Tastes {
				p.Tastes[i].Scores[1], p.Tastes[i].Scores[2] = panel.Score{}, panel.Score{}
			}
		},
		"no attribute was scored": func(p *panel.Panel) {
			for i := range p.Tastes {
				p.Tastes[i].Scores = make([]panel.Score, 3)
			}
		},
	} {
		in := twelveScored()
		change(in.Panel)
		a := goesFirstOf(t, in)
		require.Equal(t, NotAsked, a.Status)
		require.Equal(t, "What goes first is not answered: "+reason+".", a.Sentences[0])
		require.Contains(t, a.Sentences[1], "besides liking at every taste")
		require.Len(t, a.Rows, 1)
		require.Equal(t, NotAsked, a.Rows[0].Status)
	}
	in := twelveScored()
	in.Panel.Settings.Overall = ""
	require.Len(t, goesFirstOf(t, in).Parts[0].Attributes, 3, "no overall score: all compete")
}

func TestGoesFirstWarnings(t *testing.T) {
	a := goesFirstOf(t, tasting([2]string{"3 3", "8 6"}, [2]string{"3 3", "8 6"}, [2]string{"8 3", "8 ."}, [2]string{"8 3", "8 6"}))
	require.Equal(t, []string{
		"Liveliness was past its limit when tasters a and b first scored it, so when it failed was not seen.",
		"Coldness was not scored by taster c when another attribute failed; it may have failed with it, and counts as not failed.",
	}, unbroken(a.Warnings))
}

// Side by side speaks first from five tasters up; each mode has rows of its own.
func TestGoesFirstInTwoModes(t *testing.T) {
	for _, n := range []int{4, 5} {
		in := twelveScored()
		for i := range n {
			for k, age := range []float64{3, 7, 11} {
				in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: fmt.Sprint("s", i, age), Style: sour.Style, Serve: sour.Serve})
				in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: string(rune('a' + i)), Pour: len(in.Panel.Pours) - 1, Mode: panel.SideBySide, Age: panel.Age(age),
					Scores: []panel.Score{{}, {Value: 8, Given: true}, {Value: float64(8 - 3*k), Given: true}}})
			}
		}
		a := goesFirstOf(t, in)
		require.Len(t, a.Parts, 2)
		want := map[int]string{4: "sip_through", 5: "side_by_side"}[n]
		require.Equal(t, want, a.Parts[0].Mode)
		last := words(a.Sentences[len(a.Sentences)-1])
		if n == 5 {
			require.Equal(t, "One glass tasted again and again: liveliness went first most often: by 6 min it had failed before anything else for 7 of 12 tasters, and together with coldness for 2 more (58 to 75 %, 95 % limits 28 to 95 %).", last)
		} else {
			require.Equal(t, "Side by side: coldness went first most often: by 11 min it had failed before anything else for 4 of 4 tasters (95 % limits 40 to 100 %, for these drinks).", last)
		}
		require.Equal(t, 47+3*n, a.Counts.RowsUsed)
	}
}

// The order of the rows in a file, and the input itself, stay out of it.
func TestGoesFirstOrderOfRows(t *testing.T) {
	in := twelveScored()
	want := goesFirstOf(t, in)
	rng := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		rng.Shuffle(len(in.Panel.Tastes), func(i, j int) { in.Panel.Tastes[i], in.Panel.Tastes[j] = in.Panel.Tastes[j], in.Panel.Tastes[i] })
		kept := slices.Clone(in.Panel.Tastes)
		require.Equal(t, want, goesFirstOf(t, in))
		require.Equal(t, kept, in.Panel.Tastes)
	}
}
