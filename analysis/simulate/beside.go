package simulate

import (
	"fmt"
	"math"
	"time"

	"lastsip/analysis/panel"
)

// Instruments: standard deviation of a reading and the step of its display (invented, of the order of a probe thermometer,
// a ruler and a CO2 meter; no source). Guests: invented too.
const (
	thermometerSD, thermometerStep = 0.15, 0.1
	rulerSD, rulerStep             = 0.3, 0.5
	meterSD, meterStep             = 0.08, 0.05

	pacePerML = 0.075 // min a mL: 120 mL in 9 min, the order of the beers in the literature
	paceLogSD = 0.35
	walkMin   = 1.0  // from the making to the first sip, median
	mostOf    = 0.85 // a guest whose drink dies when they have had less of it leaves it
	calledOff = 0.06 // share of guests who leave for another reason
)

// Reading is one instrument reading in a spare glass that nobody drank from.
type Reading struct {
	Pour     int // index into Session.Pours
	Age      time.Duration
	Quantity string
	Value    float64
	Unit     string
}

// Pace is how one guest drank.
type Pace struct {
	Style         int // index into Evening.Styles
	Minutes       float64
	Finished      bool
	Why           panel.Why
	AgeAtFirstSip float64 // minutes
}

// probe makes a spare glass of each style and reads the instruments in it.
func (s *Session) probe(sd seed) {
	e := &s.spec
	if len(e.ProbeAges) == 0 {
		return
	}
	for si, style := range e.Styles {
		rng := sd.child(kindProbe, si, 0, 0)
		id := "spare"
		if len(e.Styles) > 1 {
			id += " " + style.Name
		}
		f := making{id: fmt.Sprintf("P%d", si+1), style: si, pace: math.Exp(e.BatchSD * rng.NormFloat64()), made: e.start() + time.Duration(si*e.Glasses)*e.slot()}
		s.Truth.addBatch(style.Name, f)
		s.Pours = append(s.Pours, Pour{ID: id, Style: si, Batch: f.id, Made: f.made})
		for _, planned := range e.ProbeAges {
			age := max(onGrid(planned+0.2*rng.NormFloat64()), 0)
			a := panel.Minutes(age) * f.pace
			read := func(quantity, unit string, value, sd, step float64) {
				v := step * math.Round((value+sd*rng.NormFloat64())/step)
				s.Readings = append(s.Readings, Reading{len(s.Pours) - 1, age, quantity, math.Round(v*1e6) / 1e6, unit})
			}
			read("temperature", "C", style.Temperature(a, e.RoomC), thermometerSD, thermometerStep)
			if style.FoamMM > 0 {
				read("foam", "mm", style.FoamMM*style.AirLeft(a), rulerSD, rulerStep)
			}
			if style.GasGL > 0 {
				read("co2", "g/L", style.GasGL*style.GasLeft(a), meterSD, meterStep)
			}
		}
	}
	for i, r := range s.Readings { // a layer or a content is never below nothing, a true zero may read so
		if r.Quantity != "temperature" && r.Value < 0 {
			s.Readings[i].Value = 0
		}
	}
}

// watch notes how guests drank: time to finish log-normal about the style's median; a guest whose own limit comes before they
// have had most of it leaves it then, as it has died; a few leave for other reasons.
func (s *Session) watch(sd seed) {
	e := &s.spec
	for si, style := range e.Styles {
		for g := range e.Guests {
			rng := sd.child(kindGuest, g, si, 0)
			p := Pace{Style: si, Finished: true}
			limit := style.Median * math.Exp(style.LogSD*rng.NormFloat64())
			first := walkMin * math.Exp(0.3*rng.NormFloat64())
			minutes := style.PaceMin * math.Exp(paceLogSD*rng.NormFloat64())
			called, when := rng.Float64() < calledOff, rng.Float64()
			if had := limit - first; had < mostOf*minutes {
				minutes, p.Finished, p.Why = max(had, 0.5), false, panel.WhyDrink
			} else if called {
				minutes, p.Finished, p.Why = max(minutes*(0.2+0.7*when), 0.5), false, panel.WhyLeft
			}
			p.Minutes, p.AgeAtFirstSip = math.Round(minutes*2)/2, math.Round(first*10)/10
			s.Paces = append(s.Paces, p)
		}
	}
}
