package figure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/figure"
	"lastsip/analysis/panel"
)

var odd = endpoint.Drink{Style: "sour & <odd> é", Serve: "up"}

// pick takes one of a list.
func pick[T any](rng *rand.Rand, of ...T) T { return of[rng.IntN(len(of))] }

// oddScores draws a small panel of scores and verdicts on a scale of any ends and direction: both modes, scores missing, clipped,
// rounded, all alike or exactly on a curve, few tasters, names from any script, ages up to hours, several evenings and batches.
func oddScores(rng *rand.Rand) answer.Input {
	scale := pick(rng, [2]float64{0, 10}, [2]float64{0, 10}, [2]float64{1, 9}, [2]float64{-5, 5}, [2]float64{0, 1000}, [2]float64{0, 1e-3}, [2]float64{0, 1})
	low, span := scale[0], scale[1]-scale[0]
	better := pick(rng, panel.BetterHigh, panel.BetterHigh, panel.BetterHigh, panel.BetterLow, panel.BetterLow, panel.BetterMiddle)
	ranged := rng.IntN(8) > 0
	p := &panel.Panel{Settings: panel.Settings{Overall: "liking", HasLimits: ranged || rng.IntN(2) == 0, PrimeLimit: low + 0.7*span, RejectLimit: low + 0.4*span, Unclear: "either_side"}}
	if better == panel.BetterLow {
		p.Settings.PrimeLimit, p.Settings.RejectLimit = low+0.3*span, low+0.6*span
	}
	p.Settings.PrimeDrop, p.Settings.SameMargin = pick(rng, 0, 0, 0.1, 0.3)*span, pick(rng, 0, 0.05, 0.5)*span
	p.Settings.ImprovesFirst = rng.IntN(6) == 0
	a := panel.Attribute{Name: "liking", Ranged: ranged, Better: better, Category: rng.IntN(4) == 0, Limit: p.Settings.RejectLimit}
	if ranged {
		a.Low, a.High = low, low+span
	}
	if better == panel.BetterMiddle {
		a.Best, a.Limit = low+0.4*span, 0.3*span
	}
	p.Attributes = []panel.Attribute{a}
	tasters, ages, evenings, batches := pick(rng, 1, 2, 3, 4, 5, 8, 22), 1+rng.IntN(8), pick(rng, 1, 1, 2, 6), pick(rng, 0, 1, 2, 3, 7)
	if tasters > 8 {
		ages, evenings = min(ages, 5), 1
	}
	if tasters > 4 {
		evenings = min(evenings, 2)
	}
	step, start := pick(rng, 0.1, 1, 2, 2, 5, 90), pick(rng, 0, 0, 0.5, 30)
	course := pick(rng, func(x float64) float64 { return 0.95 - 0.06*x }, func(x float64) float64 { return 0.5 + 0.08*x - 0.012*x*x },
		func(x float64) float64 { return 0.7 + 0.2*math.Sin(1.5*x) }, func(float64) float64 { return 0.8 }, func(x float64) float64 { return 1 - 0.2*math.Sqrt(x) })
	noise, apart, grid := pick(rng, 0, 0.02, 0.1, 0.3), pick(rng, 0, 0.1, 0.3), pick(rng, 0., 0, 10, 4)
	missing, verdicts, jitter := pick(rng, 0, 0, 0.1, 0.5), rng.IntN(3) > 0, pick(rng, 0, 0.2)
	modes, made := pick(rng, 1, 2, 3), rng.IntN(3)
	for e := range evenings {
		evening := fmt.Sprint("evening ", e)
		p.Sessions = append(p.Sessions, panel.Session{Name: evening})
		for i := range tasters {
			mode := panel.Mode(modes)
			if modes == 3 {
				mode = panel.Mode(1 + rng.IntN(2))
			}
			name := fmt.Sprint(pick(rng, "t", "t", "t", "Zoë ", "李", "\u202e", "a:b "), i)
			level, pace := apart*rng.NormFloat64(), 1+apart*rng.NormFloat64()
			for k := range ages {
				if k == 0 || mode == panel.SideBySide {
					batch := ""
					if batches > 0 {
						batch = fmt.Sprint("b", []int{rng.IntN(batches), i % batches, k % batches}[made])
					}
					p.Pours = append(p.Pours, panel.Pour{Session: evening, ID: fmt.Sprint("g", i, "-", k), Taster: name, Style: odd.Style, Serve: odd.Serve, Batch: batch})
				}
				y := course(float64(k)*pace) + level + noise*rng.NormFloat64()
				if grid > 0 {
					y = math.Round(y*grid) / grid
				}
				y = min(1, max(0, y))
				if better == panel.BetterLow {
					y = 1 - y
				}
				x := panel.Taste{Session: evening, Taster: name, Pour: len(p.Pours) - 1, Mode: mode, Age: panel.Age(start + step*(float64(k)+jitter*rng.Float64())), Aware: rng.IntN(15) == 0,
					Scores: []panel.Score{{Value: low + span*y, Given: rng.Float64() >= missing}}}
				if verdicts {
					x.Verdict = panel.Accept
					if y < 0.5 {
						x.Verdict = panel.Reject
					}
				}
				p.Tastes = append(p.Tastes, x)
			}
		}
	}
	return answer.Input{Panel: p, Quick: true, Brief: len(p.Tastes) > 30, Seed: 1}
}

