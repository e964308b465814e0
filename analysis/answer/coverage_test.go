package answer_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/golden"
	"lastsip/analysis/panel"
	"lastsip/analysis/simulate"
)

const coverageTable = "../../testdata/answer/coverage.md"

// world is one way in which panels come about.
type world struct {
	name  string
	clean bool // independent tasters, replies that follow the own limit: the exact limits must hold
	study simulate.Study
}

func worlds() []world {
	minute := make([]float64, 16)
	for i := range minute {
		minute[i] = float64(i + 1)
	}
	uneven := []float64{1, 2, 3, 5, 8, 12, 16}
	few := []float64{4, 7, 11}
	return []world{
		{"clean, every 2 min", true, simulate.Study{}},
		{"clean, every minute", true, simulate.Study{Ages: minute}},
		{"clean, uneven ages", true, simulate.Study{Ages: uneven}},
		{"clean, side by side 4, 7, 11", true, simulate.Study{Ages: few, SideBySide: true}},
		{"reply noise 0.2, every 2 min", false, simulate.Study{ReplySD: 0.2}},
		{"reply noise 0.4, every 2 min", false, simulate.Study{ReplySD: 0.4}},
		{"reply noise 0.4, every minute", false, simulate.Study{ReplySD: 0.4, Ages: minute}},
		{"5 % of replies flipped, every 2 min", false, simulate.Study{Slips: 0.05}},
		{"reply noise 0.25, side by side 4, 7, 11", false, simulate.Study{ReplySD: 0.25, Ages: few, SideBySide: true}},
		{"two glasses a taster, reply noise 0.2", false, simulate.Study{ReplySD: 0.2, Glasses: 2}},
		{"two glasses a shake, shakes differ by 10 %", false, simulate.Study{BatchSD: 0.1, Batches: -2}},
		{"two glasses a shake, shakes differ by 20 %", false, simulate.Study{BatchSD: 0.2, Batches: -2}},
		{"two glasses a shake, shakes differ by 30 %", false, simulate.Study{BatchSD: 0.3, Batches: -2}},
		{"one shake for all, differs by 20 %", false, simulate.Study{BatchSD: 0.2, Batches: 1}},
	}
}

// tally adds up one cell of the table.
type tally struct {
	panels, median, open, lateAct int
	width                         float64
	quarter, tenth, wider         int // quantiles covered, panels that had them
	shares, sharesHeld            int
	part, partSquared             float64 // sums over panels of the part of a panel's shares that was covered, and of its square
}

// TestCoverage simulates panels through everything that NewLifetime tells without a family. With -update it makes the committed table (2,000 panels
// a cell); otherwise 300 panels a cell must agree with that table within Monte Carlo error, and the limits must hold.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	panels := 300
	update := flag.Lookup("update").Value.String() == "true"
	if update {
		panels = 2000
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "# Coverage of the exact limits\n\nMade by `go test ./analysis/answer -run TestCoverage -update`. Simulated panels, %d a cell; own limits log-normal, median 7 min,\nlog-sd 0.35; sip-through to 16 min with two rounds after the first no, reading either side, unless said. Level asked: 95 %%. Monte Carlo error\nof a coverage: 0.5 points where it is 95. \"Width\" is the mean width of the median's limits in min where both ends are closed; \"open\" the panels, in %%, where one is not.\nq25 and q10 are answered from 6 and 8 tasters up; shares over all age steps; \"late\": panels, in %%, whose smallest L, rounded down to half a minute,\nlies past the true one in ten: the act below eight tasters.\n\n", panels)
	fmt.Fprintln(&b, "| world | tasters | median | width | open | q25 | q10 | shares | late |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
	committed := readCommitted(t, update)
	for _, w := range worlds() {
		for _, n := range []int{5, 8, 12} {
			c := simulateCell(t, w, n, panels)
			line := c.line(w.name, n)
			fmt.Fprintln(&b, line)
			cover := float64(c.median) / float64(c.panels)
			mc := math.Sqrt(0.95 * 0.05 / float64(c.panels))
			if w.clean {
				require.GreaterOrEqual(t, cover, 0.95-3*mc, "%s, %d tasters: the median's exact limits", w.name, n)
				require.GreaterOrEqual(t, float64(c.sharesHeld)/float64(c.shares), 0.95-3*mc, "%s, %d tasters: exact limits of shares", w.name, n)
				if c.wider > 0 {
					require.GreaterOrEqual(t, float64(c.quarter)/float64(c.wider), 0.95-3*mc, "%s, %d tasters: q25", w.name, n)
				}
			}
			if !update {
				sameAsCommitted(t, committed, w.name, n, c)
			}
		}
	}
	if update {
		golden.Check(t, coverageTable, b.Bytes())
	}
	t.Log("\n" + b.String())
}

