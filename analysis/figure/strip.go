package figure

import (
	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// fill of a stretch of ages.
type fill int

const (
	hatched  fill = iota // nobody tasted
	notYet               // outlined: too early to hand over
	outlined             // nothing may be promised, or a further run
	solid                // promised
	screened             // undecided: a dot screen in a 1 px outline, which holds in grey print
)

// stretch is a run of ages of a strip, minutes.
type stretch struct {
	from, to float64
	fill     fill
	onward   bool // goes on past the last age or the axis: an arrow, no closing edge
}

// strip is what the strip of one drink says about ages.
type strip struct {
	stretches []stretch
	ticks     []float64 // estimates, drawn in ink over the full height
}

// stripOf reads a ribbon as a strip on an axis that ends at end. With a Window the solid part is what the limits leave of
// it; without one it is the ages from the first (or from late) to the act, and the screen runs to the lower limit of half.
// Panels of five and fewer get no screen: what is undecided is outlined.
func stripOf(r *answer.Ribbon, act, late answer.Num, end float64) strip {
	var s strip
	start := 0.0
	if r.FirstAge > tasted {
		start = r.FirstAge
		s.add(stretch{from: 0, to: start, fill: hatched})
	}
	if r.LastAge > 0 && r.LastAge < end {
		s.add(stretch{from: r.LastAge, to: end, fill: hatched})
	}
	if r.Window != nil {
		s.window(r.Window, r.FirstAge, start, r.LastAge)
	} else {
		s.replies(r, act, late, start)
	}
	few := len(r.Intervals) > 0
	for i := range s.stretches {
		st := &s.stretches[i]
		if few && st.fill == screened {
			st.fill = outlined
		}
		if st.to > end {
			st.to = end
			st.onward = st.fill == solid || st.fill == screened
		}
		st.from = min(st.from, end)
	}
	return s
}

// add keeps stretches that have a length.
func (s *strip) add(st stretch) {
	if st.to > st.from {
		s.stretches = append(s.stretches, st)
	}
}

// window lays out the prime window: not yet, undecided rise, sure, undecided fall, further runs.
func (s *strip) window(w *answer.Window, first, start, last float64) {
	if w.Status == answer.Never {
		s.add(stretch{from: start, to: last, fill: outlined})
		return
	}
	riseLow, riseHigh := start, start
	if late(w, first) {
		s.ticks = append(s.ticks, w.From.Float())
		riseLow = max(start, finiteOr(w.FromLower, start))
	}
	if late(w, first) || unsureStart(w, first) {
		riseHigh = max(riseLow, finiteOr(w.FromUpper, last))
	}
	fallLow := max(start, finiteOr(w.ToLower, start))
	if w.Status == answer.Always && w.ToLower.Empty() {
		fallLow = last
	}
	fallHigh, onward := last, true
	if w.ToUpper.Finite() {
		fallHigh, onward = w.ToUpper.Float(), false
	}
	s.add(stretch{from: start, to: riseLow, fill: notYet})
	if riseHigh < fallLow {
		s.add(stretch{from: riseLow, to: riseHigh, fill: screened})
		s.add(stretch{from: riseHigh, to: fallLow, fill: solid})
		s.add(stretch{from: fallLow, to: fallHigh, fill: screened, onward: onward})
	} else { // no age is sure
		s.add(stretch{from: riseLow, to: fallHigh, fill: screened, onward: onward})
	}
	if w.To.Finite() {
		s.ticks = append(s.ticks, w.To.Float())
	}
	for _, o := range w.Others {
		s.add(stretch{from: o.From, to: o.To, fill: outlined})
	}
}

// replies lays out what the replies alone promise.
func (s *strip) replies(r *answer.Ribbon, act, late answer.Num, start float64) {
	if handsOver(late, act) && late.Float() > start {
		s.add(stretch{from: start, to: late.Float(), fill: notYet})
		start = late.Float()
	}
	sure, some := start, false
	if act.Finite() && act.Float() > 0 {
		sure, some = act.Float(), true
		if sure <= start { // the first age tasted is the last at which all would: younger drinks are taken to be no worse
			start = 0
		}
		s.add(stretch{from: start, to: sure, fill: solid})
	}
	if showsHalf(r) && len(r.Intervals) == 0 && r.Half.Lower.Finite() && r.Half.Lower.Float() > sure {
		s.add(stretch{from: sure, to: r.Half.Lower.Float(), fill: screened})
	} else if !some {
		s.add(stretch{from: start, to: r.LastAge, fill: outlined})
	}
}

// end is the age up to which a kind of fill reaches; none where it is not drawn.
func (s *strip) end(fills ...fill) (age float64, some bool) {
	for _, st := range s.stretches {
		for _, f := range fills {
			if st.fill == f {
				age, some = max(age, st.to), true
			}
		}
	}
	return age, some
}

// showsHalf tells whether half of tasters is drawn: from three tasters up, never for one taster's pours.
func showsHalf(r *answer.Ribbon) bool {
	return r.HasHalf && r.Unit != "pour" && (r.Units == 0 || r.Units >= 3)
}

// showsTenth tells whether one in ten is drawn: never for a panel whose tasters are drawn one by one.
func showsTenth(r *answer.Ribbon) bool {
	return r.HasTenth && r.Unit != "pour" && len(r.Intervals) == 0
}

func finiteOr(n answer.Num, other float64) float64 {
	if n.Finite() {
		return n.Float()
	}
	return other
}

// strip draws a strip between two heights.
func (c *pen) strip(s strip, low, high vg.Length) {
	for _, st := range s.stretches {
		x0, x1 := c.x(st.from), c.x(st.to)
		switch st.fill {
		case hatched:
			c.hatch(x0, low, x1, high)
		case solid:
			c.shape(window, box(x0, low, x1, high))
		case notYet, outlined:
			c.path(edgeStroke, box(x0, low, x1, high))
		case screened:
			c.screen(window, x0, low, x1, high)
			if !st.onward {
				c.path(edgeStroke, box(x0, low, x1, high))
				continue
			}
			c.path(edgeStroke, []vg.Point{{X: x1, Y: low}, {X: x0, Y: low}, {X: x0, Y: high}, {X: x1, Y: high}})
		}
		if st.onward {
			c.tip(edgeStroke, x1+arrowLen, (low+high)/2, open, 1)
		}
	}
	for _, age := range s.ticks {
		c.line(estimateStroke, c.x(age), low-2, c.x(age), high+2)
	}
}

// needRibbon refuses a ribbon with a number that has no place.
func (s *sheet) needRibbon(r *answer.Ribbon) {
	s.need("the first or last age tasted", r.FirstAge, r.LastAge)
	if r.Window != nil {
		s.needWindow(r.Window)
	}
}

// needWindow refuses a window with a number that has no place.
func (s *sheet) needWindow(w *answer.Window) {
	s.need("a window's limit or highest score", w.Limit, w.Highest, w.HighestAt)
	for _, o := range w.Others {
		s.need("a further run above the limit", o.From, o.To)
	}
}
