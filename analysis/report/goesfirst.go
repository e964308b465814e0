package report

import (
	"fmt"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// goesFirstTable lists, per attribute and age step, who failed first, then what went first for each taster (or pour), then
// the same count under other rules.
func goesFirstTable(a *answer.GoesFirst) string {
	var counts, each, variants [][]string
	for i := range a.Parts {
		p := &a.Parts[i]
		for _, x := range p.Attributes {
			for _, s := range x.Steps {
				limits := ""
				if s.Lower.Finite() && s.Upper.Finite() {
					limits = share(s.Lower.Float()) + " to " + share(s.Upper.Float())
				}
				counts = append(counts, []string{mode(p.Mode), x.Name, minutes(s.AgeMin), strconv.Itoa(s.Alone), strconv.Itoa(s.Tied), strconv.Itoa(s.Other), strconv.Itoa(s.Nothing), strconv.Itoa(p.Units), limits})
			}
		}
		for _, u := range p.Each {
			what, at := "nothing", ""
			if u.AgeMin.Finite() {
				what, at = strings.Join(u.Which, ", "), minutes(u.AgeMin.Float())
			}
			each = append(each, []string{mode(p.Mode), u.Taster, u.Pour, what, at, minutes(u.Until)})
		}
		for _, v := range p.Variants {
			var of []string
			for _, x := range v.Attributes {
				if s := x.Settled(); s != nil {
					of = append(of, fmt.Sprintf("%s %d + %d", x.Name, s.Alone, s.Tied))
				}
			}
			variants = append(variants, []string{mode(p.Mode), variantNames[v.Name], strings.Join(of, ", "), strconv.Itoa(v.Units)})
		}
	}
	return table([]string{"how", "attribute", "age, min", "first alone", "first, tied", "another first", "nothing yet", "of", "exact limits"}, "llrrrrrrr", counts) +
		table([]string{"how", "taster", "glass", "went first", "by, min", "followed to, min"}, "llllrr", each) +
		table([]string{"how", "counted again", "first alone + tied by the last age", "of"}, "lllr", variants)
}

var variantNames = map[string]string{"limit_up": "every limit one point stricter", "limit_down": "every limit one point laxer",
	"last_crossing": "only what failed for good", "without_aware": "without those who made or knew the drink"}
