package answer_test

import (
	"fmt"
	"strings"
)

// earlier is a figure of the simulations that chose the defaults, with the lines that it is to be compared with.
type earlier struct {
	what    string
	figure  string
	group   string
	world   string
	method  string
	tasters []int
	read    func(recoveryLine) string
}

func readCovers(l recoveryLine) string { return percent(l.half.covers) }
func readBias(l recoveryLine) string   { return signed(100 * l.half.bias) }
func readTenth(l recoveryLine) string  { return percent(l.tenth.covers) }
func readLate(l recoveryLine) string   { return signed(100 * l.tenth.bias) }
func readOpen(l recoveryLine) string   { return percent(l.half.open) }
func readWidth(l recoveryLine) string  { return l.half.fields()[2] }

// earlierFigures quotes the simulations made in R 4.2 and Go before building, 500 to 2,000 panels a cell.
func earlierFigures() []earlier {
	all, big := []int{3, 5, 8, 12, 24}, []int{12, 24}
	model, either := methodNames[replyModel], methodNames[eitherSide]
	out := []earlier{
		{"median covers, clean, either side, 3, 5, 8, 12, 24 tasters", "94, 95, 95, 95, 96", groupSip, "noise 0, every 2 min", either, all, readCovers},
		{"median covers, noise 0.2, reply model, 3, 5, 8, 12, 24", "96, 96, 95, 95, 94", groupSip, "noise 0.2, every 2 min", model, all, readCovers},
		{"width at 5 tasters, clean (earlier a mean, now a median), min", "7.1", groupSip, "noise 0, every 2 min", either, []int{5}, readWidth},
		{"open at 3 tasters, clean, either side", "4 to 12", groupSip, "noise 0, every 2 min", either, []int{3}, readOpen},
		{"uneven ages, clean, either side, 5, 8, 12, 24", "94 to 97", groupSip, "noise 0, 1, 2, 3, 5, 8, 12, 16", either, []int{5, 8, 12, 24}, readCovers},
		{"q10 covers, noise 0.4, every 2 min, reply model, 8, 12, 24", "94 to 97", groupSip, "noise 0.4, every 2 min", model, []int{8, 12, 24}, readTenth},
		{"q10 covers, noise 0.4, every 2 min, either side, 8, 12, 24", "89 to 92", groupSip, "noise 0.4, every 2 min", either, []int{8, 12, 24}, readTenth},
		{"q10 bias, clean, either side, 8, 12", "+1, +1", groupSip, "noise 0, every 2 min", either, []int{8, 12}, readLate},
		{"Weibull limits, clean, either side, bias at 24", "-5", groupBeside, "sip-through, noise 0, Weibull limits", either, []int{24}, readBias},
		{"Weibull limits, clean, either side, covers at 5, 12, 24", "96, 94, 90", groupBeside, "sip-through, noise 0, Weibull limits", either, []int{5, 12, 24}, readCovers},
		{"two kinds of tasters, clean, either side, covers at 5, 8, 12, 24", "93 to 96", groupBeside, "sip-through, noise 0, two kinds of tasters", either, []int{5, 8, 12, 24}, readCovers},
		{"side by side 4, 7, 11 (earlier at noise 0.25), covers at 3, 5, 8, 12, 24", "98, 95, 96, 95, 95", groupSide, "noise 0.2, 4, 7, 11 in two flights", model, all, readCovers},
		{"one shake for all, differs by 20 %, reply model, covers at 8, 12, 24", "75, 66, 53", groupBeside, "sip-through, noise 0.2, shakes differ by 20 %, one for all", model, []int{8, 12, 24}, readCovers},
		{"one shake each, differ by 20 %, covers at 5, 8, 12, 24", "94 to 96", groupBeside, "sip-through, noise 0.2, shakes differ by 20 %, one each", model, []int{5, 8, 12, 24}, readCovers},
	}
	rules := []struct {
		method  string
		figures [4]string // bias at 24 (covers at 12, 24), by world
	}{
		{methodNames[firstNo], [4]string{"-2 (94, 93)", "-10 (90, 82)", "-20 (68, 35)", "-13 (82, 64)"}},
		{either, [4]string{"0 (95, 94)", "+1 (95, 95)", "0 (95, 95)", "-8 (91, 84)"}},
		{methodNames[lastYes], [4]string{"+3 (94, 92)", "+14 (87, 73)", "+15 (83, 67)", "-4 (95, 93)"}},
		{model, [4]string{"0 (95, 94)", "+1 (96, 95)", "+2 (95, 94)", "-9 (88, 82)"}},
	}
	for i, w := range []struct{ group, name string }{{groupSip, "noise 0.2, every 2 min"}, {groupSip, "noise 0.4, every 2 min"}, {groupSip, "noise 0.4, every minute"},
		{groupBeside, "sip-through, noise 0.3, every minute, tasters repeat their own no (70 %)"}} {
		for _, r := range rules {
			what := fmt.Sprintf("%s, %s: bias at 24 (covers at 12, 24)", strings.TrimPrefix(w.name, "sip-through, "), r.method)
			out = append(out, earlier{what, r.figures[i], w.group, w.name, r.method, big, nil})
		}
	}
	return out
}

// now reads the same from the lines of the table.
func (e earlier) now(lines []recoveryLine) string {
	at := map[int]recoveryLine{}
	for _, l := range lines {
		if l.group == e.group && l.name == e.world && l.method == e.method {
			at[l.tasters] = l
		}
	}
	if e.read == nil {
		return fmt.Sprintf("%s (%s, %s)", readBias(at[24]), readCovers(at[12]), readCovers(at[24]))
	}
	var out []string
	for _, n := range e.tasters {
		out = append(out, e.read(at[n]))
	}
	return strings.Join(out, ", ")
}

// earlierTable sets the earlier figures beside those of the table.
func earlierTable(lines []recoveryLine) string {
	var b strings.Builder
	b.WriteString("\n## Beside earlier figures\n\n" + earlierIntro + "\n| what, in % unless said | earlier | now |\n| --- | --- | --- |\n")
	for _, e := range earlierFigures() {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", e.what, e.figure, e.now(lines))
	}
	return b.String() + earlierWhy
}
