package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"gonum.org/v1/gonum/integrate/quad"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// Table is a side by side part of an evening: pours made at staggered times, so that several ages stand on the table at
// once under blind codes. A pour serves several tasters, half of them at a time, so that each age is made more than once.
type Table struct {
	Style  Style
	Ages   []float64 // planned ages in minutes, rising; dealt to the flights in turn
	Flight int       // flights; 0 means 2
	Groups int       // groups of tasters, each with own pours (batches); 0 means 2

	Pairs    [][2]float64 // forced choices after the flights: older and younger age in minutes; one trial each
	Test     string       // of the pairs: "paired" or "triangle"; "" means "paired"
	ChoiceSD float64      // sd of one percept in a choice, points of 0 to 10, times Taster.Noise; 0 means 1
}

// Pace of the service: minutes between two cups of a flight, and to clear the table.
const (
	cupEvery  = time.Minute
	clearing  = 10 * time.Minute
	trialPace = 4 * time.Minute
)

func (e *Evening) resolveTables() []error {
	var bad []error
	e.Tables = slices.Clone(e.Tables)
	fault := func(row int, column string, v, want string, err error) {
		bad = append(bad, &dataerr.Cell{Row: row + 1, Column: column, Value: v, Err: err, Want: want})
	}
	for i := range e.Tables {
		t := &e.Tables[i]
		t.Ages, t.Pairs = slices.Clone(t.Ages), slices.Clone(t.Pairs)
		t.Flight, t.Groups = countOr(t.Flight, 2), countOr(t.Groups, 2)
		t.Test, t.ChoiceSD = textOr(t.Test, "paired"), orDefault(t.ChoiceSD, 1)
		last := math.Inf(-1)
		for _, a := range t.Ages {
			if !(a >= 0 && a <= 180) || !(a-last >= 0.5) {
				fault(i, "Tables Ages", ftoa(a), "give rising minutes from 0 to 180, at least half a minute apart", dataerr.ErrOrder)
			}
			last = a
		}
		if len(t.Ages) == 0 || t.Flight < 1 || t.Flight > len(t.Ages) {
			fault(i, "Tables Flight", strconv.Itoa(t.Flight), "give at least one flight, and an age for each", dataerr.ErrRange)
		}
		if t.Groups < 1 || t.Groups > 100 {
			fault(i, "Tables Groups", strconv.Itoa(t.Groups), "give 1 to 100 groups", dataerr.ErrRange)
		}
		for _, p := range t.Pairs {
			if !(p[1] >= 0 && p[0] > p[1] && p[0] <= 180) {
				fault(i, "Tables Pairs", fmt.Sprint(p), "give the older age, then the younger, from 0 to 180 minutes", dataerr.ErrOrder)
			}
		}
		if t.Test != "paired" && t.Test != "triangle" {
			fault(i, "Tables Test", t.Test, "give paired or triangle", dataerr.ErrUnknown)
		}
		if !(t.ChoiceSD > 0 && t.ChoiceSD <= 100) {
			fault(i, "Tables ChoiceSD", ftoa(t.ChoiceSD), "give points above 0", dataerr.ErrRange)
		}
	}
	if len(e.Tables) > 0 && (e.SipML != 6 || e.CupML != 12) {
		fault(0, "CupML", ftoa(e.CupML), "leave sips at 6 and cups at 12 mL: a session's file knows one size, or these defaults", dataerr.ErrConflict)
	}
	return bad
}

// cup is one pour of one age for one group.
type cup struct {
	pour int
	age  time.Duration // planned
	pace float64
}

// lay sets one table from a time of evening on and tells when it is cleared.
func (s *Session) lay(sd seed, ti int, at time.Duration) time.Duration {
	e := &s.spec
	t, si := &e.Tables[ti], e.sipped()+ti
	codes := s.codes(sd.child(kindTable, ti, 0, 1))
	oldest := slices.Max(t.Ages)
	for _, p := range t.Pairs {
		oldest = max(oldest, p[0])
	}
	at += panel.Age(math.Ceil(oldest)) // the oldest pour of the first flight must have been made
	made := 0
	pour := func(age float64, group int) cup {
		f := making{id: fmt.Sprintf("%s%d", string(rune('S'+ti)), made+1), style: si, made: at + time.Duration(group)*cupEvery - onGrid(age)}
		f.pace = math.Exp(e.BatchSD * sd.child(kindBatch, made, si, 1).NormFloat64())
		s.Truth.addBatch(t.Style.Name, f)
		s.Pours = append(s.Pours, Pour{ID: codes[made], Style: si, Batch: f.id, Made: f.made})
		made++
		return cup{len(s.Pours) - 1, onGrid(age), f.pace}
	}
	for fl := range t.Flight {
		cups := make([][]cup, t.Groups)
		for k := fl; k < len(t.Ages); k += t.Flight {
			for g := range t.Groups {
				cups[g] = append(cups[g], pour(t.Ages[k], g))
			}
		}
		for who := range e.People {
			s.flight(sd.child(kindTable, who, ti+1, fl), sd, ti, who, cups[who%t.Groups], fl)
		}
		at += time.Duration(len(cups[0])+t.Groups)*cupEvery + clearing
	}
	for k, p := range t.Pairs {
		s.Truth.addChoice(e, si, k, p)
		for g := range t.Groups {
			older, younger := pour(p[0], g), pour(p[1], g)
			for who := g; who < len(e.People); who += t.Groups {
				s.choose(sd.child(kindChoice, who, ti, k), sd, ti, who, k, older, younger, at+time.Duration(g)*cupEvery)
			}
		}
		at += trialPace
	}
	return at + clearing
}