// coverColumns are the proportions of the table, by column; the width is none.
var coverColumns = map[int]string{3: "median", 5: "open", 6: "q25", 7: "q10", 8: "shares", 9: "late"}

// sameAsCommitted compares every proportion of a cell with the committed table, as far as the Monte Carlo errors of both allow.
// Shares of one panel hang together, so their error comes from the spread of panels.
func sameAsCommitted(t *testing.T, committed map[string][]string, name string, n int, c tally) {
	t.Helper()
	want, ok := committed[cellName(name, n)]
	require.True(t, ok, "%s, %d tasters is not in the committed table: run with -update", name, n)
	got := cells(c.line(name, n))
	require.Len(t, got, len(want))
	for i, column := range coverColumns {
		if want[i] == "" {
			require.Empty(t, got[i], "%s, %d tasters: %s is not in the committed table", name, n, column)
			continue
		}
		require.NotEmpty(t, got[i], "%s, %d tasters: %s", name, n, column)
		a, b := percentage(t, want[i]), percentage(t, got[i])
		variance := a * (1 - a)
		if column == "shares" {
			mean := c.part / float64(c.panels)
			variance = c.partSquared/float64(c.panels) - mean*mean
		}
		se := math.Sqrt(max(variance, 0.0025) * (1/300.0 + 1/2000.0))
		require.InDelta(t, a, b, 4*se, "%s, %d tasters: %s differs from the committed table", name, n, column)
	}
}

func percentage(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x / 100
}

// cells splits a line of the table; the first and the last are what stands outside.
func cells(line string) []string {
	out := strings.Split(line, "|")
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}

func cellName(world string, n int) string { return fmt.Sprint(world, "|", n) }

// readCommitted reads the lines of the committed table by world and number of tasters.
func readCommitted(t *testing.T, update bool) map[string][]string {
	if update {
		return nil
	}
	text, err := os.ReadFile(coverageTable)
	require.NoError(t, err)
	out := map[string][]string{}
	for _, line := range strings.Split(string(text), "\n") {
		c := cells(line)
		if len(c) != 11 {
			continue
		}
		if n, err := strconv.Atoi(c[2]); err == nil {
			out[cellName(c[1], n)] = c
		}
	}
	require.Len(t, out, 3*len(worlds()))
	return out
}

func (c tally) line(name string, n int) string {
	pct := func(x, of int) string {
		if of == 0 {
			return ""
		}
		return strconv.FormatFloat(100*float64(x)/float64(of), 'f', 1, 64)
	}
	width := ""
	if closed := c.panels - c.open; closed > 0 {
		width = strconv.FormatFloat(c.width/float64(closed), 'f', 1, 64)
	}
	tenth := pct(c.tenth, c.wider)
	if n < 8 {
		tenth = ""
	}
	return strings.Join([]string{"| " + name, strconv.Itoa(n), pct(c.median, c.panels), width, pct(c.open, c.panels), pct(c.quarter, c.wider), tenth, pct(c.sharesHeld, c.shares), pct(c.lateAct, c.panels) + " |"}, " | ")
}

