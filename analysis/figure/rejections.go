package figure

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// rejections draws every reply of every glass, one strip each, those whose limit comes first on top.
func rejections(a *answer.Rejections, width int) (*Figure, error) {
	far, glasses := 0.0, 0
	for _, part := range a.Parts {
		for _, g := range part.Glasses {
			glasses++
			far = max(far, lastReply(g))
			if g.R.Finite() {
				far = max(far, g.R.Float())
			}
		}
	}
	if glasses == 0 {
		return nil, fmt.Errorf("rejections of %s: %w: no glass has a reply", a.Title, ErrNoFigure)
	}
	s := newSheet(&a.Head, width, far)
	above := 46.0
	for _, part := range a.Parts {
		if len(part.Glasses) == 0 {
			continue
		}
		name := ""
		if len(a.Parts) > 1 {
			name = modeWords(part.Mode)
		}
		s.strips(part, name, above)
		above = 44
	}
	s.replyKey()
	return s.finish(rejectionsAlt(a, glasses))
}

func lastReply(g answer.GlassReplies) float64 {
	far := 0.0
	for _, r := range g.Replies {
		far = max(far, r.AgeMin)
	}
	return far
}

// strips draws one mode. On a phone names that do not fit beside the strips stand above them.
func (s *sheet) strips(part answer.RejectionPart, name string, above float64) {
	glasses := slices.Clone(part.Glasses)
	slices.SortStableFunc(glasses, func(x, y answer.GlassReplies) int { return compareLimits(x, y) })
	labels := glassLabels(glasses)
	room := s.left - 10
	pitch, labelAbove := 18.0, false
	if s.narrow() {
		for _, l := range labels {
			if rowText.width(l) > room {
				pitch, labelAbove = 32, true
			}
		}
	}
	if labelAbove {
		room = s.right - s.left
	}
	p := s.rows(above, pitch*float64(len(glasses))+4)
	if name != "" {
		p.name(name)
	}
	for i, g := range glasses {
		row := pitch*float64(i+1) - 7
		label := rowText.fit(labels[i], room)
		p.letter(func(c *pen) {
			if labelAbove {
				c.onPaper(rowText, c.Min.X, c.y(-row)+9, 0, label)
				return
			}
			c.text(rowText, c.Min.X-10, c.y(-row)-4, 1, label)
		})
		p.strip(g, row)
	}
}

// compareLimits orders glasses by the age of their limit: those never accepted first, then by L, then by R.
func compareLimits(x, y answer.GlassReplies) int {
	rank := func(g answer.GlassReplies) (l, r float64) {
		if g.Never || g.L.Empty() {
			return -1, -1
		}
		return g.L.Float(), g.R.Float()
	}
	xl, xr := rank(x)
	yl, yr := rank(y)
	switch {
	case xl < yl || xl == yl && xr < yr:
		return -1
	case xl == yl && xr == yr:
		return 0
	}
	return 1
}

// glassLabels names each strip by its taster, and by the glass too where a taster has several.
func glassLabels(glasses []answer.GlassReplies) []string {
	label := func(g answer.GlassReplies, more ...string) string {
		return clean(strings.Join(append([]string{g.Taster}, more...), ", "))
	}
	count := map[string]int{} // of labels, short and longer
	for _, g := range glasses {
		count[label(g)]++
		count[label(g, g.Pour)]++
	}
	labels := make([]string, len(glasses))
	for i, g := range glasses {
		labels[i] = label(g)
		switch {
		case count[labels[i]] == 1 || g.Pour == "":
		case count[label(g, g.Pour)] == 1:
			labels[i] = label(g, g.Pour)
		default:
			labels[i] = label(g, g.Pour, g.Session)
		}
	}
	return labels
}

// strip draws one glass: its interval as a line, each reply hollow (would go on) or filled (would leave the rest).
func (p *panel) strip(g answer.GlassReplies, row float64) {
	for _, r := range g.Replies {
		p.sheet.need("the age of a reply of "+g.Taster, r.AgeMin)
	}
	last := lastReply(g)
	p.mark(func(c *pen) {
		y, edge := c.y(-row), c.Max.X+vg.Length(p.sheet.width-p.sheet.right)
		if g.L.Finite() {
			x0 := c.x(g.L.Float())
			if g.R.Finite() {
				c.whisker(intervalStroke, x0, c.x(g.R.Float()), y, bare, bare)
			} else if g.R.Open() { // it goes on after the last reply
				tip := min(c.x(max(last, g.L.Float()))+16, edge-2)
				c.whisker(intervalStroke, x0, tip, y, bare, open)
			}
		}
		for _, r := range g.Replies {
			if r.Reject {
				c.disc(leaving, c.x(r.AgeMin), y, replyR+.7)
			} else {
				c.ring(replyStroke, c.x(r.AgeMin), y, replyR)
			}
		}
		if g.Never {
			c.onPaper(tickText, c.x(last)+9, y-4, 0, "never accepted")
		}
	})
}

// replyKey names the marks in one line above the first strip.
func (s *sheet) replyKey() {
	p := s.panels[0]
	p.letter(func(c *pen) {
		x, y := c.Min.X-vg.Length(s.left)+5, c.Max.Y+30
		c.ring(replyStroke, x, y+4, replyR)
		next := c.after(x+9, y, "would go on")
		c.disc(leaving, next, y+4, replyR+.7)
		next = c.after(next+9, y, "would leave the rest")
		c.whisker(intervalStroke, next-4, next+14, y+4, bare, bare)
		c.after(next+20, y, "limit in here")
	})
}

// after writes a text and gives the place of the next mark.
func (c *pen) after(x, y vg.Length, s string) vg.Length {
	c.text(rowText, x, y, 0, s)
	return x + vg.Length(rowText.width(s)) + 16
}

// rejectionsAlt says what the figure shows.
func rejectionsAlt(a *answer.Rejections, glasses int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Every reply about %s at its minute, one strip for each of %s.", a.Title, stripsOf(a, glasses))
	for _, part := range a.Parts {
		var each []string
		for _, g := range part.Glasses {
			each = append(each, clean(g.Taster)+" "+limitWords(g))
		}
		if each != nil {
			fmt.Fprintf(&b, " Limits in minutes, %s: %s.", modeWords(part.Mode), strings.Join(each, "; "))
		}
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}

// stripsOf names what the strips stand for: glasses, tasters, or both modes together.
func stripsOf(a *answer.Rejections, n int) string {
	side := slices.ContainsFunc(a.Parts, func(p answer.RejectionPart) bool { return modeWords(p.Mode) == modeWords("side_by_side") })
	sip := slices.ContainsFunc(a.Parts, func(p answer.RejectionPart) bool { return modeWords(p.Mode) != modeWords("side_by_side") })
	switch {
	case side && sip:
		return answer.Count(n, "glass") + " or tasters"
	case side:
		return answer.Count(n, "taster")
	}
	return answer.Count(n, "glass")
}

// limitWords says where one glass has its limit.
func limitWords(g answer.GlassReplies) string {
	switch {
	case g.Never:
		return "never accepted"
	case !g.L.Finite():
		return "no interval"
	case g.R.Open():
		return "later than " + tenths(g.L.Float())
	}
	return fmt.Sprintf("%s to %s", tenths(g.L.Float()), tenths(g.R.Float()))
}
