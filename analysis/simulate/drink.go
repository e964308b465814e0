package simulate

import (
	"math"

	"lastsip/analysis/dataerr"
)

// Style is a drink style: what it is and what becomes of it in the glass. In the zero value the physics is a sour's. The
// physics (StartC to FoamMM) is taken as given when WarmPerMin, AirPerMin, GasPerMin or MeltPerMin is not 0; else it is that
// of the style of that name among Sour, Stirred and Highball, or a sour's for a name never heard of.
type Style struct {
	Name     string  // free text; "" means "sour"
	Serve    string  // free text, may be empty
	VolumeML float64 // mL served; 0 means 120
	ABV      float64 // ethanol by volume as a share, 0 to 1; 0 means 0.18

	StartC     float64 // temperature when finished, C; below the room's
	WarmPerMin float64 // Newton rate k, per minute, >= 0
	AirPerMin  float64 // rate at which air is lost l, per minute, >= 0
	Air        float64 // how much air it holds, as a share of what a shaken drink holds; weighs the other attributes' AirLoss
	AirLoss    float64 // points of liking lost when all its air has gone, >= 0
	WarmLoss   float64 // points of liking lost per degree of warming, >= 0
	GasGL      float64 // dissolved CO2 when finished, g/L; 0: still
	GasPerMin  float64 // rate at which CO2 is lost g, per minute, >= 0
	GasLoss    float64 // points of liking lost when all its CO2 has gone, >= 0
	MeltPerMin float64 // water that the ice in the glass gives off, share of the volume served per minute, >= 0
	MeltLoss   float64 // points of liking lost were the volume doubled by water, >= 0
	FoamMM     float64 // layer of foam when finished, mm; it goes as the air goes
	Fresh      float64 // liking at age 0, points of 0 to 10; 0 means 8.6
	Bend       float64 // power of the loss, 0.5 to 4: above 1 a small loss is hardly noticed; 0 means 1.6

	Tolerance float64 // points: quality at which the median taster reaches the limit; 0 means 4
	Median    float64 // minutes: the median limit instead of Tolerance; 0 means computed from Tolerance
	LogSD     float64 // spread of log limits over tasters; 0 means 0.35, negative none

	PaceMin float64 // minutes in which the median guest finishes it; 0 means 0.075 per mL
}

// Sour is a shaken citrus drink, strained, no ice in the glass: air leads. Clear after about ten minutes.
func Sour() Style {
	return Style{Name: "sour", VolumeML: 120, ABV: 0.18, StartC: -4, WarmPerMin: 0.022,
		AirPerMin: 0.14, Air: 1, AirLoss: 5, WarmLoss: 0.25, FoamMM: 9, Fresh: 8.6}
}

// Stirred is a strong drink stirred on ice and strained: little air, warming leads.
func Stirred() Style {
	return Style{Name: "stirred", VolumeML: 100, ABV: 0.28, StartC: -3, WarmPerMin: 0.022,
		AirPerMin: 0.06, Air: 0.25, AirLoss: 0.8, WarmLoss: 0.74, Fresh: 8.6}
}

// Highball is a spirit lengthened with a carbonated mixer on ice in a tall glass: it stays cold, CO2 leads, water follows.
func Highball() Style {
	return Style{Name: "highball", VolumeML: 250, ABV: 0.08, StartC: 1, WarmPerMin: 0.001,
		GasGL: 6, GasPerMin: 0.035, GasLoss: 6.5, MeltPerMin: 0.008, MeltLoss: 14, Fresh: 8.6, PaceMin: 13}
}

// hinge is the loss in points that Style.Bend leaves as it is.
const hinge = 4

// resolved fills in the defaults.
func (s Style) resolved() Style {
	if s.Name == "" {
		s.Name = "sour"
	}
	known := Sour()
	switch s.Name {
	case "stirred":
		known = Stirred()
	case "highball":
		known = Highball()
	}
	if s.WarmPerMin == 0 && s.AirPerMin == 0 && s.GasPerMin == 0 && s.MeltPerMin == 0 {
		s.StartC, s.WarmPerMin, s.AirPerMin = known.StartC, known.WarmPerMin, known.AirPerMin
		s.Air, s.AirLoss, s.WarmLoss, s.FoamMM = known.Air, known.AirLoss, known.WarmLoss, known.FoamMM
		s.GasGL, s.GasPerMin, s.GasLoss = known.GasGL, known.GasPerMin, known.GasLoss
		s.MeltPerMin, s.MeltLoss = known.MeltPerMin, known.MeltLoss
	}
	s.Fresh = orDefault(s.Fresh, known.Fresh)
	s.Bend = orDefault(s.Bend, 1.6)
	s.VolumeML = orDefault(s.VolumeML, known.VolumeML)
	s.ABV = orDefault(s.ABV, known.ABV)
	s.Tolerance = orDefault(s.Tolerance, 4)
	s.LogSD = orDefault(s.LogSD, 0.35)
	if s.PaceMin == 0 && s.Name == known.Name {
		s.PaceMin = known.PaceMin
	}
	s.PaceMin = orDefault(s.PaceMin, pacePerML*s.VolumeML)
	return s
}

