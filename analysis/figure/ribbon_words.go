package figure

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// words writes the flag, the names of the rows and what the strip means.
func (b *ribbon) words() {
	left := vg.Length(b.sheet.left)
	value := b.value()
	b.panel.letter(func(c *pen) {
		if act := b.answer.Act; act.Finite() {
			flag := b.flag()
			x, y := c.x(act.Float()), c.Max.Y-8
			if b.sheet.narrow() {
				y = c.Max.Y - 5 // the strip is close below
			}
			if w := vg.Length(valueText.width(flag)); x+5+w > c.Max.X {
				c.onPaper(valueText, x-5, y, 1, flag)
			} else {
				c.text(valueText, x+5, y, 0, flag)
			}
		}
		strip, rail := c.y(-b.stripRow), c.y(-b.railRow)
		means, who := b.solidWords(), "would leave the rest"
		if b.sheet.narrow() {
			c.text(valueText, c.Max.X, c.Max.Y+30, 1, value)
			c.text(rowText, c.Min.X-left, c.Max.Y+30, 0, rowText.fit(clean(b.data.Label), b.sheet.right-valueText.width(value)-12))
			c.text(tickText, c.Min.X-left, c.Max.Y+15, 0, means)
			if !b.railLess() {
				c.onPaper(rowText, c.Min.X-left, rail+12, 0, who)
			}
			return
		}
		c.text(rowText, c.Min.X-left, strip+2, 0, rowText.fit(clean(b.data.Label), b.sheet.left-12))
		c.text(tickText, c.Min.X-left, strip-13, 0, means)
		if !b.railLess() {
			c.text(rowText, c.Min.X-left, rail-4, 0, who)
		}
	})
	b.besideStrip()
	b.besideTriangle()
}

// value is the act in words, for the line above the strip on a phone.
func (b *ribbon) value() string {
	switch act := b.answer.Act; {
	case !act.Finite():
		return ""
	case act.Float() == 0:
		return "at once"
	case handsOver(b.answer.HandOverAfter, act):
		return "after " + halves(b.answer.HandOverAfter.Float()) + ", by " + halves(act.Float()) + "\u00a0min"
	default:
		return halves(act.Float()) + "\u00a0min"
	}
}

// flag stands at the act's line. A phone has the age to hand it over in the line above the strip.
func (b *ribbon) flag() string {
	act, late := b.answer.Act, b.answer.HandOverAfter
	if handsOver(late, act) && !b.sheet.narrow() {
		return "hand it over after " + halves(late.Float()) + ", drunk by " + halves(act.Float())
	}
	return "serve " + byWords(act)
}

// handsOver tells that a drink is handed over late: after an age that lies before the act.
func handsOver(late, act answer.Num) bool {
	return late.Finite() && late.Float() > 0 && act.Finite() && late.Float() < act.Float()
}

// byWords complete "serve".
func byWords(act answer.Num) string {
	if act.Float() == 0 {
		return "at once"
	}
	return "by " + halves(act.Float())
}

// solidWords say what the solid part of the strip means.
func (b *ribbon) solidWords() string {
	_, some := b.ages.end(solid)
	switch w := b.data.Window; {
	case w != nil && b.single():
		return "this taster: " + orBetter(w)
	case w != nil:
		return "average taster: " + orBetter(w)
	case !some && b.answer.Basis == oneInTen:
		return "no age for nine in ten"
	case !some:
		return "no age at which all would"
	case b.single():
		return "would go on with every pour"
	}
	return whoWould(b.answer.Basis) + " would go on with it"
}

// oneInTen is the basis of an act that rests on the one-in-ten estimate.
const oneInTen = "one_in_ten"

// whoWould go on with it up to the act.
func whoWould(basis string) string {
	if basis == oneInTen {
		return "nine in ten"
	}
	return "all"
}

// stripWords say what the screen means and what numbers cannot say; end is the age at which the strip's ink ends. An empty
// strip holds its words.
func (b *ribbon) stripWords() (said string, end float64) {
	said = clean(b.data.Words)
	if w := b.data.Window; w != nil {
		end, _ = b.ages.end(notYet, solid, screened, outlined)
		if words := windowWords(w, b.data.FirstAge, b.data.LastAge); said == "" {
			said = words
		} else {
			said += "; " + words
		}
		return said, end
	}
	if upTo, dotted := b.ages.end(screened); dotted {
		if said == "" {
			said = "dotted: surely more than half would"
		}
		return said, upTo
	}
	if upTo, some := b.ages.end(solid); some {
		return said, upTo
	}
	if said == "" && !b.answer.Act.Finite() { // an act of 0 has its words beside the strip
		said = statusWords(b.answer.Status)
	}
	end, _ = b.ages.end(notYet)
	if b.data.FirstAge > tasted {
		end = max(end, b.data.FirstAge)
	}
	return said, end
}

