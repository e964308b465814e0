package panel

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
)

// Merge puts the panels of several evenings together: the same taster name is the same taster, attributes are matched by
// name, pours and sessions stay apart. The inputs are not changed and share no memory with the result.
//
// It refuses, naming both sides, where the panels would not mean the same thing: two sessions of one name, an attribute
// with another scale, direction or limit, another overall attribute, other limits or rules, another standard drink. An
// evening of verdicts alone has no limits that could differ. An attribute that one panel lacks is simply not given there. Of two sip volumes the larger is kept (0, the default, gives way), of
// two wordings of a scale end the first. Faults are joined *dataerr.Cell with Err dataerr.ErrConflict; no panels at all is
// dataerr.ErrTooFew.
func Merge(panels ...*Panel) (*Panel, error) {
	if len(panels) == 0 {
		return nil, &dataerr.Cell{Err: dataerr.ErrTooFew, Want: "give at least one session"}
	}
	m := merger{out: new(Panel), home: map[string]string{}, attributes: map[string]int{}}
	m.rules(panels)
	for _, p := range panels {
		m.sessions(p)
		m.add(p)
	}
	if m.faults != nil {
		return nil, errors.Join(m.faults...)
	}
	m.out.Settings.Taken = mergeTaken(panels)
	for i := range m.out.Tastes { // attributes met only later
		for len(m.out.Tastes[i].Scores) < len(m.out.Attributes) {
			m.out.Tastes[i].Scores = append(m.out.Tastes[i].Scores, Score{})
		}
	}
	return m.out, nil
}

type merger struct {
	out        *Panel
	home       map[string]string // attribute: the session that brought it
	attributes map[string]int
	faults     []error
}

func (m *merger) fault(column, value, want string) {
	m.faults = append(m.faults, &dataerr.Cell{Column: column, Value: value, Err: dataerr.ErrConflict, Want: want})
}

func (m *merger) sessions(p *Panel) {
	for _, s := range p.Sessions {
		if i := slices.IndexFunc(m.out.Sessions, func(o Session) bool { return o.Name == s.Name }); i >= 0 {
			m.faults = append(m.faults, &dataerr.Cell{Column: "session", Value: s.Name, Err: dataerr.ErrDuplicate,
				Want: fmt.Sprintf("two evenings have this name (%s and %s): rename one folder, or open it once",
					where(m.out.Sessions[i]), where(s))})
			continue
		}
		m.out.Sessions = append(m.out.Sessions, s)
	}
}

// where names a session for a message.
func where(s Session) string {
	if s.Dir != "" {
		return s.Dir
	}
	return s.Name
}

// rules compares the settings of all panels and keeps those of the first; limits of the overall score are those of the
// first panel that has one, as an evening of verdicts alone has none to differ.
func (m *merger) rules(panels []*Panel) {
	first := panels[0]
	scored := first
	if i := slices.IndexFunc(panels, func(p *Panel) bool { return p.Settings.Overall != "" }); i >= 0 {
		scored = panels[i]
	}
	out := &m.out.Settings
	*out = first.Settings
	out.Taken, out.Allergens = nil, nil
	s := &scored.Settings
	out.Overall, out.HasLimits, out.PrimeLimit, out.RejectLimit = s.Overall, s.HasLimits, s.PrimeLimit, s.RejectLimit
	for _, p := range panels {
		if p.Settings.Overall != "" {
			m.same("overall", scored, p, s.Overall, p.Settings.Overall)
			m.same("overall scale known", scored, p, s.HasLimits, p.Settings.HasLimits)
			m.same("prime_limit", scored, p, s.PrimeLimit, p.Settings.PrimeLimit)
			m.same("reject_limit", scored, p, s.RejectLimit, p.Settings.RejectLimit)
		}
		a, b := &first.Settings, &p.Settings
		m.same("prime_drop", first, p, a.PrimeDrop, b.PrimeDrop)
		m.same("same_margin", first, p, a.SameMargin, b.SameMargin)
		m.same("improves_first", first, p, a.ImprovesFirst, b.ImprovesFirst)
		m.same("unclear", first, p, a.Unclear, b.Unclear)
		m.same("standard_drink_g", first, p, a.StandardDrinkG, b.StandardDrinkG)
		out.SipML = max(out.SipML, b.SipML)
		for _, s := range b.Allergens {
			if !slices.Contains(out.Allergens, s) {
				out.Allergens = append(out.Allergens, s)
			}
		}
	}
}

