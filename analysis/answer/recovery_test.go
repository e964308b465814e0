package answer_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/golden"
)

const (
	recoveryTable  = "../../testdata/answer/recovery.md"
	recoveryPanels = 2000
	checkPanels    = 200
)

// recoverySeed is the table's; LASTSIP_SEED draws afresh.
func recoverySeed(t *testing.T) uint64 {
	text := os.Getenv("LASTSIP_SEED")
	if text == "" {
		return 20261125
	}
	seed, err := strconv.ParseUint(text, 10, 64)
	require.NoError(t, err, "LASTSIP_SEED: give a whole number")
	return seed
}

// TestRecovery simulates panels whose truth is known and compares what every method says with it. With -update (and
// -timeout 60m) it makes the committed table; otherwise a few cells with 200 panels must agree with that table within Monte
// Carlo error.
func TestRecovery(t *testing.T) {
	if flag.Lookup("update").Value.String() == "true" {
		makeRecovery(t)
		return
	}
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	committed := readRecovery(t)
	seed := recoverySeed(t) + 1 // other panels than the table's, which a smaller run would else repeat
	for _, w := range recoveryWorlds() {
		for _, n := range checkedCells[w.group+"|"+w.name] {
			for _, l := range w.of(n).run(seed, checkPanels) {
				want, ok := committed[l.key()]
				require.True(t, ok, "%s is not in the committed table: run with -update", l.key())
				l.agrees(t, want)
			}
		}
	}
}

// checkedCells are those that every test run draws again.
var checkedCells = map[string][]int{
	groupSip + "|noise 0, every 2 min":                                                      {3, 5, 12},
	groupSip + "|noise 0.4, every minute":                                                   {8},
	groupSip + "|noise 0.2, 1, 2, 3, 5, 8, 12, 16":                                          {5},
	groupSide + "|noise 0.2, 4, 7, 11 in two flights":                                       {12},
	groupBeside + "|sip-through, noise 0.2, Weibull limits":                                 {12},
	groupBeside + "|sip-through, noise 0.2, stopped at the first no":                        {5},
	groupBeside + "|side by side, noise 0.2, shakes differ by 20 %, two tasters to a shake": {8},
}

// makeRecovery writes the table. How far it is goes to the terminal, as it takes long.
func makeRecovery(t *testing.T) {
	seed := recoverySeed(t)
	var b bytes.Buffer
	var lines []recoveryLine
	worlds := recoveryWorlds()
	group := ""
	for i, w := range worlds {
		if w.group != group {
			group = w.group
			fmt.Fprintf(&b, "\n## %s\n\n%s", group, recoveryHead)
		}
		for _, n := range recoveryTasters {
			for _, l := range w.of(n).run(seed, recoveryPanels) {
				lines = append(lines, l)
				b.WriteString(l.String())
			}
			fmt.Fprintf(os.Stderr, "recovery: %d of %d worlds, %d tasters: %s, %s\n", i+1, len(worlds), n, w.group, w.name)
		}
	}
	comparisons := comparisonTable(seed)
	head := fmt.Sprintf(recoveryIntro, recoveryPanels, seed, commit()) + recoverySummary(lines)
	golden.Check(t, recoveryTable, []byte(head+b.String()+comparisons+recoveryEarlier))
}

// commit names the state of the code, for the reader of the table; unknown where there is no git.
func commit() string {
	out, err := exec.Command("git", "rev-parse", "--short", "HEAD").Output()
	if err != nil {
		return "unknown"
	}
	return strings.TrimSpace(string(out))
}

func (l recoveryLine) key() string {
	return fmt.Sprint(l.group, "|", l.name, "|", l.tasters, "|", l.method)
}

// printed is a line of the committed table: percentages as fractions, NaN where empty.
type printed struct {
	bias, covers, width, open        float64
	bias10, covers10, wide10, open10 float64
	late                             float64
	notes                            string
}

// readRecovery reads the lines of the committed table by group, world, tasters and method.
func readRecovery(t *testing.T) map[string]printed {
	t.Helper()
	text, err := os.ReadFile(recoveryTable)
	require.NoError(t, err)
	out, group := map[string]printed{}, ""
	for _, line := range strings.Split(string(text), "\n") {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			group = name
		}
		c := cells(line)
		if len(c) != 15 || c[2] == "tasters" || strings.HasPrefix(c[2], "---") {
			continue
		}
		x := make([]float64, 13)
		for i := 4; i <= 12; i++ {
			x[i] = math.NaN()
			if c[i] != "" {
				x[i], err = strconv.ParseFloat(strings.TrimPrefix(c[i], "+"), 64)
				require.NoError(t, err, line)
			}
		}
		out[group+"|"+c[1]+"|"+c[2]+"|"+c[3]] = printed{x[4] / 100, x[5] / 100, x[6], x[7] / 100, x[8] / 100, x[9] / 100, x[10], x[11] / 100, x[12] / 100, c[13]}
	}
	return out
}

// agrees holds a small run of a cell against the committed line, as far as the Monte Carlo errors of both allow.
func (l recoveryLine) agrees(t *testing.T, want printed) {
	t.Helper()
	share := func(what string, got, want float64) {
		if math.IsNaN(want) {
			return
		}
		se := math.Sqrt(max(want*(1-want), 0.0025) * (1.0/checkPanels + 1.0/recoveryPanels))
		require.InDelta(t, want, got, 4*se, "%s: %s differs from the committed table", l.key(), what)
	}
	share("covers", l.half.covers, want.covers)
	share("open", l.half.open, want.open)
	share("act late", l.late, want.late)
	require.Equal(t, l.tenth.asked, !math.IsNaN(want.covers10), "%s: q10", l.key())
	if l.tenth.asked {
		share("q10 covers", l.tenth.covers, want.covers10)
		share("q10 open", l.tenth.open, want.open10)
	}
	for _, x := range []struct {
		what string
		got  recovered
		want float64
	}{{"bias", l.half, want.bias}, {"q10 bias", l.tenth, want.bias10}} {
		require.Equal(t, math.IsNaN(x.got.bias) || !x.got.asked, math.IsNaN(x.want), "%s: %s", l.key(), x.what)
		if !math.IsNaN(x.want) && !math.IsInf(x.want, 0) {
			require.InDelta(t, x.want, x.got.bias, 4*x.got.error+0.002, "%s: %s differs from the committed table", l.key(), x.what)
		}
	}
}

// TestRecoveryHolds asserts on the committed table what the headline must hold.
func TestRecoveryHolds(t *testing.T) {
	committed := readRecovery(t)
	beyond := func(bar float64) float64 { return 2 * math.Sqrt(bar*(1-bar)/recoveryPanels) }
	for _, w := range recoveryWorlds() {
		for _, n := range recoveryTasters {
			key := recoveryLine{group: w.group, name: w.name, tasters: n, method: methodNames[headline]}.key()
			p, ok := committed[key]
			require.True(t, ok, "%s is not in the committed table: run with -update", key)
			require.NotContains(t, p.notes, "failed", key)
			if w.model && n >= 5 {
				require.GreaterOrEqual(t, p.covers, 0.925-beyond(0.925), key)
				if !strings.Contains(p.notes, "one interval") {
					require.LessOrEqual(t, p.covers, 0.98+beyond(0.98), key)
				}
			}
			if w.study.Weibull {
				require.GreaterOrEqual(t, p.covers, 0.89-beyond(0.89), key)
			}
		}
	}
}
