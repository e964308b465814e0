package figure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

// No lettering runs out of a figure or into other lettering, in any state at any width.
func TestLetteringKeepsApart(t *testing.T) {
	for name, a := range cases() {
		for suffix, width := range widths {
			draw(t, a, width).lettersApart(name + " " + suffix)
		}
	}
}

func (d *drawing) lettersApart(name string) {
	d.t.Helper()
	type rect struct{ x0, y0, x1, y1 float64 }
	boxes := make([]rect, len(d.texts))
	for i, tx := range d.texts {
		// Capitals rise by about .72 of the size above the baseline, descenders fall by .2.
		boxes[i] = rect{tx.x, tx.y - .2*tx.size, tx.x + figure.TextWidth(tx.s, tx.size, tx.bold), tx.y + .72*tx.size}
		require.GreaterOrEqual(d.t, boxes[i].x0, -.5, "%s: %q", name, tx.s)
		require.LessOrEqual(d.t, boxes[i].x1, d.width+.5, "%s: %q", name, tx.s)
		require.GreaterOrEqual(d.t, boxes[i].y0, 0., "%s: %q", name, tx.s)
		require.LessOrEqual(d.t, boxes[i].y1, d.height, "%s: %q", name, tx.s)
		require.GreaterOrEqual(d.t, tx.size, 12., "%s: %q", name, tx.s)
	}
	for i, a := range boxes {
		for k, b := range boxes[:i] {
			apart := a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0
			if !apart {
				d.t.Errorf("%s: %q runs into %q", name, d.texts[i].s, d.texts[k].s)
			}
		}
	}
}

// Whatever the numbers of a headline and of differences are, they are drawn, and their lettering keeps apart.
func TestLetteringOfAnyNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 7))
	for i := range 100 {
		life, ratios := randomHeadline(rng), randomRatios(rng)
		window := randomAges(rng)
		act := scored(func(a *answer.ServeBy) {
			a.Ribbon.Window, a.HandOverAfter, a.Act = &window.Main, n(8*rng.Float64()), n(math.Floor(24*rng.Float64())/2)
			a.Ribbon.HasTenth, a.Ribbon.HasHalf, a.Ribbon.FirstAge = rng.IntN(2) == 0, rng.IntN(2) == 0, window.Curve[0].AgeMin
		})
		for suffix, width := range widths {
			draw(t, life, width).lettersApart(fmt.Sprint("headline ", i, " ", suffix))
			draw(t, ratios, width).lettersApart(fmt.Sprint("differences ", i, " ", suffix))
			draw(t, window, width).lettersApart(fmt.Sprint("age curve ", i, " ", suffix))
			draw(t, act, width).lettersApart(fmt.Sprint("ribbon ", i, " ", suffix))
			draw(t, answer.NewCompare([]*answer.ServeBy{act, scored(nil), act}), width).lettersApart(fmt.Sprint("comparison ", i, " ", suffix))
		}
	}
}

// randomLimits draws an estimate about a size with limits, any of them open.
func randomLimits(rng *rand.Rand, size float64) answer.Quantile {
	at := size * math.Exp(rng.NormFloat64())
	to := at
	if rng.IntN(6) == 0 {
		to *= 1 + rng.Float64()
	}
	q := half(n(at*rng.Float64()), n(at), n(to), n(to*(1+2*rng.Float64())))
	if rng.IntN(4) == 0 {
		q.Lower = n(0)
	}
	if rng.IntN(4) == 0 {
		q.Upper = openEnd
	}
	if rng.IntN(8) == 0 {
		q.From, q.To, q.Upper, q.Beyond = openEnd, openEnd, openEnd, true
	}
	if rng.IntN(12) == 0 {
		q = answer.Quantile{P: .5, Status: answer.NotConverged}
	}
	return q
}

