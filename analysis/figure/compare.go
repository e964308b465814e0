package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// Rows of a comparison, px. Strip and rail take 36; a phone has the name and the act on a line above them.
const (
	compareRow     = 36.0
	compareRail    = 27.0 // middle of the rail, below the strip's top
	compareHeading = 18.0
	barThin        = 3.0 // pitch of the bars of a small panel
	axisBeyond     = 1.3 // length of the axis, by the longest strip or half
)

// compare draws the age ribbons of several drinks under one another: always first, then the latest act first, never last.
// The axis ends at 1.3 times the longest window, act or half; what lies beyond is an arrow. Each row has its own act.
func compare(a *answer.Compare, width int) (*Figure, error) {
	if len(a.Styles) == 0 {
		return nil, fmt.Errorf("compare: %w: no drink was tasted", ErrNoFigure)
	}
	styles := slices.Clone(a.Styles)
	for i := range styles {
		styles[i].Ribbon = asSeen(styles[i].Ribbon)
	}
	slices.SortStableFunc(styles, func(x, y answer.CompareStyle) int {
		return cmp.Or(cmp.Compare(rankOf(x.Ribbon.Window), rankOf(y.Ribbon.Window)), -cmp.Compare(finiteOr(x.Act, -1), finiteOr(y.Act, -1)))
	})
	h := a.Head
	h.Act, h.AxisEnd = answer.Num{}, compareEnd(styles)
	s := newSheet(&h, width, 0)
	for i := range styles {
		s.needRibbon(&styles[i].Ribbon)
	}
	if s.err != nil {
		return nil, s.err
	}
	key := compareKey(styles)
	lines := wrapWords(tickText, key, s.right)
	heights, total := make([]float64, len(styles)), 4.0
	for i := range styles {
		heights[i] = s.compareHeight(&styles[i].Ribbon)
		total += heights[i]
	}
	p := s.rows(14+float64(len(lines))*16, total)
	p.letter(func(c *pen) {
		for i, line := range lines {
			c.text(tickText, c.Min.X-vg.Length(s.left), c.Max.Y+vg.Length(16*(len(lines)-i))-6, 0, line)
		}
	})
	top := 4.0
	for i := range styles {
		p.compareStyle(&styles[i], top)
		top += heights[i]
	}
	return s.finish(compareAlt(styles))
}

// rankOf puts what always holds on top and what never does last.
func rankOf(w *answer.Window) int {
	switch {
	case w != nil && w.Status == answer.Always:
		return -1
	case w != nil && w.Status == answer.Never:
		return 1
	}
	return 0
}

// compareEnd is the axis' end: a whole minute.
func compareEnd(styles []answer.CompareStyle) float64 {
	longest := 1.0
	for i := range styles {
		r := &styles[i].Ribbon
		at := []answer.Num{styles[i].Act, r.Noticed}
		if w := r.Window; w != nil {
			at = append(at, w.From, w.To)
			if !w.To.Finite() {
				at = append(at, answer.Of(r.LastAge)) // always, never, beyond: the strip runs to there
			}
		} else if showsHalf(r) {
			at = append(at, r.Half.Lower)
		}
		if showsHalf(r) {
			at = append(at, r.Half.From, r.Half.To)
		}
		for _, n := range at {
			if n.Finite() {
				longest = max(longest, n.Float())
			}
		}
	}
	return math.Ceil(axisBeyond*longest - 1e-9)
}

// compareHeight is the height of one row: more for a panel whose tasters are drawn one by one, and on a phone.
func (s *sheet) compareHeight(r *answer.Ribbon) float64 {
	h := compareRow + barThin*float64(len(r.Intervals))
	if s.narrow() {
		h += compareHeading
	}
	return h
}

// compareStyle draws one row whose upper edge is top px below the data area's.
func (p *panel) compareStyle(st *answer.CompareStyle, top float64) {
	s, r := p.sheet, &st.Ribbon
	heading := top
	if s.narrow() {
		top += compareHeading
	}
	bars := barThin * float64(len(r.Intervals))
	rail := top + compareRail + bars
	last := s.end
	if r.LastAge > 0 {
		last = min(last, r.LastAge)
	}
	ages := stripOf(r, st.Act, st.HandOverAfter, s.end)
	p.mark(func(c *pen) {
		c.strip(ages, c.y(-top-stripHigh), c.y(-top))
		for i, iv := range r.Intervals {
			c.thinBar(within(answer.Quantile{Lower: iv.L, Upper: iv.R}, s.end), last, c.y(-top-stripHigh-barThin*float64(i+1)))
		}
		if showsHalf(r) {
			c.quantile(within(r.Half, s.end), last, c.y(-rail), false)
		}
		if q := within(r.Tenth, s.end); showsTenth(r) && q.From.Finite() && q.To.Finite() {
			c.estimate(leaving, c.x(q.From.Float()), c.x(q.To.Float()), c.y(-rail), true)
		}
		if r.Noticed.Finite() {
			c.triangle(c.x(r.Noticed.Float()), c.y(-top)-1, 6)
		}
		if st.Act.Finite() {
			x := c.x(st.Act.Float())
			c.line(actStroke, x, c.y(-top)+4, x, c.y(-top-stripHigh)-1)
		}
	})
	p.letter(func(c *pen) { c.compareLetters(s, st, ages, heading, top, rail, last) })
}

