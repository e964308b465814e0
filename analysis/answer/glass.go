package answer

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// NewGlass says what is in the glass: what is known of the style, and how this drink was served and tasted.
func NewGlass(in Input, d endpoint.Drink) (*Glass, error) {
	out := &Glass{Head: in.head("glass", d)}
	out.Method, out.Source = "Facts as the session folders state them.", "the session folders"
	if in.Text != nil {
		if text, ok := in.Text(d.Style); ok {
			for _, p := range strings.Split(strings.TrimSpace(text), "\n\n") {
				out.Text = append(out.Text, strings.TrimSpace(p))
			}
		}
	}
	rows := in.tastesOf(d)
	c := out.Counts
	fact := func(name, value string) { out.Facts = append(out.Facts, Fact{name, value}) }
	if d.Serve != "" {
		fact("serve", d.Serve)
	}
	if v := in.volumes(rows); v != "" {
		fact("in the glass", v)
	}
	fact("tasted", fmt.Sprintf("%s, %s, %s", Count(c.Tasters, "taster"), Count(c.Pours, "glass"), Count(len(rows), "taste")))
	if c.Batches > 0 {
		fact("made in", fmt.Sprintf("%d batches", c.Batches))
	} else {
		fact("made in", "batches not known")
	}
	var modes []string
	for _, m := range endpoint.Modes(in.Panel, d) {
		modes = append(modes, lowerFirst(modeWords(m.String())))
	}
	fact("how", strings.Join(modes, "; "))
	for _, s := range in.Panel.Sessions {
		if !slices.ContainsFunc(rows, func(t panel.Taste) bool { return t.Session == s.Name }) {
			continue
		}
		words := s.Name
		if s.Title != "" {
			words = s.Title
		}
		if s.Date != "" {
			words += ", " + s.Date
		}
		if s.HasRoomC {
			words += fmt.Sprintf(", room at %s%s°C", strconv.FormatFloat(s.RoomC, 'g', 3, 64), nbsp)
		}
		fact("evening", words)
	}
	if a := in.Panel.Settings.Allergens; len(a) > 0 {
		fact("allergens named", strings.Join(a, ", "))
	}
	first := fmt.Sprintf("%s: %s over %s.", out.Title, Count(c.Tasters, "taster"), Count(len(rows), "taste"))
	out.Sentences = []string{upperFirst(first)}
	if len(out.Text) == 0 {
		out.Sentences = append(out.Sentences, fmt.Sprintf("Nothing is noted about %s beforehand; the replies speak for themselves.", d.Style))
	}
	return out, nil
}

// volumes is the stated volume, or its range; empty when no pour states one.
func (in Input) volumes(rows []panel.Taste) string {
	lo, hi := 0.0, 0.0
	for _, t := range rows {
		v := in.Panel.Pours[t.Pour].VolumeML
		if v <= 0 {
			continue
		}
		if lo == 0 || v < lo {
			lo = v
		}
		hi = max(hi, v)
	}
	switch {
	case lo == 0:
		return ""
	case lo == hi:
		return fmt.Sprintf("%s%smL", points(lo), nbsp)
	}
	return fmt.Sprintf("%s to %s%smL", points(lo), points(hi), nbsp)
}