// Temperature is the drink's temperature in C at an age in minutes, in a room of roomC, by Newton's law of cooling.
func (s Style) Temperature(age, roomC float64) float64 {
	return roomC + (s.StartC-roomC)*math.Exp(-s.WarmPerMin*age)
}

// AirLeft is the share of the drink's air that is left at an age in minutes, first order, 1 at age 0.
func (s Style) AirLeft(age float64) float64 { return math.Exp(-s.AirPerMin * age) }

// GasLeft is the share of the drink's CO2 that is left at an age in minutes, first order, 1 at age 0.
func (s Style) GasLeft(age float64) float64 { return math.Exp(-s.GasPerMin * age) }

// Water is what its ice has given off by an age in minutes, as a share of the volume served; zero order.
func (s Style) Water(age float64) float64 { return s.MeltPerMin * age }

// Quality is the latent liking in points of 0 to 10 at an age in minutes; it may fall below 0. It takes the fields as they
// stand: a Style of Session.Truth has them filled in.
func (s Style) Quality(age, roomC float64) float64 {
	loss := s.AirLoss*(1-s.AirLeft(age)) + s.WarmLoss*(s.Temperature(age, roomC)-s.StartC) +
		s.GasLoss*(1-s.GasLeft(age)) + s.MeltLoss*s.Water(age)
	return s.Fresh - hinge*math.Pow(loss/hinge, s.Bend)
}

// AgeAt is the age in minutes at which Quality crosses a level, by bisection to the last bit; ok is false where the level
// is not below Fresh or is not reached within ten hours.
func (s Style) AgeAt(level, roomC float64) (age float64, ok bool) {
	lo, hi := 0.0, 600.0
	if !(s.Quality(lo, roomC) > level && s.Quality(hi, roomC) < level) {
		return 0, false
	}
	for {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi {
			return hi, true
		}
		if s.Quality(mid, roomC) > level {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// settle checks a resolved style and makes Median and Tolerance agree by the physics.
func (s *Style) settle(row int, roomC float64) []error {
	var bad []error
	fault := func(column string, v float64, want string) {
		bad = append(bad, &dataerr.Cell{Row: row, Column: "style " + s.Name + " " + column, Value: ftoa(v),
			Err: dataerr.ErrRange, Want: want})
	}
	for _, c := range []struct {
		name   string
		v      float64
		lo, hi float64
		want   string
	}{
		{"volume", s.VolumeML, 1, 2000, "give mL between 1 and 2000"},
		{"abv", s.ABV, 0, 1, "give a share between 0 and 1"},
		{"start temperature", s.StartC, -30, roomC, "give degrees C below the room's"},
		{"warming rate", s.WarmPerMin, 0, 10, "give a rate per minute between 0 and 10"},
		{"air rate", s.AirPerMin, 0, 10, "give a rate per minute between 0 and 10"},
		{"air", s.Air, 0, 1, "give a share between 0 and 1"},
		{"air loss", s.AirLoss, 0, 100, "give points, not negative"},
		{"warm loss", s.WarmLoss, 0, 100, "give points per degree, not negative"},
		{"CO2", s.GasGL, 0, 20, "give g/L between 0 and 20"},
		{"CO2 rate", s.GasPerMin, 0, 10, "give a rate per minute between 0 and 10"},
		{"CO2 loss", s.GasLoss, 0, 100, "give points, not negative"},
		{"melting rate", s.MeltPerMin, 0, 1, "give a share of the volume per minute between 0 and 1"},
		{"melting loss", s.MeltLoss, 0, 1000, "give points, not negative"},
		{"foam", s.FoamMM, 0, 200, "give mm between 0 and 200"},
		{"pace", s.PaceMin, 0.5, 600, "give minutes between 0.5 and 600"},
		{"fresh", s.Fresh, 0, 10, "give points between 0 and 10"},
		{"bend", s.Bend, 0.5, 4, "give a power from 0.5 to 4"},
		{"log-sd", s.LogSD, math.Inf(-1), 3, "give a log standard deviation of at most 3"},
		{"median", s.Median, 0, 600, "give minutes between 0 and 600"},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			fault(c.name, c.v, c.want)
		}
	}
	if bad != nil {
		return bad
	}
	if !(s.AirLoss*s.AirPerMin+s.WarmLoss*s.WarmPerMin*(roomC-s.StartC)+s.GasLoss*s.GasPerMin+s.MeltLoss*s.MeltPerMin > 0) {
		fault("air loss", s.AirLoss, "let air, warming, CO2 or water cost points, else no one ever reaches a limit")
		return bad
	}
	s.LogSD = max(s.LogSD, 0)
	if s.Median > 0 {
		s.Tolerance = s.Quality(s.Median, roomC)
		return nil
	}
	m, ok := s.AgeAt(s.Tolerance, roomC)
	if !ok {
		fault("tolerance", s.Tolerance, "give points below the fresh drink's that it falls to within ten hours")
		return bad
	}
	s.Median = m
	return nil
}
