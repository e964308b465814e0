package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Habit is a way of tasting that several people share; a taster differs from the habit by chance.
type Habit struct {
	Name     string
	Offset   float64 // points added to every score
	Stretch  float64 // factor about the middle of the scale; 0 means 1
	Noise    float64 // factor on the evening's score noise; 0 means 1
	Reply    float64 // factor on the evening's reply noise; 0 means 1
	RepeatNo float64 // chance that a "no" is given again because it was given before
}

// Habits is a mix of five: steady, generous, harsh, noisy, cautious. Invented, no source.
func Habits() []Habit {
	return []Habit{
		{Name: "steady", Noise: 0.6, Reply: 0.5},
		{Name: "generous", Offset: 0.8},
		{Name: "harsh", Offset: -0.8},
		{Name: "noisy", Noise: 1.8, Reply: 2},
		{Name: "cautious", Stretch: 0.65, RepeatNo: 0.6},
	}
}

// Taster is one invented person. The zero value is an average taster without a name.
type Taster struct {
	Name     string
	Habit    string
	Offset   float64 // points of 0 to 10
	Stretch  float64 // factor about 5 points; 0 means 1
	Noise    float64 // factor on the evening's score noise; 0 means 1
	Reply    float64 // factor on the evening's reply noise; 0 means 1
	RepeatNo float64 // 0 to 1
	Patience float64 // standard normal: how late the limit is, of every style
}

// names are plain first names; those beyond are T13, T14 ...
var names = []string{"Ada", "Bruno", "Carla", "Dmitri", "Elsa", "Farid", "Greta", "Hugo", "Ingrid", "Jonas", "Keiko", "Luis"}

// spread of tasters about their habit: points, and log of the stretch.
const (
	offsetSD  = 0.35
	stretchSD = 0.08
)

// Recruit invents n tasters; habits are dealt in turn (nil means Habits). The first n of a larger panel from the same seed
// are the same people.
func Recruit(rng *rand.Rand, n int, habits []Habit) []Taster {
	if len(habits) == 0 {
		habits = Habits()
	}
	seed := newSeed(rng)
	people := make([]Taster, n)
	for i := range people {
		h, child := habits[i%len(habits)], seed.child(kindTaster, i, 0, 0)
		name := fmt.Sprintf("T%d", i+1)
		if i < len(names) {
			name = names[i]
		}
		people[i] = Taster{
			Name: name, Habit: h.Name, RepeatNo: h.RepeatNo,
			Patience: child.NormFloat64(),
			Offset:   h.Offset + offsetSD*child.NormFloat64(),
			Stretch:  orDefault(h.Stretch, 1) * math.Exp(stretchSD*child.NormFloat64()),
			Noise:    orDefault(h.Noise, 1),
			Reply:    orDefault(h.Reply, 1),
		}
	}
	return people
}

// seed makes child streams that do not depend on how many others there are.
type seed struct{ a, b uint64 }

// kinds of child stream.
const (
	kindTaster = iota + 1
	kindGlass
	kindBatch
	kindStyle
	kindTable
	kindChoice
	kindProbe
	kindGuest
)

func newSeed(rng *rand.Rand) seed { return seed{rng.Uint64(), rng.Uint64()} }

func (s seed) child(kind, i, j, k int) *rand.Rand {
	id := uint64(kind)<<60 | uint64(i)<<32 | uint64(j)<<16 | uint64(k)
	return rand.New(rand.NewPCG(s.a, s.b^id))
}

// replyLaw is the chance of rejecting at an age, both in minutes.
type replyLaw struct {
	limit float64 // own limit on this glass, minutes, > 0
	tau   float64 // reply noise, log-sd; 0: none
	slips float64 // 0 to 0.5
}

// reject gives P(reject at age) = s + (1-2s) Phi((log age - log limit)/tau).
func (l replyLaw) reject(age float64) float64 {
	var p float64
	switch {
	case age <= 0:
		p = 0
	case l.tau > 0:
		p = normalCDF(math.Log(age/l.limit) / l.tau)
	case age >= l.limit:
		p = 1
	}
	return l.slips + (1-2*l.slips)*p
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func orDefault(v, standard float64) float64 {
	if v == 0 {
		return standard
	}
	return v
}