// compareLetters writes one row: name and act, what marks cannot say, half beside its whisker.
func (c *pen) compareLetters(s *sheet, st *answer.CompareStyle, ages strip, heading, top, rail, last float64) {
	r, left := &st.Ribbon, c.Min.X-vg.Length(s.left)
	value := compareValue(st)
	if s.narrow() {
		c.text(valueText, c.Max.X, c.y(-heading)-12, 1, value)
		c.text(rowText, left, c.y(-heading)-12, 0, rowText.fit(clean(r.Label), s.right-valueText.width(value)-12))
	} else {
		c.text(rowText, left, c.y(-top)-11, 0, rowText.fit(clean(r.Label), s.left-12))
		c.text(tickText, left, c.y(-top)-26, 0, value)
	}
	c.compareWords(st, ages, c.y(-top-stripHigh/2)-4)
	if words := quantileWords(r.Half); showsHalf(r) && words != "" {
		end := last
		if up := r.Half.Upper; up.Finite() {
			end = min(up.Float(), s.end)
		}
		begin := finiteOr(r.Half.Lower, 0)
		switch {
		case s.fitsAfter(end, words) && len(r.Intervals) > 0:
			c.onPaper(tickText, c.x(end)+8, c.y(-rail)-4, 0, words)
		case s.fitsAfter(end, words):
			c.text(tickText, c.x(end)+8, c.y(-rail)-5, 0, words) // no patch of paper: the strip is close above
		case tickText.width(words)+10 <= float64(c.x(min(begin, s.end))-c.Min.X) && len(r.Intervals) == 0 && !showsTenth(r):
			c.text(tickText, c.x(min(begin, s.end))-8, c.y(-rail)-5, 1, words)
		} // elsewhere the table and the text alternative have them
	}
}

// compareWords say beside or in a strip what its marks cannot.
func (c *pen) compareWords(st *answer.CompareStyle, ages strip, y vg.Length) {
	r := &st.Ribbon
	said := clean(r.Words)
	if w := r.Window; said == "" && w != nil {
		switch {
		case w.Status == answer.Never:
			said = windowWords(w, r.FirstAge, r.LastAge)
		case w.Status == answer.Always, w.Status == answer.BeyondLastAge && surelyLast(w, r.LastAge):
			said = "still at its best at " + halves(r.LastAge)
		case w.Status == answer.BeyondLastAge:
			said = "later than " + halves(r.LastAge)
		}
	}
	end, _ := ages.end(notYet, solid, screened, outlined)
	x := c.x(end)
	switch room := float64(c.Max.X-x) - 12; {
	case said == "":
	case r.Window != nil && r.Window.Status == answer.Never:
		c.onPaper(tickText, c.Min.X+10, y, 0, tickText.fit(said, float64(c.Max.X-c.Min.X)-14))
	case tickText.width(said) <= room:
		c.onPaper(tickText, x+10, y, 0, said)
	case float64(x-c.Min.X) >= float64(c.Max.X-x): // in the strip, where there is more room
		c.onPaper(tickText, x-6, y, 1, tickText.fit(said, float64(x-c.Min.X)-12))
	default:
		c.onPaper(tickText, x+10, y, 0, tickText.fit(said, room))
	}
}

// thinBar draws one taster's interval in a row that has little room.
func (c *pen) thinBar(q answer.Quantile, last float64, y vg.Length) {
	if !q.Lower.Finite() {
		return
	}
	x0, x1 := c.x(q.Lower.Float()), c.x(last)
	if q.Upper.Finite() {
		x1 = c.x(q.Upper.Float())
	}
	c.line(thinBarStroke, x0, y, max(x1, x0+1), y)
	if q.Upper.Open() {
		c.tip(thinBarStroke, max(x1, x0+1)+arrowLen, y, open, 1)
	}
}

// within opens what lies beyond the axis.
func within(q answer.Quantile, end float64) answer.Quantile {
	for _, n := range []*answer.Num{&q.To, &q.Upper} {
		if n.Finite() && n.Float() > end {
			*n = answer.Of(math.Inf(1))
		}
	}
	for _, n := range []*answer.Num{&q.From, &q.Lower} {
		if n.Finite() && n.Float() > end {
			*n = answer.Of(end)
		}
	}
	return q
}
