package answer_test

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strconv"

	"gonum.org/v1/gonum/interp"

	"lastsip/analysis/panel"
)

// windowWorld is one way in which scores of one style come about; sds in points are those of windowSDs.
type windowWorld struct {
	group string
	name  string
	curve func(age float64) float64 // latent expected score of an average taster, before the scale's ends and steps
	ages  []float64
	step  float64 // scores are rounded to it
	three bool    // three evenings of two batches each, which half of the tasters share; else one evening, one glass each
}

// Standard deviations in points, the slope's in points per minute; the limit in points.
const (
	windowOffset, windowSlope, windowEvening, windowBatch, windowRest = 0.8, 0.06, 0.3, 0.2, 1.0
	windowLimit, windowLast                                           = 7.0, 16.0
)

// smoothFall falls from 8 to 3, faster and faster; improvesFirst rises from 5.8 to 8 at 4.5 min and falls to 3.
func smoothFall(a float64) float64 { return 8 - 5*math.Pow(a/windowLast, 1.5) }

func improvesFirst(a float64) float64 {
	if a < 4.5 {
		return 8 - 2.2*math.Pow((4.5-a)/4.5, 2)
	}
	return 8 - 5*math.Pow((a-4.5)/(windowLast-4.5), 1.6)
}

// quickFall falls from 8.5 at once, slower and slower.
func quickFall(a float64) float64 { return 3 + 5.5*math.Exp(-a/4) }

// joinedAt is a truth that is straight between the ages tasted, as four ages are read.
func joinedAt(curve func(float64) float64, ages []float64) func(float64) float64 {
	var line interp.PiecewiseLinear
	at := make([]float64, len(ages))
	for i, a := range ages {
		at[i] = curve(a)
	}
	if err := line.Fit(ages, at); err != nil {
		panic(err)
	}
	return line.Predict
}

var (
	eightAges = []float64{0, 2, 4, 6, 8, 10, 13, 16}
	fourAges  = []float64{0, 5, 10, 16}
)

const (
	groupOneGlass = "One evening, one glass each"
	groupEvenings = "Three evenings of two batches each"
)

// windowWorlds lists every world of the table, in its order.
func windowWorlds() (out []windowWorld) {
	for _, three := range []bool{false, true} {
		group := groupOneGlass
		if three {
			group = groupEvenings
		}
		for _, c := range []struct {
			name  string
			curve func(float64) float64
		}{{"smooth fall", smoothFall}, {"improves first", improvesFirst}} {
			out = append(out,
				windowWorld{group, c.name + ", eight ages", c.curve, eightAges, 0.1, three},
				windowWorld{group, c.name + ", eight ages, whole points", c.curve, eightAges, 1, three},
				windowWorld{group, c.name + ", four ages", c.curve, fourAges, 0.1, three})
			if !three {
				out = append(out, windowWorld{group, c.name + ", four ages, straight between them", joinedAt(c.curve, fourAges), fourAges, 0.1, three})
			}
		}
		if !three {
			out = append(out, windowWorld{group, "quick fall, eight ages", quickFall, eightAges, 0.1, three},
				windowWorld{group, "quick fall, four ages", quickFall, fourAges, 0.1, three})
		}
	}
	return out
}

// windowCell is a world with a number of tasters.
type windowCell struct {
	windowWorld
	tasters int
}

// stream numbers a cell by its name, so that a new world leaves the draws of the others alone.
func (c windowCell) stream(seed uint64) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d|%s|%s|%d", seed, c.group, c.name, c.tasters)
	return h.Sum64()
}

// draw invents one panel and tells from when to when it is truly at its best, on these evenings.
func (c windowCell) draw(rng *rand.Rand) (p *panel.Panel, from, to float64) {
	normal := func(sd float64) float64 { return sd * rng.NormFloat64() }
	p = &panel.Panel{Attributes: []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Limit: 4}},
		Settings: panel.Settings{Overall: "liking", PrimeLimit: windowLimit, RejectLimit: 4, HasLimits: true, Unclear: "either_side"}}
	offsets, slopes := make([]float64, c.tasters), make([]float64, c.tasters)
	for i := range c.tasters {
		offsets[i], slopes[i] = normal(windowOffset), normal(windowSlope)
	}
	evenings := 1
	if c.three {
		evenings = 3
	}
	shifts := make([]float64, evenings)
	for e := range evenings {
		night := "evening " + strconv.Itoa(e)
		p.Sessions = append(p.Sessions, panel.Session{Name: night})
		var faults [2]float64
		if c.three {
			shifts[e], faults = normal(windowEvening), [2]float64{normal(windowBatch), normal(windowBatch)}
		}
		for i := range c.tasters {
			name, half := strconv.Itoa(i), (i+e)%2
			pour := panel.Pour{Session: night, ID: name, Taster: name, Style: "sour"}
			if c.three {
				pour.Batch = strconv.Itoa(half)
			}
			p.Pours = append(p.Pours, pour)
			for _, a := range c.ages {
				v := c.curve(a) + offsets[i] + slopes[i]*a + shifts[e] + faults[half] + normal(windowRest)
				v = math.Round(min(max(v, 0), 10)/c.step) * c.step
				p.Tastes = append(p.Tastes, panel.Taste{Session: night, Taster: name, Pour: len(p.Pours) - 1, Mode: panel.SipThrough,
					Age: panel.Age(a), Planned: panel.Age(a), HasPlanned: true, Scores: []panel.Score{{Value: v, Given: true}}})
			}
		}
	}
	from, to = c.truth(shifts)
	return p, from, to
}

// expected is the expected score as it is written down: within the ends of the scale and in its steps, over tasters, batches
// and repeats, on evenings with these shifts.
func (c windowCell) expected(age float64, shifts []float64) float64 {
	variance := windowOffset*windowOffset + windowSlope*windowSlope*age*age + windowRest*windowRest
	if c.three {
		variance += windowBatch * windowBatch
	}
	sum := 0.0
	for _, shift := range shifts {
		mean := c.curve(age) + shift
		for at := c.step / 2; at < 10; at += c.step { // a step is reached from its middle on
			sum += c.step * 0.5 * math.Erfc((at-mean)/math.Sqrt(2*variance))
		}
	}
	return sum / float64(len(shifts))
}

// truth is the run of ages at or above the limit that holds the maximum; it ends past the last age as +Inf, and is NaN where
// the limit is never reached.
func (c windowCell) truth(shifts []float64) (from, to float64) {
	best, top := 0.0, math.Inf(-1)
	for a := 0.0; a <= windowLast; a += 0.25 {
		if v := c.expected(a, shifts); v > top {
			best, top = a, v
		}
	}
	if top < windowLimit {
		return math.NaN(), math.NaN()
	}
	cross := func(in, out float64) float64 {
		for range 30 {
			if mid := (in + out) / 2; c.expected(mid, shifts) >= windowLimit {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	from, to = 0, math.Inf(1)
	for a := best; a >= 0; a -= 0.25 {
		if c.expected(a, shifts) < windowLimit {
			from = cross(a+0.25, a)
			break
		}
	}
	for a := best; a <= windowLast; a += 0.25 {
		if c.expected(a, shifts) < windowLimit {
			to = cross(a-0.25, a)
			break
		}
	}
	return from, to
}
