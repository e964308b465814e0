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
	_, some := b.to()
	value := b.value()
	b.panel.letter(func(c *pen) {
		if act := b.answer.Act; act.Finite() {
			flag := "serve " + b.by()
			x := c.x(act.Float())
			if w := vg.Length(valueText.width(flag)); x+5+w > c.Max.X {
				c.onPaper(valueText, x-5, c.Max.Y-8, 1, flag)
			} else {
				c.text(valueText, x+5, c.Max.Y-8, 0, flag)
			}
		}
		strip, rail := c.y(-b.stripRow), c.y(-b.railRow)
		means, who := b.solidWords(some), "would leave the rest"
		if b.sheet.narrow() {
			c.text(valueText, c.Max.X, c.Max.Y+30, 1, value)
			c.text(rowText, c.Min.X-left, c.Max.Y+30, 0, rowText.fit(clean(b.data.Label), b.sheet.right-valueText.width(value)-12))
			c.text(tickText, c.Min.X-left, c.Max.Y+15, 0, means)
			c.onPaper(rowText, c.Min.X-left, rail+12, 0, who)
			return
		}
		c.text(rowText, c.Min.X-left, strip+2, 0, rowText.fit(clean(b.data.Label), b.sheet.left-12))
		c.text(tickText, c.Min.X-left, strip-13, 0, means)
		c.text(rowText, c.Min.X-left, rail-4, 0, who)
	})
	b.besideStrip()
}

// value is the act in words, for the line above the strip on a phone.
func (b *ribbon) value() string {
	switch act := b.answer.Act; {
	case !act.Finite():
		return ""
	case act.Float() == 0:
		return "at once"
	default:
		return halves(act.Float()) + "\u00a0min"
	}
}

// by completes "serve": the flag on the act's line.
func (b *ribbon) by() string {
	if b.answer.Act.Float() == 0 {
		return "at once"
	}
	return "by " + halves(b.answer.Act.Float())
}

// solidWords say what the solid part of the strip means.
func (b *ribbon) solidWords(some bool) string {
	switch {
	case !some:
		return "no age at which all would"
	case b.single():
		return "would go on with every pour"
	}
	return "all would go on with it"
}

// stripWords say what the screen means and what numbers cannot say; end is the age at which the strip's ink ends. An empty
// strip holds its words.
func (b *ribbon) stripWords() (said string, end float64) {
	said = clean(b.data.Words)
	upTo, dotted := b.screenTo()
	solid, some := b.to()
	switch {
	case dotted && said == "":
		return "dotted: more than half would", upTo
	case dotted:
		return said, upTo
	case some:
		return said, solid
	case said == "":
		return statusWords(b.answer.Status), b.from()
	}
	return said, b.from()
}

// besideStrip writes these words after the strip, or below it where there is no room.
func (b *ribbon) besideStrip() {
	said, end := b.stripWords()
	b.panel.letter(func(c *pen) {
		if b.sheet.fitsAfter(end, said) {
			c.onPaper(tickText, c.x(end)+8, c.y(-b.stripRow)-4, 0, said)
			return
		}
		c.onPaper(tickText, c.Max.X, c.y(-b.stripRow-stripHigh/2)-12, 1, tickText.fit(said, b.sheet.right))
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
	if solid, some := b.to(); some {
		fmt.Fprintf(&t, ": serve by %s; until then %s", halves(solid), b.solidWords(true))
	} else {
		fmt.Fprintf(&t, ": %s", statusWords(b.answer.Status))
	}
	if upTo, dotted := b.screenTo(); dotted {
		fmt.Fprintf(&t, "; more than half would until %s", halves(upTo))
	}
	if late := b.answer.HandOverAfter; late.Finite() && late.Float() > 0 {
		fmt.Fprintf(&t, "; hand it over after %s", halves(late.Float()))
	}
	if words := quantileWords(b.data.Half); b.showsHalf() && words != "" {
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
