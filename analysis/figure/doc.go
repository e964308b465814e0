// Package figure draws answers.
//
// Of takes an answer (package answer) and gives its Figure, which writes itself as SVG or PNG and says in one sentence what
// it shows (Alt). Every figure of a style stands on the same minutes: same left edge, same width, the axis from 0 to
// Head.AxisEnd, one tick step, and the act of the style (Head.Act) as one dashed ink line through all of them, so that the
// eye falls straight down from an answer to its evidence.
//
//	answer      drawing
//	ServeBy     the age ribbon: a strip of ages, and below it the rail with half of the tasters, or each taster's interval
//	Lifetime    share of tasters who would go on: the headline's curve with the limits of its shares as a band, half (dot) and
//	            one in ten (ring) with their limits on the levels where it crosses, a bracket over the halves that other
//	            choices give, a rail with the half of each evening and batch; behind it, or alone where there is no headline,
//	            Turnbull's curve as far as the data decide it (its upper and lower line, dashed boxes where it is left
//	            open); the exact limits at each age step as bars; a second mode below the first
//	Rejections  one strip per glass: every reply at its actual minute, and the interval (L, R] that holds the limit
//	Scores      one panel per attribute: raw scores, mean per age step, middle half of tasters, limits
//	PrimeWindow the age curve: raw scores, each taster's own curve, the average taster's with its band, the stretch of the
//	            prime limit at which it is at its best; on a rail below, where that begins and ends, and until when it surely is
//	            (what it leaves over is another figure of the same answer: Residuals)
//	GoesFirst   one band per attribute: at each age step the share for whom it had failed first, alone and tied, with exact limits
//	Readings    one panel per quantity: every reading at its actual minute, joined glass by glass
//	Compare     one age ribbon per style under one another; its own axis, to 1.3 times the longest, and an act for each row
//	AgeDifferences every age step less the youngest, with limits for all steps together, over tasters' own differences; the
//	            margin of sameness as a band
//	Differences one row per pair of drinks: how many times as long one keeps as the other, with its limits, on a log axis of
//	            ratios; the fifteen largest of many
//	Data, Glass, Provenance none: ErrNoFigure
//
// Units: ages are minutes since the drink was made. Lengths inside this package are pixels of a figure 720 (wide) or 360
// (narrow) pixels across with the same lettering; one point of gonum/plot is one pixel. Nothing is computed here but
// positions: what is drawn at a minute stands in the answer. Inks have one meaning each (theme.go); lettering is always ink.
//
// The same answer gives the same bytes. Answers with a coordinate that is not a number are refused. This package does not
// choose words about results beyond naming its marks. Of a model it draws the curve that the answer's parameters give.
package figure
