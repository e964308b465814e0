package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"lastsip/analysis/answer"
)

// Table gives the answer's numbers as a Markdown table.
func Table(a answer.Answer) string {
	switch a := a.(type) {
	case *answer.Data:
		return dataTable(a)
	case *answer.Glass:
		return factTable(a)
	case *answer.Scores:
		return scoreTable(a)
	case *answer.Rejections:
		return rejectionTable(a)
	case *answer.Lifetime:
		return lifetimeTable(a)
	case *answer.ServeBy:
		return serveTable(a)
	case *answer.Compare:
		return compareTable(a)
	case *answer.GoesFirst:
		return goesFirstTable(a)
	case *answer.Readings:
		return readingTable(a)
	case *answer.Provenance:
		return provenanceTable(a)
	}
	return ""
}

// age prints an age for a table: one decimal, open and empty in words.
func age(n answer.Num) string {
	switch {
	case n.Empty():
		return ""
	case n.Open():
		return "open"
	}
	return minutes(n.Float())
}

func minutes(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', 1, 64) }

func share(x float64) string { return strconv.FormatFloat(100*x, 'f', 0, 64) + " %" }

func mode(s string) string {
	if s == "side_by_side" {
		return "side by side"
	}
	return "one glass again and again"
}

func dataTable(a *answer.Data) string {
	var rows [][]string
	for _, s := range a.Sessions {
		for _, d := range s.Drinks {
			batches := "not known"
			if d.Batches > 0 {
				batches = strconv.Itoa(d.Batches)
			}
			var steps []string
			for _, st := range d.Steps {
				steps = append(steps, minutes(st.AgeMin))
			}
			rows = append(rows, []string{s.Name, d.Style, d.Serve, mode(d.Mode), strconv.Itoa(d.Tasters), batches, strconv.Itoa(d.Pours), strconv.Itoa(d.Tastes), strings.Join(steps, ", ")})
		}
	}
	return table([]string{"session", "style", "serve", "how", "tasters", "batches", "glasses", "tastes", "age steps, min"}, "llllrrrrl", rows)
}

func factTable(a *answer.Glass) string {
	var rows [][]string
	for _, f := range a.Facts {
		rows = append(rows, []string{f.Name, f.Value})
	}
	return table([]string{"", a.Title}, "ll", rows)
}

func scoreTable(a *answer.Scores) string {
	var rows [][]string
	for _, s := range a.Attributes {
		for _, st := range s.Steps {
			rows = append(rows, []string{s.Name, minutes(st.AgeMin), strconv.Itoa(st.Tasters), fmt.Sprintf("%.1f", st.Mean), fmt.Sprintf("%.1f to %.1f", st.LowQuarter, st.HighQuarter), fmt.Sprintf("%.1f to %.1f", st.Least, st.Most)})
		}
	}
	return table([]string{"attribute", "age, min", "tasters", "mean", "middle half", "all"}, "lrrrrr", rows)
}

func rejectionTable(a *answer.Rejections) string {
	var rows [][]string
	for _, p := range a.Parts {
		for _, g := range p.Glasses {
			var replies []string
			for _, r := range g.Replies {
				word := "yes"
				if r.Reject {
					word = "no"
				}
				replies = append(replies, minutes(r.AgeMin)+" "+word)
			}
			note := ""
			switch {
			case g.Never:
				note = "never accepted"
			case g.Reversed:
				note = "wavered"
			}
			rows = append(rows, []string{g.Taster, g.Pour, mode(p.Mode), age(g.L), age(g.R), note, strings.Join(replies, ", ")})
		}
	}
	return table([]string{"taster", "glass", "how", "would go on until, min", "would not from, min", "", "replies (would go on with it?)"}, "lllrrll", rows)
}

func lifetimeTable(a *answer.Lifetime) string {
	var b strings.Builder
	var rows [][]string
	for _, p := range a.Parts {
		lower := func(n answer.Num) string {
			if n.Finite() && n.Float() == 0 {
				return "open"
			}
			return age(n)
		}
		names := map[float64]string{0.1: "one in ten", 0.25: "a quarter", 0.5: "half"}
		add := func(what string, q answer.Quantile) {
			rows = append(rows, []string{mode(p.Mode), what, age(q.From), age(q.To), lower(q.Lower), age(q.Upper), fmt.Sprintf("%.1f %%", 100*q.Level), q.Status})
		}
		for _, q := range p.Quantiles {
			add(names[q.P]+" would leave the rest", q)
		}
		if p.Unclear > 0 {
			for _, r := range p.Readings[min(1, len(p.Readings)):] {
				add("half, read by the "+strings.ReplaceAll(r.Name, "_", " "), r.Median)
			}
		}
		if p.WithoutNever != nil {
			add("half, without "+strings.Join(p.NeverTook, ", "), *p.WithoutNever)
		}
	}
	b.WriteString(table([]string{"how", "what", "from, min", "to, min", "lower limit", "upper limit", "level reached", "status"}, "llrrrrrl", rows))
	rows = nil
	for _, p := range a.Parts {
		for _, s := range p.Shares {
			est := share(s.EstLo)
			if s.EstLo != s.EstHi {
				est = share(s.EstLo) + " to " + share(s.EstHi)
			}
			rows = append(rows, []string{mode(p.Mode), minutes(s.AgeMin), est, share(s.Lower) + " to " + share(s.Upper), strconv.Itoa(s.Going), strconv.Itoa(s.Possible), strconv.Itoa(s.Units)})
		}
	}
	if len(rows) > 0 {
		b.WriteString(table([]string{"how", "age, min", "would go on with it", "exact limits", "surely", "possibly", "of"}, "lrrrrrr", rows))
	}
	for _, p := range a.Parts {
		if len(p.Curve.Sets) > 0 {
			fmt.Fprintf(&b, "%s: log-likelihood %.6f, optimality gap %.1e (the true maximum is higher by no more than that), %s.\n\n", upper(mode(p.Mode)), p.Curve.LogLik, max(p.Curve.Gap, 0), answer.Count(p.Curve.Rows, "row"))
		}
	}
	return b.String()
}

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func serveTable(a *answer.ServeBy) string {
	rows := [][]string{{"have it drunk within", age(a.Act) + " min"}, {"smallest age at which all would go on", age(a.SmallestL) + " min"}, {"whose", strings.Join(a.Tasters, ", ")}}
	return table([]string{"", a.Title}, "lr", rows)
}

func compareTable(a *answer.Compare) string {
	var rows [][]string
	for _, c := range a.Styles {
		half, limits := "", ""
		if q := c.Ribbon.Half; c.Ribbon.HasHalf {
			half, limits = age(q.From)+" to "+age(q.To), age(q.Lower)+" to "+age(q.Upper)
		}
		rows = append(rows, []string{c.Ribbon.Label, age(c.Act), half, limits, strconv.Itoa(c.Ribbon.Units)})
	}
	return table([]string{"drink", "good until, min", "half would leave, min", "limits", "counted"}, "lrrrr", rows)
}

func readingTable(a *answer.Readings) string {
	var rows [][]string
	for _, s := range a.Series {
		for _, p := range s.Points {
			rows = append(rows, []string{s.Quantity, p.Pour, minutes(p.AgeMin), strconv.FormatFloat(p.Value, 'g', 4, 64), s.Unit})
		}
	}
	return table([]string{"quantity", "glass", "age, min", "value", "unit"}, "llrrl", rows)
}

func provenanceTable(a *answer.Provenance) string {
	var rows [][]string
	for _, f := range a.Files {
		rows = append(rows, []string{f.Session, f.File, strconv.Itoa(f.Bytes), f.SHA256})
	}
	text := table([]string{"session", "file", "bytes", "SHA-256"}, "llrl", rows)
	rows = nil
	for _, v := range a.Versions {
		rows = append(rows, []string{v.Name, v.Value})
	}
	return text + table([]string{"made with", "version"}, "ll", rows)
}
