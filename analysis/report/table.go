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
	case *answer.PrimeWindow:
		return windowTable(a)
	case *answer.Differences:
		return differencesTable(a)
	case *answer.AgeDifferences:
		return ageDifferencesTable(a)
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

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func serveTable(a *answer.ServeBy) string {
	withUnit := func(n answer.Num) string {
		if n.Empty() {
			return "not told"
		}
		return age(n) + " min"
	}
	rows := [][]string{{"have it drunk within", withUnit(a.Act)}, {"which rests on", basisWords(a.Basis)}}
	if a.HandOverAfter.Finite() {
		rows = append(rows, []string{"hand it over after", withUnit(a.HandOverAfter)})
	}
	if q := a.Ribbon.Tenth; a.Ribbon.HasTenth {
		rows = append(rows, []string{"one in ten would leave the rest, min", estimate(q)}, []string{"its limits, min", limits(q)})
	}
	rows = append(rows, []string{"smallest age at which all would go on", withUnit(a.SmallestL)}, []string{"whose", strings.Join(a.Tasters, ", ")})
	return table([]string{"", a.Title}, "lr", rows)
}

func basisWords(basis string) string {
	switch basis {
	case "one_in_ten":
		return "one in ten"
	case "smallest_l":
		return "all would go on"
	case "at_least_until":
		return "at its best, at least"
	}
	return strings.ReplaceAll(basis, "_", " ")
}

func compareTable(a *answer.Compare) string {
	var rows [][]string
	for _, c := range a.Styles {
		until := age(c.Act)
		if c.HandOverAfter.Finite() {
			until += ", from " + age(c.HandOverAfter) + " on"
		}
		row := []string{c.Ribbon.Label, until, basisWords(c.Basis), "", "", "", "", strconv.Itoa(c.Ribbon.Units)}
		if q := c.Ribbon.Tenth; c.Ribbon.HasTenth {
			row[3], row[4] = estimate(q), limits(q)
		}
		if q := c.Ribbon.Half; c.Ribbon.HasHalf {
			row[5], row[6] = estimate(q), limits(q)
		}
		rows = append(rows, row)
	}
	return table([]string{"drink", "good until, min", "rests on", "one in ten would leave, min", "limits", "half would leave, min", "limits", "counted"}, "lrlrrrrr", rows)
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