// simulateCell runs its panels on all cores; every panel has its own stream, so that the answer does not depend on them.
func simulateCell(t *testing.T, w world, n, panels int) tally {
	t.Helper()
	s := w.study
	s.Tasters = n
	if s.Batches == -2 {
		s.Batches = (n + 1) / 2
	}
	cores := runtime.GOMAXPROCS(0)
	parts := make([]tally, cores)
	errs := make([]error, cores)
	var wg sync.WaitGroup
	for core := range cores {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := core; i < panels; i += cores {
				rng := rand.New(rand.NewPCG(20261125, uint64(n)<<32|uint64(i)))
				if err := parts[core].add(s, rng); err != nil {
					errs[core] = err
					return
				}
			}
		}()
	}
	wg.Wait()
	var sum tally
	for i, p := range parts {
		require.NoError(t, errs[i])
		sum.panels += p.panels
		sum.median += p.median
		sum.open += p.open
		sum.lateAct += p.lateAct
		sum.width += p.width
		sum.quarter += p.quarter
		sum.tenth += p.tenth
		sum.wider += p.wider
		sum.shares += p.shares
		sum.sharesHeld += p.sharesHeld
		sum.part += p.part
		sum.partSquared += p.partSquared
	}
	return sum
}

const trueMedian, trueLogSD = 7.0, 0.35

func (c *tally) add(s simulate.Study, rng *rand.Rand) error {
	part, act, err := answer.ExactPart(answer.Input{Panel: asPanel(s, s.Draw(rng))}, endpoint.Drink{Style: "sour"})
	if err != nil {
		return err
	}
	tenth := trueMedian * math.Exp(-1.2815515655446004*trueLogSD) // qnorm(0.1)
	quarter := trueMedian * math.Exp(-0.6744897501960817*trueLogSD)
	c.panels++
	if act > tenth {
		c.lateAct++
	}
	for _, q := range part.Quantiles {
		within := func(x float64) int {
			if q.Lower.Float() <= x && x <= q.Upper.Float() {
				return 1
			}
			return 0
		}
		switch q.P {
		case 0.5:
			c.median += within(trueMedian)
			if q.Upper.Open() || q.Lower.Float() == 0 {
				c.open++
			} else {
				c.width += q.Upper.Float() - q.Lower.Float()
			}
		case 0.25:
			c.wider++
			c.quarter += within(quarter)
		case 0.1:
			c.tenth += within(tenth)
		}
	}
	held := c.sharesHeld
	for _, x := range part.Shares {
		c.shares++
		if truth := 1 - 0.5*math.Erfc(-math.Log(x.AgeMin/trueMedian)/trueLogSD/math.Sqrt2); x.Lower <= truth && truth <= x.Upper {
			c.sharesHeld++
		}
	}
	covered := float64(c.sharesHeld-held) / float64(len(part.Shares))
	c.part += covered
	c.partSquared += covered * covered
	return nil
}

// asPanel hands the bare replies on as an evening's tastes.
func asPanel(s simulate.Study, glasses []simulate.Glass) *panel.Panel {
	p := &panel.Panel{Sessions: []panel.Session{{Name: "one"}}, Settings: panel.Settings{Unclear: "either_side"}}
	mode := panel.SipThrough
	if s.SideBySide {
		mode = panel.SideBySide
	}
	for i, g := range glasses {
		name := strconv.Itoa(g.Taster)
		p.Pours = append(p.Pours, panel.Pour{Session: "one", ID: strconv.Itoa(i), Taster: name, Style: "sour", Batch: strconv.Itoa(g.Batch)})
		for k, age := range g.Ages {
			v := panel.Accept
			if g.Reject[k] {
				v = panel.Reject
			}
			p.Tastes = append(p.Tastes, panel.Taste{Session: "one", Taster: name, Pour: i, Mode: mode, Age: panel.Age(age), Planned: panel.Age(age), HasPlanned: true, Verdict: v})
		}
	}
	return p
}
