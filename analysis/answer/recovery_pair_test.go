package answer_test

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// comparisonCell is a way in which panels about two styles come about.
type comparisonCell struct {
	name    string
	pair    simulate.Pair
	tasters int // of each style
}

const (
	groupCompare  = "Two styles"
	alpha         = 0.05
	permuteDraws  = 999
	byModel       = "reply model"
	byModelApart  = "reply model, pairing not used"
	byPermutation = "labels permuted"
	byClusters    = "asymptotic, clustered"
	comparisonRow = "| world | tasters | method | bias | covers | width | open | rejects | notes |\n| --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | --- |\n"
)

func comparisonWorlds() []comparisonCell {
	var out []comparisonCell
	flights := simulate.Study{SideBySide: true, Ages: []float64{4, 7, 11}, Glasses: 2}
	for _, side := range []bool{false, true} {
		base, mode := simulate.Study{}, "sip-through"
		if side {
			base, mode = flights, "side by side 4, 7, 11"
		}
		base.ReplySD = 0.2
		for _, apart := range []bool{false, true} {
			for _, rho := range []float64{0, 0.6} {
				for _, ratio := range []float64{1, 1.3} {
					p := simulate.Pair{Study: base, Ratio: ratio, Rho: rho, Apart: apart}
					name := fmt.Sprintf("%s, same tasters, correlation %g, ratio %g", mode, rho, ratio)
					if apart {
						name = fmt.Sprintf("%s, different tasters, ratio %g", mode, ratio)
					}
					if apart && rho > 0 {
						continue
					}
					out = append(out, comparisonCell{name: name, pair: p})
				}
			}
		}
	}
	return out
}

func (c comparisonCell) of(n int) comparisonCell {
	c.tasters, c.pair.Tasters = n, n
	return c
}

// compared is what one panel about two styles tells.
type compared struct {
	ratio     bounds
	alone     bounds // pairing not used
	p, pAlone float64
	permuted  float64
	smallest  float64
	clustered float64 // NaN below 30 tasters in all
	loose     [2]bool // not converged: model, pairing not used
	failed    [3]bool // an error: model, pairing not used, labels permuted
}

// draw invents panel i and lets every method compare.
func (c comparisonCell) draw(seed uint64, i int) (out compared) {
	h := fnv.New64a()
	fmt.Fprintf(h, "compare|%s|%d", c.name, c.tasters)
	first, second := c.pair.Draw(rand.New(rand.NewPCG(seed, h.Sum64()+uint64(i))))
	all := c.tasters
	if c.pair.Apart {
		all *= 2
	}
	said := [2]tasted{tastedOf(first, all), tastedOf(second, all)}
	var together, alone []survival.ReplyUnit
	var rows []survival.Interval
	var group, subject []int
	for style, s := range said {
		for _, u := range s.units() {
			if len(u.Replies) == 0 {
				continue // a taster of the other style
			}
			u.X = []float64{float64(style)}
			together = append(together, u)
			u.Subject += style * all
			alone = append(alone, u)
		}
		for taster, replies := range s {
			if l := endpoint.EitherSide.Limit(replies); l.Known {
				rows, group, subject = append(rows, l.Interval), append(group, style), append(subject, taster)
			}
		}
	}
	out.ratio, out.p = out.model(together, 0)
	out.alone, out.pAlone = bounds{}, math.NaN()
	if !c.pair.Apart {
		out.alone, out.pAlone = out.model(alone, 1)
	}
	test := survival.ScoreTest{Draws: permuteDraws, Seed: seed + uint64(i)}
	exchange := test.Within
	if c.pair.Apart {
		exchange = test.Between
	}
	out.permuted, out.smallest, out.clustered = math.NaN(), math.NaN(), math.NaN()
	if r, err := exchange(rows, group, subject); err != nil {
		out.failed[2] = true
	} else {
		out.permuted, out.smallest = r.P, r.SmallestP
	}
	if all >= 30 {
		if r, err := test.Clustered(rows, group, subject); err == nil {
			out.clustered = r.P
		}
	}
	return out
}