// inside tells that the words stand in the strip, as it is empty and has room.
func (b *ribbon) inside() bool {
	if w := b.data.Window; w == nil || w.Status != answer.Never {
		return false
	}
	said, end := b.stripWords()
	return tickText.width(said)+16 <= b.sheet.px(end)-b.sheet.px(b.data.FirstAge)
}

// besideStrip writes the strip's words in it, after it, or below it where there is no room.
func (b *ribbon) besideStrip() {
	said, end := b.stripWords()
	b.panel.letter(func(c *pen) {
		switch {
		case b.inside():
			c.onPaper(tickText, (c.x(b.data.FirstAge)+c.x(end))/2, c.y(-b.stripRow)-4, .5, said)
		case b.sheet.fitsAfter(end, said):
			c.onPaper(tickText, c.x(end)+8, c.y(-b.stripRow)-4, 0, said)
		default:
			c.onPaper(tickText, c.Max.X, c.y(-b.stripRow-stripHigh/2)-12, 1, tickText.fit(said, b.sheet.right))
		}
	})
}

// besideTriangle names it, on the side where there is room.
func (b *ribbon) besideTriangle() {
	if !b.data.Noticed.Finite() {
		return
	}
	at := b.data.Noticed.Float()
	said := "told from a fresh one: " + halves(at)
	b.panel.letter(func(c *pen) {
		x, y := c.x(at), c.y(-b.stripRow+stripHigh/2)+3
		if b.sheet.fitsAfter(at, said) {
			c.onPaper(tickText, x+9, y, 0, said)
			return
		}
		c.onPaper(tickText, x-9, y, 1, said)
	})
}

// statusWords say why a strip is empty.
func statusWords(status string) string {
	switch status {
	case answer.Never:
		return "never: some would leave the rest from the start"
	case answer.NotEnough:
		return "not enough tasted to tell"
	case answer.NotAsked:
		return "nobody was asked"
	case answer.BeforeFirstAge:
		return "past it before the first taste"
	}
	return "no age can be told"
}

// alt says what the ribbon shows.
func (b *ribbon) alt() string {
	var t strings.Builder
	name := b.data.Label
	if name == "" {
		name = b.answer.Title
	}
	fmt.Fprintf(&t, "Age ribbon of %s, minutes since it was made", name)
	if b.data.LastAge > 0 {
		fmt.Fprintf(&t, ", tasted from %s to %s", tenths(b.data.FirstAge), tenths(b.data.LastAge))
	}
	upTo, some := b.ages.end(solid)
	switch win := b.data.Window; {
	case win != nil && b.answer.Act.Finite():
		fmt.Fprintf(&t, ": serve %s; %s; %s", byWords(b.answer.Act), b.solidWords(), windowWords(win, b.data.FirstAge, b.data.LastAge))
	case win != nil:
		fmt.Fprintf(&t, ": %s; %s", b.solidWords(), windowWords(win, b.data.FirstAge, b.data.LastAge))
	case some:
		fmt.Fprintf(&t, ": serve by %s; until then %s", halves(upTo), b.solidWords())
	case b.answer.Act.Finite():
		fmt.Fprintf(&t, ": serve %s; %s", byWords(b.answer.Act), b.solidWords())
	default:
		fmt.Fprintf(&t, ": %s", statusWords(b.answer.Status))
	}
	if upTo, dotted := b.ages.end(screened); dotted && b.data.Window == nil {
		fmt.Fprintf(&t, "; surely more than half would until %s", halves(upTo))
	}
	if late := b.answer.HandOverAfter; handsOver(late, b.answer.Act) {
		fmt.Fprintf(&t, "; hand it over after %s", halves(late.Float()))
	}
	if b.data.Noticed.Finite() {
		fmt.Fprintf(&t, "; told from a fresh one from %s", halves(b.data.Noticed.Float()))
	}
	if words := quantileWords(b.data.Tenth); showsTenth(&b.data) && words != "" {
		fmt.Fprintf(&t, "; one in ten have reached their limit at %s", words)
	}
	if words := quantileWords(b.data.Half); showsHalf(&b.data) && words != "" {
		fmt.Fprintf(&t, "; half of tasters have reached their limit at %s", words)
	}
	for _, iv := range b.data.Intervals {
		who := iv.Taster
		if b.single() && iv.Pour != "" {
			who = iv.Pour
		}
		fmt.Fprintf(&t, "; %s: %s", clean(who), limitWords(answer.GlassReplies{L: iv.L, R: iv.R}))
	}
	if b.data.Words != "" {
		fmt.Fprintf(&t, "; %s", b.data.Words)
	}
	t.WriteString(".")
	return t.String()
}
