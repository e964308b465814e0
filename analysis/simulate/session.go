package simulate

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"lastsip/analysis/panel"
)

// density of ethanol at 20 C, g/mL (CRC Handbook, from memory).
const ethanolDensity = 0.789

// Session is an invented evening: what was recorded and what is true. Pours, Tastes and what stands beside may be edited (a slip of the pen,
// a missed round) before Panel and Files are called; Truth then still tells how they came about.
type Session struct {
	Pours    []Pour
	Tastes   []Taste // glass by glass, by age within a glass; then flight by flight
	Readings []Reading
	Choices  []Choice
	Paces    []Pace
	Truth    Truth
	spec     Evening // with its defaults filled in
}

// Pour is one glass of one taster; where Taster is empty it served several, or nobody (a spare glass).
type Pour struct {
	ID     string
	Taster string
	Style  int // index into Evening.Styles
	Batch  string
	Made   time.Duration // since midnight before the evening; may pass 24 h
}

// Taste is one sip with its record.
type Taste struct {
	Pour     int // index into Session.Pours
	Taster   string
	Mode     panel.Mode
	Flight   string // side by side
	Position int    // in the flight, from 1; 0 in sip-through
	Round    int    // sip-through: place among the planned ages, from 1
	Age      time.Duration
	Planned  time.Duration // side by side: when the flight begins
	Verdict  panel.Verdict
	Note     string
	Scores   []panel.Score // by attribute; a value off the scale stays in Files and is left out of Panel
}

// Spec is the evening's specification with every default filled in, Styles settled (Median and Tolerance agree).
func (s *Session) Spec() Evening {
	e := s.spec
	e.Styles, e.People, e.Ages = slices.Clone(e.Styles), slices.Clone(e.People), slices.Clone(e.Ages)
	e.Tables, e.ProbeAges = slices.Clone(e.Tables), slices.Clone(e.ProbeAges)
	e.Attributes, e.Allergens = slices.Clone(e.Attributes), slices.Clone(e.Allergens)
	return e
}

// TastedAt is the clock time of a taste, since midnight before the evening.
func (s *Session) TastedAt(t Taste) time.Duration { return s.Pours[t.Pour].Made + t.Age }

// Intake is what one taster took in at one time, spat counted as swallowed.
type Intake struct {
	At       time.Duration // since midnight before the evening
	EthanolG float64
}

// Intakes are everything that a taster took in, in order of time: sips and cups x ABV x 0.789 g/mL; a paired trial has two
// cups, a triangle three.
func (s *Session) Intakes(taster string) []Intake {
	var out []Intake
	add := func(at time.Duration, style int, ml float64) {
		out = append(out, Intake{at, ml * s.spec.Styles[style].ABV * ethanolDensity})
	}
	for _, t := range s.Tastes {
		ml := s.spec.SipML
		if t.Mode == panel.SideBySide {
			ml = s.spec.CupML
		}
		if t.Taster == taster {
			add(s.TastedAt(t), s.Pours[t.Pour].Style, ml)
		}
	}
	for _, c := range s.Choices {
		cups := 2.0
		if c.Test == "triangle" {
			cups = 3
		}
		if c.Taster == taster {
			add(c.At, s.Pours[c.Older].Style, cups*s.spec.CupML)
		}
	}
	slices.SortStableFunc(out, func(a, b Intake) int { return cmp.Compare(a.At, b.At) })
	return out
}

// EthanolG is how many grams of ethanol a taster took in: the sum of Intakes.
func (s *Session) EthanolG(taster string) float64 {
	g := 0.0
	for _, in := range s.Intakes(taster) {
		g += in.EthanolG
	}
	return g
}

