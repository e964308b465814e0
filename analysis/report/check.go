package report

import (
	"fmt"
	"strings"

	"lastsip/analysis/answer"
)

// Check tells what a study holds, for a terminal: sessions, drinks, ages, gaps, notes and findings.
func Check(d *answer.Data, k Ink) string {
	var b strings.Builder
	b.WriteString(Text(d))
	for _, s := range d.Sessions {
		name := s.Name
		if s.Title != "" {
			name += ": " + s.Title
		}
		if s.Date != "" {
			name += ", " + s.Date
		}
		b.WriteString("\n" + k.Heading(name))
		b.WriteString(Wrap("tasters: "+plain(strings.Join(s.Tasters, "; ")), "  ", columns))
		for _, x := range s.Drinks {
			b.WriteString(drinkLines(x))
		}
		var beside []string
		for _, f := range s.Beside {
			beside = append(beside, f.Value+" "+f.Name)
		}
		if len(beside) > 0 {
			b.WriteString(Wrap("besides: "+strings.Join(beside, ", "), "  ", columns))
		}
	}
	section := func(title string, lines []string) {
		if len(lines) == 0 {
			return
		}
		b.WriteString("\n" + k.Heading(title))
		for _, l := range lines {
			b.WriteString(Wrap("- "+plain(l), "  ", columns))
		}
	}
	var defaults, own []string
	for _, s := range d.Settings {
		line := s.Name + " = " + s.Value
		if s.Default {
			defaults = append(defaults, line)
		} else {
			own = append(own, line)
		}
	}
	section("From the descriptor", own)
	section("Defaults taken", defaults)
	section("Notes", d.Notes)
	section("Findings", d.Findings)
	if len(d.Findings) == 0 {
		b.WriteString("\nNo findings.\n")
	}
	return b.String()
}

func drinkLines(x answer.DrinkFacts) string {
	name := plain(x.Style)
	if x.Serve != "" {
		name += ", " + plain(x.Serve)
	}
	batches := "batches not known"
	if x.Batches > 0 {
		batches = answer.Count(x.Batches, "batch")
	}
	var steps []string
	for _, s := range x.Steps {
		steps = append(steps, fmt.Sprintf("%s (%d)", minutes(s.AgeMin), s.Tastes))
	}
	var b strings.Builder
	b.WriteString(Wrap(fmt.Sprintf("%s: %s; %s, %s, %s, %s", name, mode(x.Mode), answer.Count(x.Tasters, "taster"), answer.Count(x.Pours, "glass"), batches, answer.Count(x.Tastes, "taste")), "  ", columns))
	b.WriteString(Wrap("  age steps in min (tastes): "+strings.Join(steps, ", "), "  ", columns))
	for _, g := range x.Gaps {
		b.WriteString(Wrap("  gap: "+plain(g), "    ", columns))
	}
	return b.String()
}
