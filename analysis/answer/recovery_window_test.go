package answer_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/golden"
)

const (
	windowTable  = "../../testdata/answer/window_recovery.md"
	windowPanels = 1000
	windowChecks = 60
)

var windowTasters = []int{5, 8, 12, 24}

// TestWindowRecovery simulates panels of scores whose prime window is known and compares what the answer says with it. With
// -update (and -timeout 60m) it makes the committed table; otherwise small runs of other panels must agree with that table within
// Monte Carlo error.
func TestWindowRecovery(t *testing.T) {
	seed := recoverySeed(t)
	worlds := windowWorlds()
	if flag.Lookup("update").Value.String() == "true" {
		makeWindows(t, seed)
		return
	}
	committed := readWindows(t)
	for _, cell := range []windowCell{{worlds[0], 12}, {worlds[4], 5}, {worlds[12], 8}} {
		for _, l := range cell.run(seed+1, windowChecks) {
			if l.method == windowMethodNames[windowDrawn] {
				continue // the time it takes
			}
			want, ok := committed[l.key()]
			require.True(t, ok, "%s is not in the committed table: run with -update", l.key())
			for _, s := range []struct {
				what      string
				got, want float64
			}{{"from covers", l.from, want.from}, {"to covers", l.to, want.to}, {"open", l.openTo, want.openTo}, {"at least until", l.held, want.held},
				{"not shown", l.unshown, want.unshown}, {"never", l.never, want.never}} {
				sameShare(t, l.key()+": "+s.what, s.got, s.want, windowChecks, windowPanels)
			}
			require.InDelta(t, want.bias, l.bias, 5*l.error+0.05, "%s: bias", l.key())
		}
	}
}

// makeWindows writes the table. How far it is goes to the terminal, as it takes long.
func makeWindows(t *testing.T, seed uint64) {
	var b bytes.Buffer
	var lines []windowLine
	group := ""
	for _, w := range windowWorlds() {
		if w.group != group {
			group = w.group
			fmt.Fprintf(&b, "\n## %s\n\n%s", group, windowHead)
		}
		for _, n := range windowTasters {
			for _, l := range (windowCell{w, n}).run(seed, windowPanels) {
				lines = append(lines, l)
				b.WriteString(l.String())
			}
			fmt.Fprintf(os.Stderr, "window: %s, %s, %d tasters\n", w.group, w.name, n)
		}
	}
	head := fmt.Sprintf(windowIntro, windowPanels, seed, drawnPanels, drawnDraws)
	golden.Check(t, windowTable, []byte(head+b.String()+windowEarlier(lines)))
}

// readWindows reads the lines of the committed table by their key.
func readWindows(t *testing.T) map[string]windowLine {
	t.Helper()
	text, err := os.ReadFile(windowTable)
	require.NoError(t, err)
	number := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		x, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return x
	}
	out, group := map[string]windowLine{}, ""
	for _, line := range strings.Split(string(text), "\n") {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			group = name
		}
		c := cells(line)
		if len(c) != 16 {
			continue
		}
		n, err := strconv.Atoi(c[2])
		if err != nil {
			continue
		}
		l := windowLine{group: group, name: c[1], tasters: n, method: c[3], from: number(c[4]) / 100, openFrom: number(c[5]) / 100, bias: number(c[6]),
			error: number(c[7]), to: number(c[8]) / 100, openTo: number(c[9]) / 100, width: number(c[10]), held: number(c[11]) / 100,
			unshown: number(c[12]) / 100, never: number(c[13]) / 100}
		if strings.Contains(c[14], "failed") {
			l.fails = 1
		}
		require.NotContains(t, out, l.key(), "a line stands twice in the table")
		out[l.key()] = l
	}
	return out
}

// TestWindowRecoveryHolds asserts on the committed table what a window must do where the curve can follow the truth, beyond Monte
// Carlo error: limits of its begin and end cover 91 % of the panels that reach the limit at all, "at least until" holds in 93 %, and
// no panel fails.
func TestWindowRecoveryHolds(t *testing.T) {
	committed := readWindows(t)
	for _, w := range windowWorlds() {
		for _, n := range windowTasters {
			key := windowLine{group: w.group, name: w.name, tasters: n, method: windowMethodNames[windowModel]}.key()
			l, ok := committed[key]
			require.True(t, ok, "%s is not in the committed table: run with -update", key)
			require.Zero(t, l.fails, key)
			if strings.HasSuffix(w.name, "four ages") {
				continue // lines between four means cannot follow these curves; what that costs stands in the table
			}
			reached := 1 - l.never
			for what, covers := range map[string]float64{"begin": l.from / reached, "end": l.to / reached} {
				if covers < 0.91-beyond(0.91, windowPanels) {
					t.Errorf("%s: the limits of its %s cover %.3f", key, what, covers)
				}
			}
			if l.held < 0.93-beyond(0.93, windowPanels) {
				t.Errorf("%s: at least until holds in %.3f", key, l.held)
			}
		}
	}
}

// The counting, by hand: the truth is from 2 to 6 min.
func TestWindowNotedByHand(t *testing.T) {
	inf := math.Inf(1)
	w := answer.Window{Status: answer.OK, From: answer.Of(2.5), To: answer.Of(5), FromLower: answer.Of(0), FromUpper: answer.Of(3),
		ToLower: answer.Of(3), ToUpper: answer.Of(7), AtLeastUntil: answer.Of(3)}
	require.Equal(t, windowNoted{done: true, bias: -1, from: true, to: true, openFrom: true, width: 4, shown: true}, noteWindow(w, 2, 6))
	n := noteWindow(w, 3.5, 4.5)
	require.False(t, n.from, "past the upper limit")
	require.True(t, n.late, "the lower band's run ends before the truth begins")
	require.True(t, noteWindow(w, 0, 2.9).late)
	require.False(t, noteWindow(w, 0, 2.9).to)
	w.ToUpper, w.To, w.AtLeastUntil = answer.Of(inf), answer.Num{}, answer.Num{}
	n = noteWindow(w, 2, 6)
	require.True(t, n.to && n.openTo && !n.shown && !n.late && math.IsNaN(n.width) && math.IsInf(n.bias, 1), "%+v", n)
	n = noteWindow(answer.Window{Status: answer.Never}, 2, 6)
	require.True(t, n.never && !n.to && !n.from && math.IsInf(n.bias, -1), "%+v", n)
}

// The truth of a world is what its panels show: the mean score of many tasters at each age.
func TestWindowTruth(t *testing.T) {
	for _, step := range []float64{0.1, 1} {
		c := windowCell{windowWorld{curve: smoothFall, ages: eightAges, step: step}, 20000}
		p, from, to := c.draw(childOf(7))
		require.Zero(t, from)
		require.InDelta(t, windowLimit, c.expected(to, []float64{0}), 1e-6)
		for k, a := range c.ages {
			sum := 0.0
			for i := k; i < len(p.Tastes); i += len(c.ages) {
				sum += p.Tastes[i].Scores[0].Value
			}
			require.InDelta(t, c.expected(a, []float64{0}), sum/20000, 5*1.7/math.Sqrt(20000), "at %g min", a)
		}
	}
}