// Panel is what a reader should make of Files: same rows in the same order, limits and settings at their defaults (prime at
// 70 %, reject and attribute limits at 40 % of the scale, mirrored for lower is better, 60 % of the larger side about a best
// value). Origins are empty, Settings.Taken too. Scores off the scale are not given and are counted in LeftOut.
func (s *Session) Panel() *panel.Panel {
	e := &s.spec
	p := &panel.Panel{
		Sessions: []panel.Session{{Name: e.Name, Title: e.Title, Date: e.Date, Start: e.Start, RoomC: e.RoomC, HasRoomC: true, Invented: true}},
		Settings: panel.Settings{Overall: e.Overall, HasLimits: true, Unclear: "either_side", SipML: e.sipML(),
			StandardDrinkG: e.StandardDrinkG, Allergens: slices.Clone(e.Allergens)},
	}
	for _, a := range e.Attributes {
		p.Attributes = append(p.Attributes, a.panel())
		if a.Name == e.Overall {
			p.Settings.PrimeLimit, p.Settings.RejectLimit = a.at(0.7), a.at(0.4)
		}
	}
	for _, g := range s.Pours {
		st := e.Styles[g.Style]
		p.Pours = append(p.Pours, panel.Pour{Session: e.Name, ID: g.ID, Taster: g.Taster, Style: st.Name, Serve: st.Serve,
			Batch: g.Batch, VolumeML: st.VolumeML, Made: g.Made, HasMade: true})
	}
	off := 0
	for _, t := range s.Tastes {
		scores := slices.Clone(t.Scores)
		for i, sc := range scores {
			if a := e.Attributes[i]; sc.Given && !(sc.Value >= a.Low && sc.Value <= a.High) {
				scores[i] = panel.Score{}
				off++
			}
		}
		p.Tastes = append(p.Tastes, panel.Taste{Session: e.Name, Taster: t.Taster, Pour: t.Pour, Mode: t.Mode, Flight: t.Flight, Position: t.Position,
			Age: t.Age, Planned: t.Planned, HasPlanned: true, Verdict: t.Verdict, Note: t.Note, Scores: scores})
	}
	for _, r := range s.Readings {
		p.Readings = append(p.Readings, panel.Reading{Session: e.Name, Pour: r.Pour, Age: r.Age, Quantity: r.Quantity, Value: r.Value, Unit: r.Unit})
	}
	for _, c := range s.Choices {
		p.Choices = append(p.Choices, panel.Choice{Session: e.Name, Taster: c.Taster, Trial: strconv.Itoa(c.Trial), Test: c.Test, PourA: c.Older, PourB: c.Younger,
			AgeA: c.AgeO, AgeB: c.AgeY, Answer: rightWords(c.Right)})
	}
	for _, x := range s.Paces {
		st := e.Styles[x.Style]
		p.Paces = append(p.Paces, panel.Pace{Session: e.Name, Style: st.Name, Serve: st.Serve, Minutes: x.Minutes, Finished: x.Finished, Why: x.Why,
			VolumeML: st.VolumeML, FirstSip: panel.Age(x.AgeAtFirstSip), HasFirstSip: true})
	}
	if off > 0 {
		p.LeftOut = []panel.LeftOut{{Session: e.Name, Reason: "score off the scale", Rows: off}}
	}
	return p
}

// sipML is what the descriptor says of sips: nothing where the evening has both ways of tasting, as the defaults hold for each.
func (e *Evening) sipML() float64 {
	if len(e.Tables) > 0 {
		return 0
	}
	return e.SipML
}

func rightWords(right bool) string {
	if right {
		return "right"
	}
	return "wrong"
}

func (a Attribute) panel() panel.Attribute {
	out := panel.Attribute{Name: a.Name, Category: a.Category, Ranged: true, Low: a.Low, High: a.High, LowMeans: a.LowMeans,
		HighMeans: a.HighMeans, Better: a.Better, Best: a.Best, Limit: a.at(0.4)}
	if a.Better == panel.BetterMiddle {
		out.Limit = 0.6 * max(a.Best-a.Low, a.High-a.Best)
	}
	return out
}

// at is the score at a share of the way from the worse to the better end.
func (a Attribute) at(share float64) float64 {
	if a.Better == panel.BetterLow {
		return a.High - share*(a.High-a.Low)
	}
	return a.Low + share*(a.High-a.Low)
}
