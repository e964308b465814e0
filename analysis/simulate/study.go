package simulate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"lastsip/analysis/dataerr"
)

// Study draws bare replies about own limits, without a drink behind them: fast, for coverage and bias. It is the reply law of
// this package with exact ages. The zero value is twelve tasters, one glass each, log-normal limits, clean replies.
type Study struct {
	Tasters int // 0 means 12
	Glasses int // per taster: sip-through glasses, or side by side how often each age is poured; 0 means 1
	Batches int // side by side: per age; 0 means that every glass is a batch of its own

	Median  float64 // minutes; 0 means 7
	LogSD   float64 // of log limits over tasters; 0 means 0.35, negative none
	ReplySD float64 // tau, log-sd of a reply about the limit; 0 none
	Slips   float64 // 0 to 0.5
	BatchSD float64 // log-sd of the batch faults; 0 none

	// Truths outside the log-normal law, see world.go; zero values leave them out.
	Weibull    bool    // limits are Weibull with this median and this log-sd
	OtherShare float64 // share of tasters of another kind, 0 to 1
	OtherRatio float64 // limits of the other kind over those of the rest; 0 means 1
	YoungShare float64 // share of tasters to whom the drink is not ready before YoungAge, 0 to 1
	YoungAge   float64 // minutes; 0 means 3
	RepeatNo   float64 // sip-through: chance that a "no" is given again because this glass had one before, 0 to 1

	Ages        []float64 // minutes, rising, > 0; nil means 2, 4 ... 16
	RoundsAfter int       // sip-through: rounds after the first rejection; 0 means 2, negative none, a large number goes to the end
	SideBySide  bool      // every reply is about a glass of its own
}

// Glass is one glass of a Study with its replies.
type Glass struct {
	Taster, Batch int       // from 0
	Ages          []float64 // minutes; shared between glasses, not to be changed
	Reject        []bool    // one per age
	Limit         float64   // minutes: the taster's own limit on a typical drink, before the batch's fault
}

// studyAges is the usual schedule. It is not to be changed.
var studyAges = []float64{2, 4, 6, 8, 10, 12, 14, 16}

// resolved fills in the defaults. It is done once: what a negative number switches off is then 0.
func (s Study) resolved() Study {
	s.Tasters, s.Glasses = countOr(s.Tasters, 12), countOr(s.Glasses, 1)
	s.Median, s.LogSD = orDefault(s.Median, 7), max(orDefault(s.LogSD, 0.35), 0)
	if s.Ages == nil {
		s.Ages = studyAges
	}
	s.OtherRatio, s.YoungAge = orDefault(s.OtherRatio, 1), orDefault(s.YoungAge, 3)
	s.RoundsAfter = max(countOr(s.RoundsAfter, 2), 0)
	return s
}

// Check tells what Draw could not work with: joined *dataerr.Cell.
func (s Study) Check() error {
	s = s.resolved()
	var bad []error
	for _, c := range []struct {
		name   string
		v      float64
		lo, hi float64
	}{
		{"Tasters", float64(s.Tasters), 1, 1e6}, {"Glasses", float64(s.Glasses), 1, 1000}, {"Batches", float64(s.Batches), 0, 1e6},
		{"Median", s.Median, 1e-6, 1e6}, {"LogSD", s.LogSD, 0, 5}, {"ReplySD", s.ReplySD, 0, 5}, {"Slips", s.Slips, 0, 0.5},
		{"BatchSD", s.BatchSD, 0, 5}, {"OtherShare", s.OtherShare, 0, 1}, {"OtherRatio", s.OtherRatio, 1e-3, 1e3},
		{"YoungShare", s.YoungShare, 0, 1}, {"YoungAge", s.YoungAge, 0, 1e6}, {"RepeatNo", s.RepeatNo, 0, 1},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			bad = append(bad, &dataerr.Cell{Column: c.name, Value: ftoa(c.v), Err: dataerr.ErrRange,
				Want: fmt.Sprintf("give a number from %s to %s", ftoa(c.lo), ftoa(c.hi))})
		}
	}
	last := 0.0
	for i, a := range s.Ages {
		if !(a > last) || math.IsInf(a, 0) {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Ages", Value: ftoa(a), Err: dataerr.ErrOrder, Want: "give rising minutes above 0"})
		}
		last = a
	}
	if len(s.Ages) == 0 {
		bad = append(bad, &dataerr.Cell{Column: "Ages", Err: dataerr.ErrTooFew, Want: "give at least one age in minutes"})
	}
	return errors.Join(bad...)
}

