package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

const shareHeight = 170 // px

// lifetime draws the share of tasters who would go on, one panel per mode.
func lifetime(a *answer.Lifetime, width int) (*Figure, error) {
	far := 0.0
	drawn := 0
	for i := range a.Parts {
		if last, some := lastAge(&a.Parts[i]); some {
			far = max(far, last)
			drawn++
		}
	}
	if drawn == 0 {
		return nil, fmt.Errorf("lifetime of %s: %w: no share at any age (%s)", a.Title, ErrNoFigure, a.Status)
	}
	s := newSheet(&a.Head, width, far)
	above := 31.0
	for i := range a.Parts {
		part := &a.Parts[i]
		last, some := lastAge(part)
		if !some {
			continue
		}
		p := s.panel(above, shareHeight, 0, 1)
		above = 40
		p.shareAxis(shareName(part, drawn > 1, s.narrow()))
		p.turnbull(part.Curve.Sets, last)
		p.exactLimits(part.Shares)
		if half, ok := quantile(part, .5); ok {
			p.halfWhisker(half, last)
			p.readings(part.OtherReadings(), last)
		}
	}
	return s.finish(lifetimeAlt(a))
}

// lastAge is the oldest age that a part speaks about.
func lastAge(part *answer.LifetimePart) (age float64, some bool) {
	for _, sh := range part.Shares {
		age, some = max(age, sh.AgeMin), true
	}
	for _, set := range part.Curve.Sets {
		some = true
		for _, n := range []answer.Num{set.L, set.R} {
			if n.Finite() {
				age = max(age, n.Float())
			}
		}
	}
	return age, some
}

// shareName names the y axis in words.
func shareName(part *answer.LifetimePart, severalModes, narrow bool) string {
	who := "tasters"
	if part.Unit == "pour" {
		who = "pours"
	}
	name := who + " who would go on with it"
	if part.Unit == "pour" {
		name = "pours that the taster would go on with"
	}
	if severalModes && narrow {
		return who + ": " + modeWords(part.Mode)
	} else if severalModes {
		return name + ", " + modeWords(part.Mode)
	}
	return name
}

// shareAxis writes the y axis: none, half and all, with the half line.
func (p *panel) shareAxis(name string) {
	p.mark(func(c *pen) { c.line(halfStroke, c.Min.X, c.y(.5), c.Max.X, c.y(.5)) })
	p.name(name)
	p.letter(func(c *pen) {
		for _, l := range []struct {
			at   float64
			word string
		}{{0, "none"}, {.5, "half"}, {1, "all"}} {
			c.text(tickText, c.Min.X-10, c.y(l.at)-4, 1, l.word)
		}
	})
}

// name writes what a data area shows above it, from the sheet's left edge.
func (p *panel) name(s string) {
	s = rowText.fit(clean(s), p.sheet.right)
	left := vg.Length(p.sheet.left)
	p.letter(func(c *pen) { c.text(rowText, c.Min.X-left, c.Max.Y+15, 0, s) })
}

// turnbull draws the curve without a family from 0 to the last age: a line where the data decide it, a dashed box round each
// set of ages in which they leave open where its mass falls. The upper line of the curve runs along a box's top and right
// (all mass at its right end), the lower one along its left and bottom. Where the last set opens at the last age the curve ends in
// an arrow: those tasters had not left it when they were last seen. Sets are in order of age and do not overlap.
func (p *panel) turnbull(sets []answer.Set, last float64) {
	if len(sets) == 0 {
		return
	}
	type step struct{ l, r, above, below float64 }
	var steps []step
	share := 1.0
	for _, set := range sets {
		if set.R.Open() && set.L.Float() >= last { // not left when last seen: the curve ends there, undecided
			p.sheet.need("the last look of the curve", set.L.Float(), set.Mass)
			steps = append(steps, step{set.L.Float(), math.Inf(1), share, share})
			break
		}
		r := last
		if set.R.Finite() {
			r = set.R.Float()
		}
		p.sheet.need("an end or the mass of one of the curve's sets", set.L.Float(), r, set.Mass)
		below := max(share-set.Mass, 0)
		steps = append(steps, step{set.L.Float(), max(r, set.L.Float()), share, below})
		share = below
	}
	p.mark(func(c *pen) {
		known := [][]vg.Point{{{X: c.x(0), Y: c.y(1)}}}
		for _, st := range steps {
			l, a, b := c.x(st.l), c.y(st.above), c.y(st.below)
			i := len(known) - 1
			known[i] = append(known[i], vg.Point{X: l, Y: a})
			if math.IsInf(st.r, 1) {
				tip := max(c.x(last), l) + arrowLen + 8
				c.whisker(curveStroke, l, tip, a, bare, open)
				continue
			}
			r := c.x(st.r)
			if st.l == st.r {
				known[i] = append(known[i], vg.Point{X: l, Y: b})
				continue
			}
			c.shape(thin(leaving, .14), box(l, b, r, a))
			c.path(boxStroke, box(l, b, r, a))
			known = append(known, []vg.Point{{X: r, Y: b}})
		}
		if i := len(known) - 1; !sets[len(sets)-1].R.Open() {
			known[i] = append(known[i], vg.Point{X: c.x(last), Y: c.y(share)})
		}
		for _, stretch := range known {
			if len(stretch) > 1 {
				c.path(curveStroke, stretch)
			}
		}
	})
}