// model is the time ratio by the reply model, and its p.
func (c *compared) model(units []survival.ReplyUnit, method int) (bounds, float64) {
	fit, err := survival.ReplyModel{Slips: slipsHeld}.Fit(units)
	if err != nil {
		c.failed[method] = true
		return bounds{}, math.NaN()
	}
	c.loose[method] = !fit.Converged
	r, err := fit.Ratio(1)
	if err != nil {
		c.failed[method] = true
		return bounds{}, math.NaN()
	}
	return bounds{true, math.Sqrt(r.From) * math.Sqrt(r.To), r.From, r.Lower, r.Upper}, r.P
}

// comparisonLine is one line of the table of comparisons.
type comparisonLine struct {
	name    string
	tasters int
	method  string
	ratio   recovered // width: median of upper/lower
	rejects float64
	notes   []string
}

func (c comparisonCell) run(seed uint64, panels int) []comparisonLine {
	all := make([]compared, panels)
	eachPanel(panels, func(i int) { all[i] = c.draw(seed, i) })
	truth := max(c.pair.Ratio, 1)
	rejects := func(p func(*compared) float64) float64 {
		n := 0
		for i := range all {
			if p(&all[i]) <= alpha {
				n++
			}
		}
		return float64(n) / float64(panels)
	}
	of := func(say func(*compared) bool) float64 {
		n := 0
		for i := range all {
			if say(&all[i]) {
				n++
			}
		}
		return float64(n) / float64(panels)
	}
	line := func(method string) comparisonLine {
		return comparisonLine{name: c.name, tasters: c.tasters, method: method}
	}
	model := line(byModel)
	model.ratio = recoverRatio(all, truth, func(c *compared) bounds { return c.ratio })
	model.rejects = rejects(func(c *compared) float64 { return c.p })
	model.note("no estimate", model.ratio.none)
	model.note("not converged", of(func(c *compared) bool { return c.loose[0] }))
	model.note("failed", of(func(c *compared) bool { return c.failed[0] }))
	lines := []comparisonLine{model}
	if !c.pair.Apart {
		alone := line(byModelApart)
		alone.ratio = recoverRatio(all, truth, func(c *compared) bounds { return c.alone })
		alone.rejects = rejects(func(c *compared) float64 { return c.pAlone })
		alone.note("not converged", of(func(c *compared) bool { return c.loose[1] }))
		alone.note("failed", of(func(c *compared) bool { return c.failed[1] }))
		lines = append(lines, alone)
	}
	permuted := line(byPermutation)
	permuted.rejects = rejects(func(c *compared) float64 { return c.permuted })
	least := make([]float64, panels)
	for i := range all {
		least[i] = all[i].smallest
	}
	slices.Sort(least)
	permuted.notes = append(permuted.notes, "least p "+strconv.FormatFloat(least[panels/2], 'g', 2, 64))
	permuted.note("failed", of(func(c *compared) bool { return c.failed[2] }))
	lines = append(lines, permuted)
	if !math.IsNaN(all[0].clustered) {
		clustered := line(byClusters)
		clustered.rejects = rejects(func(c *compared) float64 { return c.clustered })
		lines = append(lines, clustered)
	}
	return lines
}

func (l *comparisonLine) note(name string, share float64) {
	if share > 0 {
		l.notes = append(l.notes, name+" "+percent(share))
	}
}

// recoverRatio is recover2 for ratios: the width is a factor.
func recoverRatio(all []compared, truth float64, of func(*compared) bounds) recovered {
	list := make([][methods]noted, len(all))
	var widths []float64
	for i := range all {
		b := of(&all[i])
		list[i][0].half = b
		if b.have && usualRatios.open(b) {
			widths = append(widths, math.Inf(1))
		} else if b.have {
			widths = append(widths, b.upper/b.lower)
		}
	}
	out := recover2(list, truth, usualRatios, func(p *[methods]noted) bounds { return p[0].half })
	if len(widths) > 0 {
		out.width = middle(widths)
	}
	return out
}

func (l comparisonLine) String() string {
	fields := append([]string{l.name, strconv.Itoa(l.tasters), l.method}, l.ratio.fields()...)
	return "| " + strings.Join(append(fields, percent(l.rejects), strings.Join(l.notes, ", ")), " | ") + " |\n"
}
