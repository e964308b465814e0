package answer

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// oddPanel draws a small panel of overall scores: any number of tasters, ages, evenings and batches, scores missing, clipped,
// rounded, all alike, both modes, any direction of the scale.
func oddPanel(rng *rand.Rand) Input {
	p := &panel.Panel{Settings: panel.Settings{Overall: "liking", HasLimits: true, PrimeLimit: 7, RejectLimit: 4, Unclear: "either_side"}}
	better := []panel.Direction{panel.BetterHigh, panel.BetterHigh, panel.BetterHigh, panel.BetterLow, panel.BetterMiddle}[rng.IntN(5)]
	if better == panel.BetterLow {
		p.Settings.PrimeLimit, p.Settings.RejectLimit = 3, 6
	}
	if rng.IntN(4) == 0 {
		p.Settings.PrimeDrop = 1
	}
	if rng.IntN(2) == 0 {
		p.Settings.SameMargin = 0.5
	}
	p.Attributes = []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Better: better, Best: 5, Limit: 4}}
	tasters, ages, evenings, batches := 1+rng.IntN(9), 1+rng.IntN(9), 1+rng.IntN(6), rng.IntN(7)
	if rng.IntN(2) == 0 {
		evenings = 1
	}
	noise, slope, fresh := []float64{0, 0.3, 1, 3}[rng.IntN(4)], rng.Float64()-0.1, 4+rng.Float64()*6
	for e := range evenings {
		name := fmt.Sprint("evening ", e)
		p.Sessions = append(p.Sessions, panel.Session{Name: name})
		for i := range tasters {
			mode := panel.SipThrough
			if rng.IntN(2) == 0 {
				mode = panel.SideBySide
			}
			own := rng.NormFloat64()
			for k := range ages {
				batch := ""
				if batches > 0 {
					batch = fmt.Sprint("b", rng.IntN(batches))
				}
				if k == 0 || mode == panel.SideBySide {
					p.Pours = append(p.Pours, panel.Pour{Session: name, ID: fmt.Sprint("g", i, "-", k), Taster: fmt.Sprint("t", i), Style: sour.Style, Serve: sour.Serve, Batch: batch})
				}
				age := float64(2*k) + rng.Float64()*0.4
				y := fresh + own - slope*age + noise*rng.NormFloat64()
				y = math.Round(min(10, max(0, y))*2) / 2
				s := panel.Score{Value: y, Given: rng.IntN(8) > 0}
				v := panel.Accept
				if y < 4 {
					v = panel.Reject
				}
				p.Tastes = append(p.Tastes, panel.Taste{Session: name, Taster: fmt.Sprint("t", i), Pour: len(p.Pours) - 1, Mode: mode, Age: panel.Age(age), Verdict: v, Aware: rng.IntN(20) == 0, Scores: []panel.Score{s}})
			}
		}
	}
	return Input{Panel: p, Quick: true}
}

// Whatever the panel: no panic, no number that is none, limits in order, the act no later than what it rests on, keys of their
// own, and the answers survive as JSON.
func TestScoreAnswersOfOddPanels(t *testing.T) {
	n := 150
	if testing.Short() {
		n = 45
	}
	answered := 0
	for seed := range n {
		in := oddPanel(rand.New(rand.NewPCG(uint64(seed), 6)))
		w, err := NewPrimeWindow(in, sour)
		require.NoError(t, err, "seed %d", seed)
		ages, err := NewAgeDifferences(in, sour)
		require.NoError(t, err, "seed %d", seed)
		life := &Lifetime{Head: in.head("lifetime", sour)}
		if seed%6 == 0 { // lifetimes of many glasses a taster take their time, and have tests of their own
			life = mustLife(t, in)
		}
		act, err := NewServeBy(in, sour, life, w)
		require.NoError(t, err, "seed %d", seed)
		keys := map[string]bool{}
		for _, a := range []Answer{w, ages, act} {
			raw, err := json.Marshal(a)
			require.NoError(t, err, "seed %d", seed)
			require.NotContains(t, string(raw), "NaN", "seed %d", seed)
			require.NotEmpty(t, a.Common().Sentences, "seed %d", seed)
			require.NotContains(t, strings.Join(append(a.Common().Sentences, a.Common().Warnings...), " "), "NaN", "seed %d", seed)
			for _, r := range a.Common().Rows {
				key := fmt.Sprint(r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin, r.Statistic, r.Method, r.Variant)
				require.False(t, keys[key], "seed %d: %s stands twice", seed, key)
				keys[key] = true
				if r.Value.Finite() && r.Lower.Finite() && !r.Upper.Empty() {
					require.LessOrEqual(t, r.Lower.Float(), r.Value.Float()+1e-9, "seed %d: %s", seed, key)
					require.GreaterOrEqual(t, r.Upper.Float(), r.Value.Float()-1e-9, "seed %d: %s", seed, key)
				}
			}
		}
		if !w.answered() {
			continue
		}
		answered++
		if m := &w.Main; m.AtLeastUntil.Finite() {
			if !w.DropStated && w.Status != NotConverged {
				require.LessOrEqual(t, act.Act.Float(), m.AtLeastUntil.Float(), "seed %d", seed)
			}
			if m.To.Finite() && len(m.Others) == 0 {
				require.LessOrEqual(t, m.AtLeastUntil.Float(), m.To.Float()+1e-9, "seed %d", seed)
			}
		}
	}
	require.Greater(t, answered, n/4, "most panels are worth a test")
}