// Draw invents one panel, glass by glass, taster by taster; side by side one glass holds one reply, in order of age. It panics
// where Check has something to say. One backing array holds all replies.
//
// In sip-through glass i of N belongs to batch i*Batches/N, so that neighbours share a shake; side by side the tasters of
// one age are dealt to that age's batches in turn.
func (s Study) Draw(rng *rand.Rand) []Glass {
	s = s.checked()
	return s.draw(rng, func(int) own { return s.own(rng, rng.NormFloat64()) })
}

// checked is the study with its defaults; it panics where Check has something to say.
func (s Study) checked() Study {
	if err := s.Check(); err != nil {
		panic("simulate: " + err.Error())
	}
	return s.resolved()
}

// draw invents the glasses of tasters whose limits are given.
func (s *Study) draw(rng *rand.Rand, of func(taster int) own) []Glass {
	n, steps := s.Tasters*s.Glasses, 1
	if s.SideBySide {
		steps = len(s.Ages)
	}
	faults := make([]float64, max(s.batches(), 0))
	for i := range faults {
		faults[i] = s.BatchSD * rng.NormFloat64()
	}
	glasses := make([]Glass, 0, n*steps)
	replies := make([]bool, n*len(s.Ages))
	for t := range s.Tasters {
		who := of(t)
		for g := range s.Glasses {
			for k := range steps {
				batch := s.batch(t, g, k)
				law := replyLaw{who.limit * math.Exp(-faults[batch]), s.ReplySD, s.Slips}
				ages := s.Ages
				if s.SideBySide {
					ages = s.Ages[k : k+1 : k+1]
				}
				m := s.sip(rng, law, who.ready, ages, replies)
				glasses = append(glasses, Glass{t, batch, ages[:m:m], replies[:m:m], who.limit})
				replies = replies[m:]
			}
		}
	}
	return glasses
}

// batches counts all makings.
func (s Study) batches() int {
	n := s.Tasters * s.Glasses
	switch {
	case s.Batches == 0 && s.SideBySide:
		return n * len(s.Ages)
	case s.Batches == 0:
		return n
	case s.SideBySide:
		return s.Batches * len(s.Ages)
	}
	return s.Batches
}

// batch of glass g of taster t, at age step k when side by side.
func (s Study) batch(t, g, k int) int {
	i := t*s.Glasses + g
	switch {
	case s.Batches == 0 && s.SideBySide:
		return i*len(s.Ages) + k
	case s.Batches == 0:
		return i
	case s.SideBySide:
		return k*s.Batches + i%s.Batches
	}
	return i * s.Batches / (s.Tasters * s.Glasses)
}

// sip replies at each age until the protocol ends, and tells how many replies there were. Before ready every glass is
// rejected but for slips. Where the study has such tasters, the rejection that ends the protocol is one after an acceptance.
func (s *Study) sip(rng *rand.Rand, law replyLaw, ready float64, ages []float64, to []bool) int {
	after, said, ending, accepted := 0, false, false, s.YoungShare == 0
	for k, age := range ages {
		chance := law.reject(age)
		if age < ready {
			chance = 1 - law.slips
		}
		to[k] = rng.Float64() < chance
		if s.RepeatNo > 0 && said && rng.Float64() < s.RepeatNo {
			to[k] = true
		}
		if ending {
			after++
		}
		said, accepted = said || to[k], accepted || !to[k]
		ending = ending || to[k] && accepted
		if ending && after >= s.RoundsAfter {
			return k + 1
		}
	}
	return len(ages)
}
