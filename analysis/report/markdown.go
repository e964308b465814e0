package report

import (
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/answer"
)

// Escape makes text from a user's file safe inside Markdown and HTML.
func Escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\n' || r == '\r' || r == '\t':
			b.WriteByte(' ')
		case strings.ContainsRune("\\`*_{}[]<>()#+!|~&$", r):
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f || (r >= 0x202a && r <= 0x202e) || (r >= 0x2066 && r <= 0x2069):
			// control characters and direction overrides do not reach a page
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Sentences gives the answer in words, one Markdown paragraph per sentence, the first in bold, then its warnings.
func Sentences(a answer.Answer) string {
	h := a.Common()
	var b strings.Builder
	for i, s := range h.Sentences {
		if i == 0 {
			fmt.Fprintf(&b, "**%s**\n\n", Escape(s))
			continue
		}
		fmt.Fprintf(&b, "%s\n\n", Escape(s))
	}
	if g, ok := a.(*answer.Glass); ok {
		for _, p := range g.Text {
			fmt.Fprintf(&b, "%s\n\n", p) // texts of ours, in Markdown
		}
	}
	for _, w := range h.Warnings {
		fmt.Fprintf(&b, "> %s\n\n", Escape(w))
	}
	return b.String()
}

// Headline gives the answer as the head of a page: the first sentence as a level-1 heading, the next as its subtitle.
func Headline(a answer.Answer) string {
	h := a.Common()
	var b strings.Builder
	if act, ok := a.(*answer.ServeBy); ok && act.Kicker != "" {
		fmt.Fprintf(&b, "%s\n\n", Escape(act.Kicker))
	}
	if h.Invented {
		b.WriteString("Invented data: a demonstration.\n\n")
	}
	for i, s := range h.Sentences {
		if i == 0 {
			fmt.Fprintf(&b, "# %s\n\n", Escape(s))
			continue
		}
		fmt.Fprintf(&b, "%s\n\n", Escape(s))
	}
	for _, w := range h.Warnings {
		fmt.Fprintf(&b, "> %s\n\n", Escape(w))
	}
	return b.String()
}

// Section gives an answer as a part of a page: its title as a level-2 heading, then its sentences.
func Section(a answer.Answer) string {
	text := "## " + Escape(upper(a.Common().Title)) + "\n\n"
	if act, ok := a.(*answer.ServeBy); ok && act.Kicker != "" {
		text += Escape(act.Kicker) + "\n\n"
	}
	return text + Sentences(a)
}

// table writes a Markdown table, nothing when it has no rows; the columns named in right are aligned right.
func table(head []string, right string, rows [][]string) string {
	if len(rows) == 0 {
		return ""
	}
	var b strings.Builder
	line := func(cells []string) {
		b.WriteByte('|')
		for _, c := range cells {
			b.WriteByte(' ')
			b.WriteString(Escape(c))
			b.WriteString(" |")
		}
		b.WriteByte('\n')
	}
	line(head)
	b.WriteByte('|')
	for i := range head {
		if i < len(right) && right[i] == 'r' {
			b.WriteString(" ---: |")
		} else {
			b.WriteString(" --- |")
		}
	}
	b.WriteByte('\n')
	for _, r := range rows {
		line(r)
	}
	b.WriteByte('\n')
	return b.String()
}

// CannotSay lists what the panel leaves open.
func CannotSay(a *answer.Lifetime) string { return bullets(a.CannotSay) }

// NextEvening lists what to taste next.
func NextEvening(a *answer.Lifetime) string { return bullets(a.NextEvening) }

func bullets(sentences []string) string {
	var b strings.Builder
	for _, s := range sentences {
		fmt.Fprintf(&b, "- %s\n", Escape(s))
	}
	return b.String() + "\n"
}

// Methods gives the methods paragraphs: what was computed, where it was published, on how much; then the settings, once.
func Methods(as ...answer.Answer) string {
	var b strings.Builder
	var used []answer.Setting
	seen := map[string]bool{}
	for _, a := range as {
		h := a.Common()
		if h.Method == "" || h.Status == answer.NotAsked || seen[h.Method] {
			continue
		}
		seen[h.Method] = true
		for _, s := range h.Settings {
			if !slices.Contains(used, s) {
				used = append(used, s)
			}
		}
		fmt.Fprintf(&b, "**%s.** %s Source: %s. %s\n\n", Escape(questionNames[h.Question]), Escape(h.Method), Escape(strings.TrimSuffix(h.Source, ".")), Escape(counts(h.Counts)))
	}
	if s := settings(used); s != "" {
		fmt.Fprintf(&b, "**Settings.** %s.\n\n", Escape(s))
	}
	return b.String()
}

var questionNames = map[string]string{"data": "Data", "glass": "What is in the glass", "score": "Scores", "rejections": "Rejections", "lifetime": "Lifetime", "serve_by": "Serve by",
	"reading": "Readings", "goes_first": "What goes first", "difference": "Differences", "compare": "Comparison", "prime_window": "When it is at its best", "provenance": "Provenance"}

func settings(list []answer.Setting) string {
	var out []string
	for _, s := range list {
		from := "from the descriptor"
		if s.Default {
			from = "our default"
		}
		out = append(out, fmt.Sprintf("%s = %s (%s)", s.Name, s.Value, from))
	}
	return strings.Join(out, "; ")
}

func counts(c answer.Counts) string {
	batches := "batches not known"
	if c.Batches > 0 {
		batches = answer.Count(c.Batches, "batch")
	}
	s := fmt.Sprintf("%s, %s, %s, %s used", answer.Count(c.Tasters, "taster"), batches, answer.Count(c.Pours, "glass"), answer.Count(c.RowsUsed, "row"))
	for _, l := range c.LeftOut {
		s += fmt.Sprintf("; %d left out: %s", l.Rows, l.Reason)
	}
	return s + "."
}

// Cautions are printed with every report: what a serving window does not say, and what the drinks can do.
func Cautions(allergens []string) string {
	var b strings.Builder
	b.WriteString("- This is about taste. It is not a food-safety limit: local food codes come first; raw egg and dairy are kept cold and discarded by their time limits.\n")
	b.WriteString("- Alcohol: nobody under the local legal age, pregnant, driving, or on medicines that forbid it; what is spat counts as swallowed; water, food, a spit cup and a way home. Local licensing and responsible-service law come first.\n")
	if len(allergens) > 0 {
		fmt.Fprintf(&b, "- Allergens named for these drinks: %s. List them on the ballot.\n", Escape(strings.Join(allergens, ", ")))
	} else {
		b.WriteString("- Allergens (egg, milk, nuts, gluten, sulphites): none were named in the descriptor, which does not mean there are none. List them on the ballot.\n")
	}
	return b.String()
}