// same makes a fault of a rule that two panels do not share.
func (m *merger) same(rule string, p, q *Panel, a, b any) {
	if a != b {
		m.fault(rule, fmt.Sprint(b), fmt.Sprintf("session %s has %v, session %s has %v: give both evenings the same rule, or answer them apart",
			names(p), a, names(q), b))
	}
}

// names lists a panel's sessions.
func names(p *Panel) string {
	var out []string
	for _, s := range p.Sessions {
		out = append(out, s.Name)
	}
	return strings.Join(out, ", ")
}

// add appends the pours and tastes of p with their indices moved.
func (m *merger) add(p *Panel) {
	column := make([]int, len(p.Attributes))
	for i, a := range p.Attributes {
		j, known := m.attributes[a.Name]
		if !known {
			j = len(m.out.Attributes)
			m.attributes[a.Name], m.home[a.Name] = j, names(p)
			m.out.Attributes = append(m.out.Attributes, a)
		} else if o := m.out.Attributes[j]; !sameScale(o, a) {
			m.fault(a.Name, describe(a), fmt.Sprintf("session %s has %s, session %s has %s: scores on different scales are not put together",
				m.home[a.Name], describe(o), names(p), describe(a)))
		}
		column[i] = j
	}
	shift := len(m.out.Pours)
	m.out.Pours = append(m.out.Pours, p.Pours...)
	for _, t := range p.Tastes {
		scores := make([]Score, len(m.out.Attributes))
		for i, s := range t.Scores {
			scores[column[i]] = s
		}
		t.Scores = scores
		t.Pour += shift
		m.out.Tastes = append(m.out.Tastes, t)
	}
	m.addBeside(p, shift)
	m.out.LeftOut = append(m.out.LeftOut, p.LeftOut...)
}

// addBeside appends what stands beside the tastes, with the indices of pours moved.
func (m *merger) addBeside(p *Panel, shift int) {
	for _, x := range p.Readings {
		x.Pour += shift
		m.out.Readings = append(m.out.Readings, x)
	}
	for _, x := range p.Choices {
		x.PourA += shift
		x.PourB += shift
		m.out.Choices = append(m.out.Choices, x)
	}
	for _, x := range p.Places {
		x.Pour += shift
		m.out.Places = append(m.out.Places, x)
	}
	m.out.Paces = append(m.out.Paces, p.Paces...)
	m.out.Blind = m.out.Blind || p.Blind
}

func sameScale(a, b Attribute) bool {
	a.LowMeans, a.HighMeans, b.LowMeans, b.HighMeans = "", "", "", ""
	return a == b
}

// describe says what an attribute's scores mean.
func describe(a Attribute) string {
	kind := "line"
	if a.Category {
		kind = "category"
	}
	if !a.Ranged {
		return fmt.Sprintf("a %s scale of unknown ends", kind)
	}
	s := fmt.Sprintf("%s %g to %g, better %s, limit %g", kind, a.Low, a.High, a.Better, a.Limit)
	if a.Better == BetterMiddle {
		s += fmt.Sprintf(" from %g", a.Best)
	}
	return s
}

// mergeTaken keeps what all panels took alike once, the rest once per session.
func mergeTaken(panels []*Panel) []Taken {
	var out []Taken
	for _, p := range panels {
		for _, t := range p.Settings.Taken {
			if t.Session == "" && everyTook(panels, t) {
				if !slices.Contains(out, t) {
					out = append(out, t)
				}
				continue
			}
			for _, s := range p.Sessions {
				if t.Session == "" || t.Session == s.Name {
					own := t
					own.Session = s.Name
					out = append(out, own)
				}
			}
		}
	}
	return out
}

func everyTook(panels []*Panel, t Taken) bool {
	for _, p := range panels {
		if !slices.Contains(p.Settings.Taken, t) {
			return false
		}
	}
	return true
}