// exactLimits draws the Clopper-Pearson limits of the share at each age step.
func (p *panel) exactLimits(shares []answer.Share) {
	for _, sh := range shares {
		p.sheet.need("a share's age or limit", sh.AgeMin, sh.Lower, sh.Upper)
	}
	p.mark(func(c *pen) {
		for _, sh := range shares {
			x, lo, hi := c.x(sh.AgeMin), c.y(sh.Lower), c.y(sh.Upper)
			c.line(barStroke, x, lo, x, hi)
			c.line(barStroke, x-3, lo, x+3, lo)
			c.line(barStroke, x-3, hi, x+3, hi)
		}
	})
}

// halfWhisker draws the median's limits on the half line, and its words beside them.
func (p *panel) halfWhisker(q answer.Quantile, last float64) {
	p.mark(func(c *pen) { c.quantile(q, last, c.y(.5), false) })
	words := quantileWords(q)
	if words == "" {
		return
	}
	words = "half: " + words
	p.letter(func(c *pen) {
		right := c.x(last)
		if q.Upper.Finite() {
			right = c.x(q.Upper.Float())
		}
		c.besides(right, c.y(.5), words)
	})
}

// readings marks the medians under other readings of wavering replies, each on a line of its own below the half line.
func (p *panel) readings(rs []answer.Reading, last float64) {
	for i, r := range rs {
		if !r.Median.From.Finite() {
			continue
		}
		from, to := r.Median.From.Float(), last
		if r.Median.To.Finite() {
			to = r.Median.To.Float()
		}
		down := vg.Length(14 * (i + 1))
		p.mark(func(c *pen) {
			left, right := c.x(from), max(c.x(to), c.x(from))
			c.line(readingStroke, left, c.y(.5)-down-3, left, c.y(.5)-down+3)
			c.line(readingStroke, right, c.y(.5)-down-3, right, c.y(.5)-down+3)
			c.line(readingStroke, left, c.y(.5)-down, right, c.y(.5)-down)
		})
		p.letter(func(c *pen) { c.besides(max(c.x(to), c.x(from)), c.y(.5)-down, r.Words()) })
	}
}

// quantile draws limits as a whisker and the estimate on it: no dot where the estimate lies beyond the last age, an arrow
// where a limit is open; hollow draws a ring in place of the dot.
func (c *pen) quantile(q answer.Quantile, last float64, y vg.Length, hollow bool) {
	if q.Lower.Empty() && q.Upper.Empty() && !q.From.Finite() {
		return
	}
	if !q.Lower.Empty() || !q.Upper.Empty() {
		x0, x1, left, right := c.x(0), c.x(last), open, open
		if q.Lower.Finite() && q.Lower.Float() > 0 {
			x0, left = c.x(q.Lower.Float()), capped
		}
		if q.Upper.Finite() {
			x1, right = c.x(q.Upper.Float()), capped
		}
		if right == open && q.To.Finite() { // the arrow stays in sight of an estimate that reaches the last age
			x1 = max(x1, c.x(q.To.Float())+arrowLen+2)
		}
		c.whisker(railStroke, x0, max(x0, x1), y, left, right)
	}
	if q.From.Finite() && q.To.Finite() {
		c.estimate(leaving, c.x(q.From.Float()), c.x(q.To.Float()), y, hollow)
	}
}

// besides writes words to the right of a mark that ends at x, or above it where there is no room.
func (c *pen) besides(x, y vg.Length, words string) {
	if room := float64(c.Max.X - x - 8); tickText.width(words) <= room {
		c.onPaper(tickText, x+8, y-4, 0, words)
		return
	}
	c.onPaper(tickText, c.Max.X, y+9, 1, words)
}

// lifetimeAlt says what the figure shows.
func lifetimeAlt(a *answer.Lifetime) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Who would go on with %s, against minutes since it was made.", a.Title)
	for i := range a.Parts {
		part := &a.Parts[i]
		if _, some := lastAge(part); !some {
			continue
		}
		var shares []string
		for _, sh := range part.Shares {
			going := fmt.Sprintf("%d", sh.Going)
			if sh.Possible > sh.Going {
				going += fmt.Sprintf(" to %d", sh.Possible)
			}
			shares = append(shares, fmt.Sprintf("%s of %d at %s", going, sh.Units, tenths(sh.AgeMin)))
		}
		unit := "tasters"
		if part.Unit == "pour" {
			unit = "pours"
		}
		if shares != nil {
			fmt.Fprintf(&b, " Of the %s, %s: still going on are %s.", unit, modeWords(part.Mode), strings.Join(shares, ", "))
		}
		if q, ok := quantile(part, .5); ok && quantileWords(q) != "" {
			fmt.Fprintf(&b, " Half have reached their limit at %s minutes.", quantileWords(q))
		}
		for _, r := range part.OtherReadings() {
			if r.Median.From.Finite() && r.Median.To.Finite() {
				fmt.Fprintf(&b, " By %s between %s and %s minutes.", r.Words(), tenths(r.Median.From.Float()), tenths(r.Median.To.Float()))
			}
		}
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}

// actAlt says where the act's line stands.
func actAlt(act answer.Num) string {
	if !act.Finite() {
		return ""
	}
	return fmt.Sprintf(" A dashed line marks serve by %s minutes.", halves(act.Float()))
}
