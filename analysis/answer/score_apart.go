package answer

import (
	"fmt"

	"lastsip/analysis/panel"
)

// leans warns where a smooth curve alone ties ages together that share no evening, batch or mode: one mean per age then cannot
// be told from these at all, a curve can by what it is taken to be between them.
func (m *scoreModel) leans() string {
	s := m.data
	of := map[string]func(*scoreRow) string{
		"evening": func(r *scoreRow) string { return r.session },
		"batch":   func(r *scoreRow) string { return r.batch },
		"mode":    func(r *scoreRow) string { return r.mode },
	}
	warn := func(name string) string {
		return fmt.Sprintf("No %s joins the younger ages with the others, so that age is told from it only by how smooth the curve is taken to be. Taste some ages twice.", name)
	}
	for _, name := range m.fixed {
		if s.fallsApart(of[name]) {
			return warn(name)
		}
	}
	step := func(r *scoreRow) string { return stepLevel(r.step) }
	for _, r := range m.random { // random evenings are told from age where ages have several
		if r.Group[0] == "evening" && s.within(of["evening"], step) {
			return warn("evening")
		}
	}
	return ""
}

// fallsApart tells that the age steps are in groups no two of which share a label.
func (s *scoreRows) fallsApart(label func(*scoreRow) string) bool {
	joined := map[int]bool{s.rows[0].step: true}
	labels := map[string]bool{}
	for grown := true; grown; {
		grown = false
		for i := range s.rows {
			r := &s.rows[i]
			if joined[r.step] == labels[label(r)] {
				continue
			}
			joined[r.step], labels[label(r)], grown = true, true, true
		}
	}
	return len(joined) < len(s.steps)
}

// oneByOne tells that every taste was of another glass: side by side throughout.
func (s *scoreRows) oneByOne() bool {
	side := panel.SideBySide.String()
	for i := range s.rows {
		if s.rows[i].mode != side {
			return false
		}
	}
	return true
}