var noNumber = regexp.MustCompile(`NaN|[+-]Inf|%!|\binf\b|<nil>`)

// Whatever the panel, the answers made from its scores tell only numbers that are some, in order and under keys of their own,
// survive JSON, and are drawn at both widths or say that there is nothing to draw.
func TestScoreAnswersOfOddPanels(t *testing.T) {
	n := 250
	if testing.Short() {
		n = 40
	}
	seen := map[string]int{}
	for seed := range n {
		in := oddScores(rand.New(rand.NewPCG(uint64(seed), 2033)))
		short := in
		short.Brief = true
		life, err := answer.NewLifetime(short, odd)
		require.NoError(t, err, "seed %d", seed)
		window, err := answer.NewPrimeWindow(in, odd)
		require.NoError(t, err, "seed %d", seed)
		ages, err := answer.NewAgeDifferences(in, odd)
		require.NoError(t, err, "seed %d", seed)
		act, err := answer.NewServeBy(in, odd, life, window)
		require.NoError(t, err, "seed %d", seed)
		requireOrdered(t, window.Main, seed)
		for _, v := range window.Variants {
			requireOrdered(t, v.Window, seed)
		}
		seen[window.Main.Status]++
		for _, a := range []answer.Answer{window, ages, act} {
			requireSound(t, a, seed)
			for _, width := range []int{figure.Wide, figure.Narrow} {
				f, err := figure.Of(a, width)
				if err != nil {
					require.ErrorIs(t, err, figure.ErrNoFigure, "seed %d, %T", seed, a)
					continue
				}
				require.NotRegexp(t, noNumber, f.Alt(), "seed %d, %T", seed, a)
				svg, err := f.SVG()
				require.NoError(t, err, "seed %d, %T", seed, a)
				require.NotRegexp(t, noNumber, string(svg), "seed %d, %T", seed, a)
			}
		}
		requireActHolds(t, act, life, window, seed)
	}
	t.Log(seen)
	for _, s := range []string{answer.OK, answer.Never, answer.Always, answer.BeyondLastAge, answer.NotEnough, answer.NotAsked} {
		require.Positive(t, seen[s], "%s: %v", s, seen)
	}
}

func requireSound(t *testing.T, a answer.Answer, seed int) {
	t.Helper()
	h := a.Common()
	require.NotEmpty(t, h.Sentences, "seed %d", seed)
	require.NotRegexp(t, noNumber, strings.Join(append(h.Sentences, h.Warnings...), "\n"), "seed %d", seed)
	keys := map[string]bool{}
	for _, r := range h.Rows {
		k := fmt.Sprint(r.Question, r.Session, r.Style, r.Serve, r.Attribute, r.Taster, r.AgeMin, r.Statistic, r.Method, r.Variant)
		require.False(t, keys[k], "seed %d: twice %s", seed, k)
		keys[k] = true
		require.NotRegexp(t, noNumber, r.Note, "seed %d", seed)
		require.NotEmpty(t, r.Status, "seed %d: %+v", seed, r)
		if !r.Value.Empty() {
			require.False(t, r.Lower.Float() > r.Value.Float()+1e-9, "seed %d: %+v", seed, r)
			require.False(t, r.Upper.Float() < r.Value.Float()-1e-9, "seed %d: %+v", seed, r)
		}
	}
	b, err := answer.Encode(a)
	require.NoError(t, err, "seed %d", seed)
	back, err := answer.Decode(b)
	require.NoError(t, err, "seed %d", seed)
	require.Equal(t, a, back, "seed %d", seed)
}

func requireOrdered(t *testing.T, w answer.Window, seed int) {
	t.Helper()
	rising := func(of ...answer.Num) {
		t.Helper()
		last := math.Inf(-1)
		for _, x := range of {
			if !x.Empty() {
				require.LessOrEqual(t, last, x.Float()+1e-9, "seed %d: %+v", seed, w)
				last = x.Float()
			}
		}
	}
	rising(w.FromLower, w.From, w.FromUpper)
	rising(w.ToLower, w.To, w.ToUpper)
	rising(w.From, w.To)
	rising(w.AtLeastUntil, w.To)
	if len(w.Others) == 0 { // else what is shown may be an earlier time
		rising(w.From, w.AtLeastUntil)
	}
}

// requireActHolds checks that the act lies past neither of what it is the earlier.
func requireActHolds(t *testing.T, act *answer.ServeBy, life *answer.Lifetime, window *answer.PrimeWindow, seed int) {
	t.Helper()
	if act.Act.Empty() {
		return
	}
	until := window.Main.AtLeastUntil
	for _, v := range window.Variants {
		if v.Variant == "one_point" && window.DropStated {
			until = v.Window.AtLeastUntil
		}
	}
	if until.Finite() && window.Status != answer.NotConverged {
		require.LessOrEqual(t, act.Act.Float(), until.Float()+1e-9, "seed %d", seed)
	}
	if len(life.Parts) > 0 && life.Parts[0].Headline != nil {
		if q, ok := life.Parts[0].Headline.Quantile(0.1); ok && q.Status == answer.OK && q.From.Finite() && !q.Beyond {
			require.LessOrEqual(t, act.Act.Float(), q.From.Float()+1e-9, "seed %d", seed)
		}
	}
	if act.HandOverAfter.Finite() {
		require.Less(t, act.HandOverAfter.Float(), act.Act.Float(), "seed %d", seed)
	}
}