// codes draws three-digit blind codes, no two alike within the evening.
func (s *Session) codes(rng *rand.Rand) []string {
	var out []string
	for _, c := range rng.Perm(900) {
		code := strconv.Itoa(100 + c)
		if !slices.ContainsFunc(s.Pours, func(p Pour) bool { return p.ID == code }) {
			out = append(out, code)
		}
	}
	return out
}

// flight lets one taster taste one flight in an order of their own.
func (s *Session) flight(rng *rand.Rand, sd seed, ti, who int, cups []cup, fl int) {
	e := &s.spec
	si, person := e.sipped()+ti, e.People[who]
	for position, k := range rng.Perm(len(cups)) {
		c := cups[k]
		own := e.own(sd, who, si, c.pace)
		late := time.Duration(position)*cupEvery + onGrid(min(max(e.Jitter*rng.NormFloat64(), -.3), .3))
		t := Taste{Pour: c.pour, Taster: person.Name, Mode: panel.SideBySide, Age: max(c.age+late, 0), Planned: c.age,
			Flight: strconv.Itoa(fl + 1), Position: position + 1}
		law := replyLaw{own.age / own.fault, e.ReplySD * orDefault(person.Reply, 1), e.Slips}
		no := rng.Float64() < law.reject(panel.Minutes(t.Age))
		s.Truth.addLimit(e, si, person.Name, s.Pours[c.pour], own)
		s.record(rng, t, person, e.Styles[si], own, no)
	}
}

// Choice is one forced choice.
type Choice struct {
	Taster         string
	Trial          int // from 1
	Test           string
	Older, Younger int // indices into Session.Pours
	AgeO, AgeY     time.Duration
	Right          bool
	At             time.Duration // since midnight before the evening
}

// choose lets one taster tell an older pour from a younger one: by percepts, each the latent quality of that pour at that age
// with normal noise (Thurstone 1927). Paired: which is the older? Triangle: which of three, two of them alike, is the odd one?
func (s *Session) choose(rng *rand.Rand, sd seed, ti, who, k int, older, younger cup, at time.Duration) {
	e := &s.spec
	t, si, person := &e.Tables[ti], e.sipped()+ti, e.People[who]
	c := Choice{Taster: person.Name, Trial: k + 1, Test: t.Test, Older: older.pour, Younger: younger.pour, At: at,
		AgeO: at - s.Pours[older.pour].Made, AgeY: at - s.Pours[younger.pour].Made}
	latent := func(p cup, age time.Duration) float64 {
		own := e.own(sd, who, si, p.pace)
		return e.Styles[si].Quality(panel.Minutes(age)*own.fault*own.sense, e.RoomC)
	}
	o, y := latent(older, c.AgeO), latent(younger, c.AgeY)
	slip, guess := rng.Float64() < 2*e.Slips, rng.Float64()
	c.Right = t.answer(rng, o, y, t.ChoiceSD*orDefault(person.Noise, 1))
	if slip {
		c.Right = guess < guessing[t.Test]
	}
	s.Choices = append(s.Choices, c)
}

// guessing is the chance of a right answer without any difference.
var guessing = map[string]float64{"paired": 1. / 2, "triangle": 1. / 3}

// answer draws the percepts of one trial and decides by them.
func (t *Table) answer(rng *rand.Rand, older, younger, sd float64) (right bool) {
	percept := func(q float64) float64 { return q + sd*rng.NormFloat64() }
	if t.Test == "paired" {
		return percept(older) < percept(younger)
	}
	odd, alike := older, younger
	if rng.IntN(2) == 0 {
		odd, alike = younger, older
	}
	x, a, b := percept(odd), percept(alike), percept(alike)
	return math.Abs(a-b) < min(math.Abs(x-a), math.Abs(x-b)) // the two that lie closest are taken as alike
}

// addChoice says what there was to notice.
func (t *Truth) addChoice(e *Evening, si, k int, pair [2]float64) {
	s, table := e.Styles[si], &e.Tables[si-e.sipped()]
	d := (s.Quality(pair[1], e.RoomC) - s.Quality(pair[0], e.RoomC)) / table.ChoiceSD
	right := ChanceRight(table.Test, d)
	t.Choices = append(t.Choices, ChoiceTruth{s.Name, strconv.Itoa(k + 1), table.Test, pair[0], pair[1], d,
		(1-2*e.Slips)*right + 2*e.Slips*guessing[table.Test]})
}

// ChanceRight is the chance of a right answer where the two lie d standard deviations of a percept apart, for "paired" (2-AFC,
// Phi(d/sqrt 2)) and "triangle": 2 int_0^inf [Phi(-x sqrt 3 + d sqrt(2/3)) + Phi(-x sqrt 3 - d sqrt(2/3))] phi(x) dx. NaN for
// other tests. Source: Ennis (1993), J. Sens. Stud. 8, 353.
func ChanceRight(test string, d float64) float64 {
	switch test {
	case "paired":
		return normalCDF(d / math.Sqrt2)
	case "triangle":
		root, shift := math.Sqrt(3), d*math.Sqrt(2./3)
		return 2 * quad.Fixed(func(x float64) float64 {
			return (normalCDF(-x*root+shift) + normalCDF(-x*root-shift)) * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
		}, 0, 9, 200, nil, 0)
	}
	return math.NaN()
}