func randomHeadline(rng *rand.Rand) *answer.Lifetime {
	h := headline(nil)
	h.LogMedian, h.LogSD, h.Early = n(rng.NormFloat64()+2), n(math.Exp(2*rng.NormFloat64()-2)), rng.IntN(3) == 0
	for i := range h.Quantiles {
		q := randomLimits(rng, 6)
		q.P, q.Beyond = h.Quantiles[i].P, q.Beyond || q.From.Finite() && q.From.Float() > 16
		h.Quantiles[i] = q
	}
	names := []string{"monday", "a long evening of many drinks and few words", "x"}
	for range rng.IntN(11) {
		h.Evenings.Each = append(h.Evenings.Each, group(names[rng.IntN(3)], randomLimits(rng, 6)))
	}
	for range rng.IntN(8) {
		h.Batches.Each = append(h.Batches.Each, group(names[rng.IntN(3)], randomLimits(rng, 6)))
	}
	if rng.IntN(2) == 0 {
		q := randomLimits(rng, 6)
		h.Evenings.Half = &q
	}
	a := told(h, func(p *answer.LifetimePart) {
		from := 16 * rng.Float64()
		p.Sensitivity = answer.Sensitivity{From: n(from), To: n(from * (1 + rng.Float64())), Open: rng.IntN(3)}
	})
	a.Act = n(8 * rng.Float64())
	return a
}

// randomAges draws a window in any state about a random curve.
func randomAges(rng *rand.Rand) *answer.PrimeWindow {
	size, top, at, slope := 1+rng.Float64(), 5+5*rng.Float64(), 16*rng.Float64(), .01+.1*rng.Float64()
	curve := func(age float64) float64 { return top - slope*(age-at)*(age-at) }
	statuses := []string{answer.OK, answer.OK, answer.Always, answer.BeyondLastAge, answer.Never, answer.NotConverged}
	return aged("a drink", curve, func(float64) float64 { return size }, func(a *answer.PrimeWindow) {
		from, to := randomLimits(rng, 3), randomLimits(rng, 8)
		a.Main = answer.Window{Status: statuses[rng.IntN(len(statuses))], Limit: 7, Highest: top, HighestAt: at, Below: rng.IntN(5) == 0,
			From: n(min(finite(from.From), 16)), FromLower: from.Lower, FromUpper: from.Upper, ToLower: to.Lower, ToUpper: to.Upper}
		if x := finite(to.From); x < 16 && x >= a.Main.From.Float() {
			a.Main.To = n(x)
		}
		if rng.IntN(2) == 0 {
			a.Main.From, a.Main.FromLower, a.Main.FromUpper = n(a.Curve[0].AgeMin), n(0), n(a.Curve[0].AgeMin)
		}
		if rng.IntN(3) > 0 && to.Lower.Finite() {
			a.Main.AtLeastUntil = to.Lower
		}
		if rng.IntN(4) == 0 {
			a.Main.Others = []answer.Span{{From: 10 + rng.Float64(), To: 11 + 5*rng.Float64()}}
		}
		if rng.IntN(3) == 0 {
			a.Drop, a.Variants = n(1), []answer.Variant{{Variant: "one_point", Window: a.Main}}
		}
		a.Act, a.Ranged = n(math.Floor(24*rng.Float64())/2), rng.IntN(4) > 0
	})
}

func finite(n answer.Num) float64 {
	if n.Finite() {
		return n.Float()
	}
	return 16
}

func randomRatios(rng *rand.Rand) *answer.Differences {
	names := []string{"sour, coupe", "a highball in a tall glass with a straw, plenty of ice and a sprig of mint", "still"}
	a := differences(pair("stirred", "sour", 2, 1, 4))
	for range rng.IntN(20) {
		p := pair(names[rng.IntN(3)], names[rng.IntN(3)], 1, 1, 1)
		p.Ratio, p.Evenings = randomLimits(rng, 1.5), rng.IntN(3) == 0
		if rng.IntN(5) == 0 {
			p.Why = "no taster tasted both, and that for " + names[1]
		}
		a.Pairs = append(a.Pairs, p)
	}
	return a
}
