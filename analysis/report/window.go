package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// drawn is the method of limits by drawing panels from the model.
const drawn = "bootstrap"

// windowTable lists where the window begins and ends, by the model and under other choices, then how far tasters, evenings
// and batches lie apart, then what of it the scores cannot tell.
func windowTable(a *answer.PrimeWindow) string {
	if len(a.Curve) == 0 {
		return "" // the sentences say why
	}
	main := answer.Variant{Words: "limit " + points(a.Main.Limit), Window: a.Main, Tasters: a.Counts.Tasters, Tastes: a.Counts.RowsUsed}
	if a.Status == answer.NotConverged {
		main.Note = "the fit did not settle"
	}
	var rows, spread [][]string
	for _, v := range append([]answer.Variant{main}, a.Variants...) {
		w := &v.Window
		row := []string{v.Words, strings.ReplaceAll(w.Status, "_", " "), "", "", "", "", "", strconv.Itoa(v.Tasters), strconv.Itoa(v.Tastes), windowNote(w, v.Note)}
		copy(row[2:], windowCells(w, a.Curve[len(a.Curve)-1].AgeMin))
		if v.Method == drawn {
			row[6] = "" // percentiles of both ends say nothing one-sided
		}
		rows = append(rows, row)
	}
	for _, c := range a.Spread {
		edge := ""
		if c.Edge {
			edge = "at zero"
		}
		spread = append(spread, []string{c.Name, strconv.FormatFloat(c.SD, 'f', 3, 64), c.Unit, edge})
	}
	text := table([]string{"choice", "status", "at its best from, min", "limits", "until, min", "limits", "at least until, min", "tasters", "scores", ""}, "llrrrrrrrl", rows)
	text += table([]string{"standard deviation", "estimate", "unit", ""}, "lrll", spread)
	if len(a.Singular) > 0 {
		text += "The scores cannot tell, and the fit is kept as it is: " + Escape(strings.Join(a.Singular, "; ")) + ".\n\n"
	}
	return text
}

// windowCells are where a window begins, its limits, where it ends, its limits, and until when it surely holds; last is the
// last age tasted.
func windowCells(w *answer.Window, last float64) []string {
	switch w.Status {
	case answer.OK, answer.Always, answer.BeyondLastAge:
	case answer.Never:
		return []string{"never", "", "never", "", least(w)}
	default:
		return []string{"", "", "", "", ""}
	}
	until := age(w.To)
	if !w.To.Finite() {
		until = "past " + minutes(last)
	}
	begin := limits(answer.Quantile{Lower: w.FromLower, Upper: w.FromUpper})
	if w.FromUpper.Finite() && w.FromUpper.Float() <= w.From.Float() { // surely there at the first age tasted
		begin = ""
	}
	return []string{age(w.From), begin, until,
		limits(answer.Quantile{Lower: w.ToLower, Upper: w.ToUpper}), least(w)}
}

// least prints until when the lower limit holds: rounded down, as it is a promise.
func least(w *answer.Window) string {
	if !w.AtLeastUntil.Finite() {
		return "not shown"
	}
	return minutes(math.Floor(10*w.AtLeastUntil.Float()+1e-9) / 10)
}

// windowNote adds the highest score where the limit is never reached, and further runs.
func windowNote(w *answer.Window, note string) string {
	var notes []string
	if note != "" {
		notes = append(notes, note)
	}
	if w.Status == answer.Never {
		extreme := "highest"
		if w.Below {
			extreme = "lowest"
		}
		notes = append(notes, fmt.Sprintf("%s %.1f at %s min", extreme, w.Highest, minutes(w.HighestAt)))
	}
	for _, o := range w.Others {
		notes = append(notes, fmt.Sprintf("again from %s to %s min", minutes(o.From), minutes(o.To)))
	}
	return strings.Join(notes, "; ")
}

// points prints a score without needless zeros.
func points(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }

// Windows lists when each drink is at its best, the one that stays so longest first: those that always are, then by where they
// end, last those that never are; drinks whose window was not asked or not told are left out. It is a list of estimates, each
// from its own tasters: no difference is tested. Nothing where no drink has a window.
func Windows(a *answer.Compare) string {
	var rows [][]string
	for _, c := range ranked(a) {
		w := c.Ribbon.Window
		row := append([]string{c.Ribbon.Label, bound(w)}, windowCells(w, c.Ribbon.LastAge)...)
		rows = append(rows, append(row, windowNote(w, "")))
	}
	return table([]string{"drink", "average taster", "at its best from, min", "limits", "until, min", "limits", "at least until, min", ""}, "llrrrrrl", rows)
}

// bound is the score that an average taster gives it at its best.
func bound(w *answer.Window) string {
	if w.Below {
		return points(w.Limit) + " or lower"
	}
	return points(w.Limit) + " or better"
}

// ranked are the drinks with a window, the latest end first.
func ranked(a *answer.Compare) []answer.CompareStyle {
	rank := func(c answer.CompareStyle) int {
		return slices.Index([]string{answer.Always, answer.BeyondLastAge, answer.OK, answer.Never}, c.Ribbon.Window.Status)
	}
	told := slices.DeleteFunc(slices.Clone(a.Styles), func(c answer.CompareStyle) bool { return c.Ribbon.Window == nil || rank(c) < 0 })
	later := func(x, y answer.Num) int { // an empty one last
		if !x.Finite() || !y.Finite() {
			return -cmp.Compare(btoi(x.Finite()), btoi(y.Finite()))
		}
		return -cmp.Compare(x.Float(), y.Float())
	}
	slices.SortStableFunc(told, func(x, y answer.CompareStyle) int {
		wx, wy := x.Ribbon.Window, y.Ribbon.Window
		return cmp.Or(cmp.Compare(rank(x), rank(y)), later(wx.To, wy.To), later(wx.AtLeastUntil, wy.AtLeastUntil))
	})
	return told
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
