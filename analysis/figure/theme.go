package figure

import (
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Paper and inks. The data inks are Okabe and Ito's (Color Universal Design, 2008), each with one meaning on every page; grey
// print does without them, as marks differ by shape and dash too.
var (
	paper   = rgb(0xfb, 0xf9, 0xf5)
	ink     = rgb(0x1f, 0x23, 0x28)
	mute    = rgb(0x5d, 0x63, 0x6b) // 5.7 : 1 on paper
	faint   = rgb(0xe3, 0xde, 0xd4) // rules at ticks
	window  = rgb(0x00, 0x72, 0xb2) // window and liking
	leaving = rgb(0xd5, 0x5e, 0x00) // leaving the rest
	telling = rgb(0xcc, 0x79, 0xa7) // told from a fresh one
	reading = rgb(0x00, 0x9e, 0x73) // instruments
)

func rgb(r, g, b uint8) color.NRGBA { return color.NRGBA{r, g, b, 0xff} }

// tint is an ink at part of its strength. Its RGBA rounds up, so that vgsvg, which divides by the alpha and cuts off, writes
// the ink's own hexadecimal digits.
type tint struct{ color.NRGBA }

// RGBA implements color.Color.
func (t tint) RGBA() (r, g, b, a uint32) {
	a = uint32(t.A) * 0x101
	part := func(v uint8) uint32 { return (uint32(v)*0x101*a + 0xfffe) / 0xffff }
	return part(t.R), part(t.G), part(t.B), a
}

// thin gives an ink at a share of its strength, in 0..1.
func thin(c color.NRGBA, share float64) color.Color {
	c.A = uint8(share*255 + 0.5)
	return tint{c}
}

// Strokes that have a meaning of their own; widths and dashes in pixels.
var (
	ruleStroke     = stroke(faint, 1)
	actStroke      = stroke(ink, 1.4, 5, 3)          // the act, through every figure
	halfStroke     = stroke(mute, 1, 2, 4)           // levels to read against: half, limits of a scale
	alikeStroke    = stroke(mute, 1)                 // no difference
	boxStroke      = stroke(thin(ink, .55), 1, 2, 2) // what the data leave open
	railStroke     = stroke(leaving, 1.6)            // limits and intervals of leaving the rest
	barStroke      = stroke(leaving, 1.1)            // exact limits at an age step
	readingStroke  = stroke(ink, 1)                  // the half under other readings of wavering replies
	curveStroke    = stroke(leaving, 2.2)
	mutedStroke    = stroke(thin(ink, .5), 1.3)     // the curve without a family, behind one that leads
	fallStroke     = stroke(leaving, 1.4, 1.4, 2.8) // a fall at an age that is left open
	bandStroke     = stroke(thin(leaving, .4), 1)   // limits of the headline's curve
	groupStroke    = stroke(leaving, 1.2)           // limits of one evening or batch
	meanStroke     = stroke(window, 2.2)
	tasterStroke   = stroke(thin(window, .4), .8) // one taster's own curve
	windowStroke   = stroke(window, 4)            // the prime limit, where the curve is at or above it
	againStroke    = stroke(thin(window, .5), 4)  // where it is so again
	threadStroke   = stroke(window, .8, 1, 2)     // from a crossing down to its limits
	windowRail     = stroke(window, 1.6)          // limits of where a window begins or ends
	plainStroke    = stroke(mute, 2)              // an attribute that is not the overall score
	edgeStroke     = stroke(window, 1)
	estimateStroke = stroke(ink, 2) // where a window begins or ends, at the estimate
	tellingStroke  = stroke(telling, 3)
	triangleEdge   = stroke(ink, .8)
	tiedStroke     = stroke(mute, 1)               // round a dot screen in a band
	limitStroke    = stroke(ink, 1.2)              // exact limits that stand on a bar
	limitPaper     = stroke(paper, 3.4)            // what keeps them apart from it
	settledStroke  = stroke(ink, 2)                // the age step that a sentence names
	ageLimits      = stroke(window, 1.4)           // limits of the difference from fresh
	measuredStroke = stroke(reading, 1.4)          // readings of one glass, joined
	intervalStroke = stroke(thin(leaving, .45), 5) // (L, R] of one glass
	thinBarStroke  = stroke(leaving, 1.8)          // (L, R] of one taster in a comparison
	replyStroke    = stroke(ink, 1.2)
	hatchStroke    = stroke(thin(mute, .4), .8)
)

func stroke(c color.Color, width vg.Length, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: width, Dashes: dashes}
}

// lettering is a face and an ink.
type lettering struct {
	face font.Face
	ink  color.Color
}

// bold is the value of golang.org/x/image/font.WeightBold, whose package is plot's dependency and not ours.
const bold = 3

// gonum/plot measures by Liberation Sans, whose widths are those of Arial and Helvetica (svg.go names these as fallbacks).
var (
	sans     = font.Font{Typeface: "Liberation", Variant: "Sans"}
	sansBold = font.Font{Typeface: "Liberation", Variant: "Sans", Weight: bold}

	tickText  = lettering{font.DefaultCache.Lookup(sans, 12), mute}
	smallText = lettering{font.DefaultCache.Lookup(sans, 12), ink}
	muteText  = lettering{font.DefaultCache.Lookup(sans, 13), mute}
	rowText   = lettering{font.DefaultCache.Lookup(sans, 13), ink}
	valueText = lettering{font.DefaultCache.Lookup(sansBold, 13), ink}
)

// width of a text in pixels.
func (l lettering) width(s string) float64 { return float64(l.face.Width(s)) }

// margins of the data area: every figure of one width has the same, so that minutes stand above minutes.
func margins(width int) (left, right float64) {
	if width == Narrow {
		return 44, 348
	}
	return 168, 704
}
