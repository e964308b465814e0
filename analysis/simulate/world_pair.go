package simulate

import (
	"errors"
	"math"
	"math/rand/v2"

	"lastsip/analysis/dataerr"
)

// Pair draws bare replies about two styles. The first style is Study's; the second has the same law with every limit Ratio times as
// late. A taster's two standard normal values z are correlated by Rho, so that with log-normal limits Rho is the correlation of the
// log limits; the kind of a taster (OtherShare, YoungShare) is one for both styles. Batches, noise, ages and protocol are the
// study's, drawn anew for each style. The zero value is twelve tasters who taste two styles alike, with limits that have nothing to
// do with each other.
type Pair struct {
	Study
	Ratio float64 // limits of the second style over those of the first; 0 means 1
	Rho   float64 // 0 to 1
	Apart bool    // different tasters: those of the second style are numbered on from the first's; Rho must be 0
}

// Check tells what Draw could not work with: joined *dataerr.Cell.
func (p Pair) Check() error {
	bad := []error{p.Study.Check()}
	ratio := orDefault(p.Ratio, 1)
	if !(ratio >= 1e-3 && ratio <= 1e3) {
		bad = append(bad, &dataerr.Cell{Column: "Ratio", Value: ftoa(p.Ratio), Err: dataerr.ErrRange, Want: "give a number from 0.001 to 1000"})
	}
	switch {
	case !(p.Rho >= 0 && p.Rho <= 1):
		bad = append(bad, &dataerr.Cell{Column: "Rho", Value: ftoa(p.Rho), Err: dataerr.ErrRange, Want: "give a number from 0 to 1"})
	case p.Apart && p.Rho != 0:
		bad = append(bad, &dataerr.Cell{Column: "Rho", Value: ftoa(p.Rho), Err: dataerr.ErrRange, Want: "different tasters have nothing in common: give 0"})
	}
	return errors.Join(bad...)
}

// Draw invents one panel: the glasses of the first style, then those of the second, as Study.Draw does. It panics where Check has
// something to say.
func (p Pair) Draw(rng *rand.Rand) (first, second []Glass) {
	if err := p.Check(); err != nil {
		panic("simulate: " + err.Error())
	}
	s, later := p.Study.resolved(), p.Second().resolved()
	people := make([][2]own, s.Tasters)
	for i := range people {
		z := rng.NormFloat64()
		y := p.Rho*z + math.Sqrt(1-p.Rho*p.Rho)*rng.NormFloat64()
		people[i] = [2]own{{limit: s.limit(z)}, {limit: later.limit(y)}}
		if p.Apart {
			s.kind(rng, &people[i][0])
			s.kind(rng, &people[i][1])
		} else {
			s.kind(rng, &people[i][0], &people[i][1])
		}
	}
	first = s.draw(rng, func(t int) own { return people[t][0] })
	second = later.draw(rng, func(t int) own { return people[t][1] })
	if p.Apart {
		for i := range second {
			second[i].Taster += s.Tasters
		}
	}
	return first, second
}

// Second is the second style by itself, for its truth.
func (p Pair) Second() Study {
	s := p.Study
	s.Median = orDefault(s.Median, 7) * orDefault(p.Ratio, 1)
	return s
}
