package panelcsv

import (
	"cmp"
	"slices"

	"lastsip/analysis/panel"
)

// build puts the panel together. It is complete and valid where there are no faults.
func (r *reader) build(rows []tasteRow) *panel.Panel {
	p := &panel.Panel{Settings: r.settings()} // before the attributes: it settles the limit of the overall one
	p.Pours, p.Tastes = make([]panel.Pour, 0, len(r.glass)), make([]panel.Taste, 0, len(rows))
	for i := range r.attr {
		p.Attributes = append(p.Attributes, r.attr[i].Attribute)
	}
	for i := range r.glass {
		g := &r.glass[i]
		g.Style, g.Serve, g.Batch = g.style.value, g.serve.value, g.batch.value
		p.Pours = append(p.Pours, g.Pour)
	}
	p.Blind = r.dropped
	known := map[string]bool{}
	session := func(name string) {
		if !known[name] {
			known[name] = true
			p.Sessions = append(p.Sessions, r.sessionFacts(name))
		}
	}
	for i := range rows {
		t := rows[i].taste
		t.Pour = rows[i].glass
		p.Tastes = append(p.Tastes, t)
		session(t.Session)
	}
	p.Readings, p.Places, p.Paces = r.readings, r.places, r.paces
	for i := range r.choices {
		p.Choices = append(p.Choices, r.choices[i].Choice)
	}
	for i := range p.Pours {
		session(p.Pours[i].Session)
	}
	for i := range p.Paces {
		session(p.Paces[i].Session)
	}
	if p.Sessions == nil { // a sheet that is not filled in yet
		session(r.session)
	}
	for k, n := range r.leftOut {
		p.LeftOut = append(p.LeftOut, panel.LeftOut{Session: k.Session, Reason: k.Reason, Rows: n})
	}
	slices.SortFunc(p.LeftOut, func(a, b panel.LeftOut) int {
		return cmp.Or(cmp.Compare(a.Session, b.Session), cmp.Compare(a.Reason, b.Reason))
	})
	return p
}

func (r *reader) sessionFacts(name string) panel.Session {
	s := panel.Session{Name: name, Dir: cmp.Or(r.name, r.session)}
	if d := r.desc; d != nil {
		s.Title, s.Date, s.Start, s.Invented = d.title, d.date, d.start, d.invented
		if d.roomC != nil {
			s.RoomC, s.HasRoomC = d.roomC.value, true
		}
	}
	return s
}
