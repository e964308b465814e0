package panel

import (
	"slices"
	"strconv"
	"time"

	"lastsip/analysis/dataerr"
)

// Tests are the kinds of a Choice: forced choices, answered right or wrong, and the preference, answered a, b or tie.
// The names are the common ones of sensory difference testing.
var Tests = []string{"paired", "3-afc", "triangle", "duo-trio", "tetrad", "preference"}

// Preference is the test of Choice that asks which is liked better.
const Preference = "preference"

// Answers lists the answers that a test can have; nil for a test that is not known.
func Answers(test string) []string {
	switch {
	case test == Preference:
		return []string{"a", "b", "tie"}
	case slices.Contains(Tests, test):
		return []string{"right", "wrong"}
	}
	return nil
}

// beside checks what stands beside the tastes: readings with a quantity and a finite value; choices between two different
// glasses, of a known test with an answer of that test, pour A of a forced choice not the younger; places from 1, one per
// taster, trial and pour; paces with a style and minutes above 0, a reason only where the glass was not finished.
func (v *validator) beside() {
	for i := range v.p.Readings {
		x := &v.p.Readings[i]
		v.glass(x.Origin, i, "pour", x.Pour, x.Session, "")
		v.age(x.Origin, i, x.Age)
		if x.Quantity == "" {
			v.fault(x.Origin, i, "quantity", "", dataerr.ErrMissing, "every reading names its quantity")
		}
		if !finite(x.Value) {
			v.fault(x.Origin, i, "value", ftoa(x.Value), dataerr.ErrNumber, "a reading is finite")
		}
	}
	for i := range v.p.Choices {
		v.choice(i)
	}
	v.places()
	for i := range v.p.Paces {
		v.pace(i)
	}
}

// glass checks an index of a pour; taster is empty where anyone's glass will do.
func (v *validator) glass(o Origin, i int, column string, pour int, session, taster string) {
	if pour < 0 || pour >= len(v.p.Pours) {
		v.fault(o, i, column, strconv.Itoa(pour), dataerr.ErrUnknown, "the index of a pour of the panel")
		return
	}
	g := &v.p.Pours[pour]
	if g.Session != session || taster != "" && g.Taster != "" && g.Taster != taster {
		v.fault(o, i, column, g.ID, dataerr.ErrConflict, "a row and its pour belong to the same session and taster")
	}
}

func (v *validator) age(o Origin, i int, age time.Duration) {
	if age < 0 {
		v.fault(o, i, "age_min", ftoa(Minutes(age)), dataerr.ErrRange, "an age is 0 or more")
	}
}

func (v *validator) whoAndTrial(o Origin, i int, taster, trial string) {
	if taster == "" {
		v.fault(o, i, "taster", "", dataerr.ErrMissing, "every row has a taster")
	}
	if trial == "" {
		v.fault(o, i, "trial", "", dataerr.ErrMissing, "every row has a trial")
	}
}

func (v *validator) choice(i int) {
	x := &v.p.Choices[i]
	v.whoAndTrial(x.Origin, i, x.Taster, x.Trial)
	v.glass(x.Origin, i, "pour_a", x.PourA, x.Session, x.Taster)
	v.glass(x.Origin, i, "pour_b", x.PourB, x.Session, x.Taster)
	v.age(x.Origin, i, x.AgeA)
	v.age(x.Origin, i, x.AgeB)
	if x.PourA == x.PourB {
		v.fault(x.Origin, i, "pour_b", strconv.Itoa(x.PourB), dataerr.ErrConflict, "a choice is between two glasses")
	}
	answers := Answers(x.Test)
	if answers == nil {
		v.fault(x.Origin, i, "test", x.Test, dataerr.ErrUnknown, "a test of this package")
	} else if !slices.Contains(answers, x.Answer) {
		v.fault(x.Origin, i, "answer", x.Answer, dataerr.ErrUnknown, "an answer of the test")
	}
	if x.Test != Preference && x.AgeA < x.AgeB {
		v.fault(x.Origin, i, "pour_a", ftoa(Minutes(x.AgeA)), dataerr.ErrOrder, "pour_a of a forced choice is the older")
	}
}

func (v *validator) places() {
	type key struct {
		session, taster, trial string
		pour                   int
	}
	seen := map[key]bool{}
	for i := range v.p.Places {
		x := &v.p.Places[i]
		v.whoAndTrial(x.Origin, i, x.Taster, x.Trial)
		v.glass(x.Origin, i, "pour", x.Pour, x.Session, x.Taster)
		if x.HasAge {
			v.age(x.Origin, i, x.Age)
		}
		if !(x.Rank >= 1) || !finite(x.Rank) {
			v.fault(x.Origin, i, "rank", ftoa(x.Rank), dataerr.ErrRange, "places count from 1")
		}
		k := key{x.Session, x.Taster, x.Trial, x.Pour}
		if seen[k] {
			v.fault(x.Origin, i, "pour", strconv.Itoa(x.Pour), dataerr.ErrDuplicate, "a pour has one place in a ranking")
		}
		seen[k] = true
	}
}

func (v *validator) pace(i int) {
	x := &v.p.Paces[i]
	if x.Style == "" {
		v.fault(x.Origin, i, "style", "", dataerr.ErrMissing, "every pace has a style")
	}
	if !v.sessionN[x.Session] {
		v.fault(x.Origin, i, "session", x.Session, dataerr.ErrUnknown, "every pace belongs to a session of the panel")
	}
	if !(x.Minutes > 0) || !finite(x.Minutes) {
		v.fault(x.Origin, i, "minutes", ftoa(x.Minutes), dataerr.ErrRange, "minutes are above 0")
	}
	if x.Why > WhyLeft || x.Finished && x.Why != WhyNotSaid {
		v.fault(x.Origin, i, "why", "", dataerr.ErrConflict, "only an unfinished glass has a reason")
	}
	if !(x.VolumeML >= 0) || !finite(x.VolumeML) {
		v.fault(x.Origin, i, "volume_ml", ftoa(x.VolumeML), dataerr.ErrRange, "a volume is positive; 0 means unknown")
	}
	if x.HasFirstSip {
		v.age(x.Origin, i, x.FirstSip)
	}
}
