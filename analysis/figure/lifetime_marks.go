package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// levelMark is a quantile on the level of the share that it speaks of.
type levelMark struct {
	answer.Quantile
	at     float64 // share going on
	name   string
	hollow bool
	drawn  bool
}

// marked gives the quantiles that are drawn: the headline's half and one in ten, else half without a family.
func marked(part *answer.LifetimePart, last float64) (half, tenth levelMark) {
	half, tenth = levelMark{at: .5, name: "half"}, levelMark{at: .9, name: "one in ten", hollow: true}
	h := part.Headline
	if half.take(h, .5, last); !half.drawn {
		half.Quantile, half.drawn = quantile(part, .5)
		return half, tenth
	}
	if tenth.take(h, .1, last); h.Early {
		half.name, tenth.name = "half, early", "one in ten, early"
	}
	return half, tenth
}

// take takes a quantile of the headline, if it is told.
func (m *levelMark) take(h *answer.Headline, p, last float64) {
	if q, ok := h.Quantile(p); ok && q.Status != answer.NotConverged {
		m.Quantile = seen(q, last)
		m.drawn = quantileWords(m.Quantile) != ""
	}
}

// seen turns an estimate past the last age, which a curve gives and nobody saw, into one that is later than that age.
func seen(q answer.Quantile, last float64) answer.Quantile {
	if !q.From.Open() && !(q.Beyond && q.From.Finite() && q.From.Float() > last) {
		return q
	}
	q.From, q.To = answer.Of(last), openEnd
	if q.Lower.Open() || q.Lower.Finite() && q.Lower.Float() > last {
		q.Lower = answer.Of(last)
	}
	return q
}

// levelWhisker draws a quantile's limits on its level, and its words beside them.
func (p *panel) levelWhisker(m levelMark, last float64) {
	q := within(m.Quantile, p.sheet.end)
	p.mark(func(c *pen) { c.quantile(q, last, c.y(m.at), m.hollow) })
	words := quantileWords(m.Quantile)
	if words == "" {
		return
	}
	p.letter(func(c *pen) {
		right := c.x(last)
		if q.Upper.Finite() {
			right = c.x(q.Upper.Float())
		}
		c.besides(right, c.y(m.at), m.name+": "+words)
	})
}

// otherChoices draws a bracket below the half line over the halves that other choices of ours would have given, and one below
// the line of nine in ten. Its words stand
// before it where that leaves the act's line free, as the curve falls after it.
func (p *panel) otherChoices(s *answer.Sensitivity) {
	if !s.From.Finite() || !s.To.Finite() {
		return
	}
	from, to := min(s.From.Float(), p.sheet.end), min(s.To.Float(), p.sheet.end)
	words := []string{"other choices"}
	if s.Open > 0 {
		words = []string{fmt.Sprintf("other choices, %d open", s.Open), words[0]}
	}
	room := p.sheet.px(from) - p.sheet.left
	if act := p.sheet.act; act.Finite() && act.Float() < from {
		room = p.sheet.px(from) - p.sheet.px(act.Float())
	}
	p.mark(func(c *pen) {
		c.bracket(c.x(from), c.x(to), c.y(.5)-14)
		if s.TenthFrom.Finite() && s.TenthTo.Finite() { // the same for one in ten; its words are those of the half
			c.bracket(c.x(min(s.TenthFrom.Float(), p.sheet.end)), c.x(min(s.TenthTo.Float(), p.sheet.end)), c.y(.9)-9)
		}
	})
	p.letter(func(c *pen) {
		y := c.y(.5) - 14
		if tickText.width(words[0])+16 <= room {
			c.onPaper(tickText, c.x(from)-8, y-4, 1, words[0])
			return
		}
		c.alongside(c.x(from), c.x(to), y, words...)
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
			c.bracket(left, right, c.y(.5)-down)
		})
		p.letter(func(c *pen) { c.besides(max(c.x(to), c.x(from)), c.y(.5)-down, r.Words()) })
	}
}
