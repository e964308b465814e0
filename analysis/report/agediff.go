package report

import (
	"fmt"
	"strconv"

	"lastsip/analysis/answer"
)

// ageDifferencesTable lists, per age step, the expected score, how far it lies from that of the youngest, and how sure that is.
func ageDifferencesTable(a *answer.AgeDifferences) string {
	points := func(x float64) string { return strconv.FormatFloat(x, 'f', a.Decimals, 64) }
	same := a.Margin.Finite()
	var rows [][]string
	for k, x := range a.Steps {
		row := []string{minutes(x.AgeMin), strconv.Itoa(x.Tasters), strconv.Itoa(x.Tastes), points(x.Mean), "fresh", "", "", "", ""}
		if k > 0 {
			row = append(row[:4], points(x.Difference), points(x.Lower)+" to "+points(x.Upper), "-", "", "")
			if x.PAdjusted.Finite() {
				row[6] = probability(x.PAdjusted)
			}
			if same && x.Lower90.Finite() {
				row[7] = points(x.Lower90.Float()) + " to " + points(x.Upper90.Float())
				row[8] = map[bool]string{true: "yes", false: "not shown"}[x.Same]
			}
		}
		if !same {
			row = row[:7]
		}
		rows = append(rows, row)
	}
	what := "mean " + a.Attribute
	if a.Best.Finite() {
		what = fmt.Sprintf("mean distance of %s from %s", a.Attribute, strconv.FormatFloat(a.Best.Float(), 'g', 4, 64))
	}
	head, align := []string{"age, min", a.Unit + "s", "tastes", what, "less fresh, points", "limits for all ages together", "p after max-t"}, "rrrrrrr"
	if same {
		head, align = append(head, "limits alone, 90 %", "same within "+strconv.FormatFloat(a.Margin.Float(), 'g', 4, 64)), align+"rl"
	}
	return table(head, align, rows)
}
