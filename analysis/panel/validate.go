package panel

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"

	"lastsip/analysis/dataerr"
)

// Validate tells everything that keeps a panel from being analysed; nil when it can be. Whoever builds a panel (a reader,
// a simulator) guarantees: every session and attribute named once; every pour with style and a known session, once per
// (session, taster, pour); every taste with a taster, a mode, a pour of its own session (and own glass, where the pour
// names its taster), an age of 0 or more, one score per attribute, finite and on the scale; no two tastes of one taster,
// pour and age; limits finite; readings, choices, places and paces as validate_beside.go says. Faults are joined *dataerr.Cell, at the Origin where there is one, else at the 1-based
// observation.
func (p *Panel) Validate() error {
	v := validator{p: p}
	v.sessions()
	v.attributes()
	v.pours()
	seen := make(map[tasteKey]int, len(p.Tastes))
	for i := range p.Tastes {
		v.taste(i, seen)
	}
	v.beside()
	return errors.Join(v.faults...)
}

type tasteKey struct {
	taster string
	pour   int
	age    time.Duration
}

type validator struct {
	p        *Panel
	sessionN map[string]bool
	faults   []error
}

func (v *validator) fault(o Origin, i int, column, value string, err error, want string) {
	row := o.Line
	if o.File == "" {
		row = i + 1
	}
	v.faults = append(v.faults, &dataerr.Cell{File: o.File, Row: row, Column: column, Value: value, Err: err, Want: want})
}

func (v *validator) sessions() {
	v.sessionN = map[string]bool{}
	for i, s := range v.p.Sessions {
		switch {
		case s.Name == "":
			v.fault(Origin{}, i, "session", "", dataerr.ErrMissing, "every session has a name")
		case v.sessionN[s.Name]:
			v.fault(Origin{}, i, "session", s.Name, dataerr.ErrDuplicate, "every session has a name of its own")
		}
		v.sessionN[s.Name] = true
	}
}

func (v *validator) attributes() {
	seen := map[string]bool{}
	for i, a := range v.p.Attributes {
		if a.Name == "" || seen[a.Name] {
			v.fault(Origin{}, i, "attribute", a.Name, dataerr.ErrDuplicate, "every attribute has a name of its own")
		}
		seen[a.Name] = true
		if !a.Ranged {
			continue
		}
		if !(a.Low < a.High) || !finite(a.Low) || !finite(a.High) {
			v.fault(Origin{}, i, a.Name, fmt.Sprintf("%g to %g", a.Low, a.High), dataerr.ErrOrder, "the low end of a scale lies below its high end")
		}
		if !finite(a.Limit) || !finite(a.Best) {
			v.fault(Origin{}, i, a.Name, "", dataerr.ErrRange, "limit and best are finite")
		}
	}
	s := &v.p.Settings
	if s.Overall != "" && !seen[s.Overall] {
		v.fault(Origin{}, -1, "overall", s.Overall, dataerr.ErrUnknown, "name one of the attributes")
	}
	if s.HasLimits && !(finite(s.PrimeLimit) && finite(s.RejectLimit)) {
		v.fault(Origin{}, -1, "limits", "", dataerr.ErrRange, "prime and reject limits are finite")
	}
}

func (v *validator) pours() {
	type key struct{ session, taster, id string }
	seen := make(map[key]bool, len(v.p.Pours))
	for i := range v.p.Pours {
		g := &v.p.Pours[i]
		if g.ID == "" {
			v.fault(g.Origin, i, "pour", "", dataerr.ErrMissing, "every pour has a name")
		}
		if g.Style == "" {
			v.fault(g.Origin, i, "style", "", dataerr.ErrMissing, "every pour has a style")
		}
		if !v.sessionN[g.Session] {
			v.fault(g.Origin, i, "session", g.Session, dataerr.ErrUnknown, "every pour belongs to a session of the panel")
		}
		if !(g.VolumeML >= 0) || !finite(g.VolumeML) {
			v.fault(g.Origin, i, "volume_ml", ftoa(g.VolumeML), dataerr.ErrRange, "a volume is positive; 0 means unknown")
		}
		k := key{g.Session, g.Taster, g.ID}
		if seen[k] {
			v.fault(g.Origin, i, "pour", g.ID, dataerr.ErrDuplicate, "a glass stands once")
		}
		seen[k] = true
	}
}

func (v *validator) taste(i int, seen map[tasteKey]int) {
	t := &v.p.Tastes[i]
	if t.Taster == "" {
		v.fault(t.Origin, i, "taster", "", dataerr.ErrMissing, "every taste has a taster")
	}
	if t.Mode != SipThrough && t.Mode != SideBySide {
		v.fault(t.Origin, i, "mode", strconv.Itoa(int(t.Mode)), dataerr.ErrUnknown, "sip_through or side_by_side")
	}
	if t.Age < 0 {
		v.fault(t.Origin, i, "age_min", ftoa(Minutes(t.Age)), dataerr.ErrRange, "an age is 0 or more")
	}
	if t.Verdict > Reject || t.Why > WhyLeft || t.AgeFrom > AgePlanned {
		v.fault(t.Origin, i, "verdict", "", dataerr.ErrUnknown, "verdict, why and age source are ones of this package")
	}
	if t.Pour < 0 || t.Pour >= len(v.p.Pours) {
		v.fault(t.Origin, i, "pour", strconv.Itoa(t.Pour), dataerr.ErrUnknown, "the index of a pour of the panel")
		return
	}
	g := &v.p.Pours[t.Pour]
	if g.Session != t.Session || g.Taster != "" && g.Taster != t.Taster {
		v.fault(t.Origin, i, "pour", g.ID, dataerr.ErrConflict, "a taste and its pour belong to the same session and taster")
	}
	k := tasteKey{t.Taster, t.Pour, t.Age}
	if j, twice := seen[k]; twice {
		v.fault(t.Origin, i, "age_min", ftoa(Minutes(t.Age)), dataerr.ErrDuplicate,
			fmt.Sprintf("observation %d has the same taster, pour and age", j+1))
	} else {
		seen[k] = i
	}
	v.scores(t, i)
}

func (v *validator) scores(t *Taste, i int) {
	if len(t.Scores) != len(v.p.Attributes) {
		v.fault(t.Origin, i, "scores", strconv.Itoa(len(t.Scores)), dataerr.ErrRange,
			fmt.Sprintf("one score per attribute: %d", len(v.p.Attributes)))
		return
	}
	for k, s := range t.Scores {
		a := &v.p.Attributes[k]
		switch {
		case !s.Given:
		case !finite(s.Value):
			v.fault(t.Origin, i, a.Name, ftoa(s.Value), dataerr.ErrNumber, "a score is finite")
		case a.Ranged && !(s.Value >= a.Low && s.Value <= a.High):
			v.fault(t.Origin, i, a.Name, ftoa(s.Value), dataerr.ErrRange, fmt.Sprintf("%g to %g", a.Low, a.High))
		}
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func ftoa(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
