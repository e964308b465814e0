package answer

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// Grain is how finely ages are printed.
type Grain uint8

// Grains.
const (
	Halves Grain = iota // nearest half minute: "7½"
	Tenths              // one decimal: "7.3"
)

// GrainOf chooses the grain from a pair of limits: halves where they lie more than 2 min apart or are open, else tenths.
func GrainOf(lower, upper Num) Grain {
	if lower.Finite() && upper.Finite() && upper.Float()-lower.Float() <= 2 {
		return Tenths
	}
	return Halves
}

// Minutes prints an age without its unit.
func (g Grain) Minutes(n Num) string {
	switch {
	case n.Empty():
		return "not known"
	case n.Open():
		return "open"
	}
	x := n.Float()
	if g == Tenths {
		return strconv.FormatFloat(math.Round(x*10)/10, 'f', 1, 64)
	}
	return halves(math.Round(x*2) / 2)
}

// Age prints an age that was tasted, to the tenth of a minute: "4.3", "6".
func Age(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

// halves prints a multiple of a half: 0, ½, 1, 1½.
func halves(x float64) string {
	whole := math.Floor(x)
	if x == whole {
		return strconv.FormatFloat(whole, 'f', 0, 64)
	}
	if whole == 0 {
		return "½"
	}
	return strconv.FormatFloat(whole, 'f', 0, 64) + "½"
}

// minutesUnit prints an age in halves with its unit, in words a bartender reads aloud: "1 minute", "3½ minutes".
func minutesUnit(x float64) string {
	if x == 1 || x == 0.5 {
		return halves(x) + nbsp + "minute"
	}
	return halves(x) + nbsp + "minutes"
}

// percent prints a level: 0.95 as "95 %", 0.9375 as "93.75 %".
func percent(x float64) string {
	return strconv.FormatFloat(math.Round(x*1e4)/100, 'f', -1, 64) + nbsp + "%"
}

// Count prints "1 taster", "12 tasters".
func Count(n int, noun string) string {
	if n == 1 {
		return "1" + nbsp + noun
	}
	switch {
	case strings.HasSuffix(noun, "ch"), strings.HasSuffix(noun, "ss"):
		noun += "es"
	default:
		noun += "s"
	}
	return strconv.Itoa(n) + nbsp + noun
}

// mostNames bounds how many names a sentence lists.
const mostNames = 14

// list joins names: "A", "A and B", "A, B and C"; of a long list the first twelve.
func list(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		if n > mostNames {
			return fmt.Sprintf("%s and %d others", strings.Join(names[:mostNames-2], ", "), n-mostNames+2)
		}
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// between prints a range of ages of one grain, once when both ends print alike.
func between(g Grain, lo, hi Num) string {
	a, b := g.Minutes(lo), g.Minutes(hi)
	if a == b {
		return fmt.Sprintf("at about %s%smin", a, nbsp)
	}
	return fmt.Sprintf("between %s and %s%smin", a, b, nbsp)
}
