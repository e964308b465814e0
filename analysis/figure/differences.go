package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// Rows of a comparison of pairs, px.
const (
	mostPairs  = 15 // more of them are in the table
	pairRoomy  = 36.0
	pairTight  = 32.0 // from pairsTight pairs on
	pairsTight = 9
	lineRoom   = 15.0 // a line of lettering
)

// differences draws how many times as long one drink keeps as another, one row per pair, the largest ratio first: the estimate
// and its limits on a log axis of ratios, with a line where both keep alike; pairs that are not answered with the reason.
func differences(a *answer.Differences, width int) (*Figure, error) {
	pairs := make([]*answer.Pair, len(a.Pairs))
	for i := range a.Pairs {
		pairs[i] = &a.Pairs[i]
	}
	slices.SortStableFunc(pairs, func(x, y *answer.Pair) int { return -cmp.Compare(ratioSize(x), ratioSize(y)) })
	if len(pairs) == 0 || !answered(pairs[0]) {
		return nil, fmt.Errorf("differences: %w: no pair of drinks is told apart (%s)", ErrNoFigure, a.Status)
	}
	more := max(0, len(pairs)-mostPairs)
	pairs = pairs[:len(pairs)-more]
	s := ratioSheet(pairs, width)
	rows, total := s.pairRows(pairs)
	if more > 0 {
		total += lineRoom + 3
	}
	p := s.rows(31, total)
	p.name("how many times as long the one keeps as the other")
	p.mark(func(c *pen) { c.line(alikeStroke, c.x(0), c.Max.Y, c.x(0), c.Min.Y) })
	p.letter(func(c *pen) { c.text(tickText, c.x(0), c.Max.Y+2, .5, "alike") })
	for i := range rows {
		p.pairRow(&rows[i])
	}
	if more > 0 {
		p.letter(func(c *pen) {
			c.onPaper(tickText, c.Min.X-vg.Length(s.left), c.Min.Y+5, 0, fmt.Sprintf("and %d more: in the table", more))
		})
	}
	return s.finish(differencesAlt(pairs, more))
}

// answered tells whether a pair has a ratio, or a limit of one, to draw.
func answered(p *answer.Pair) bool {
	q := p.Ratio
	return positive(q.From) || positive(q.Lower) || q.Upper.Finite() && q.Upper.Float() > 0
}

func positive(n answer.Num) bool { return n.Finite() && n.Float() > 0 }

// ratioSize orders pairs: by estimate, an open one by its lower limit; those not answered last.
func ratioSize(p *answer.Pair) float64 {
	switch q := p.Ratio; {
	case !answered(p):
		return math.Inf(-1)
	case positive(q.From):
		return q.From.Float()
	case positive(q.Lower):
		return q.Lower.Float()
	}
	return 0
}

// ratioSheet begins a figure whose axis is the log of a ratio. It holds every estimate and 1, and limits to ten times (or a
// tenth of) the largest; on a wide one there is room for words after the whiskers.
func ratioSheet(pairs []*answer.Pair, width int) *sheet {
	low, high := 1., 1.5
	for _, p := range pairs {
		for _, n := range []answer.Num{p.Ratio.From, p.Ratio.To} {
			if positive(n) {
				low, high = min(low, n.Float()), max(high, n.Float())
			}
		}
	}
	least, most := low/10, 10*high
	longest := 0.0
	for _, p := range pairs {
		for _, n := range []answer.Num{p.Ratio.Lower, p.Ratio.Upper} {
			if positive(n) {
				low, high = min(low, max(n.Float(), least)), max(high, min(n.Float(), most))
			}
		}
		longest = max(longest, tickText.width(ratioWords(p.Ratio)))
	}
	s := &sheet{width: float64(width), axis: "times as long", tickWord: func(x float64) string { return ratioTick(math.Exp(x)) }}
	s.left, s.right = margins(width)
	span := math.Log(high / low)
	s.begin, s.end = math.Log(low)-.04*span, math.Log(high)+.04*span
	s.reach = s.end
	if all := s.right - s.left; !s.narrow() {
		s.end = s.begin + (s.end-s.begin)*all/(all-min(longest+14, .45*all))
	}
	for _, t := range ratioTicks(math.Exp(s.begin), high*1.2, (s.right-s.left)/(s.end-s.begin)) {
		if x := math.Log(t); x <= s.end {
			s.ticks = append(s.ticks, x)
		}
	}
	return s
}

// ratioTicks chooses ratios from low to high that stand 40 px apart or more, given the px of a unit of log ratio: 1 first, then
// halves and doubles, then those between.
func ratioTicks(low, high, unit float64) []float64 {
	wanted := []float64{1}
	for x := 2.0; x <= 1024; x *= 2 {
		wanted = append(wanted, x, 1/x)
	}
	wanted = append(wanted, 1.5, 3, .75, 6, 12, 24, 48, 96)
	var out []float64
	for _, x := range wanted {
		near := func(t float64) bool { return math.Abs(math.Log(t/x))*unit < 40 }
		if x >= low && x <= high && !slices.ContainsFunc(out, near) {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}

// ratioTick writes a ratio that ratioTicks chose.
func ratioTick(x float64) string {
	for _, t := range []struct {
		at   float64
		word string
	}{{.75, "¾"}, {.5, "½"}, {.25, "¼"}, {1.5, "1½"}} {
		if math.Abs(x-t.at) < 1e-9 {
			return t.word
		}
	}
	if x < .9 {
		return fmt.Sprintf("1/%.0f", 1/x)
	}
	return fmt.Sprintf("%.0f", x)
}
