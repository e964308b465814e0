package answer_test

import (
	"bytes"
	"flag"
	"fmt"
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
	committed := readRecovery(t, recoveryTable)
	seed := recoverySeed(t) + 1 // other panels than the table's, which a smaller run would else repeat
	known := 0
	for _, w := range recoveryWorlds() {
		if _, ok := checkedCells[w.group+"|"+w.name]; ok {
			known++
		}
		for _, n := range checkedCells[w.group+"|"+w.name] {
			for _, l := range w.of(n).run(seed, checkPanels) {
				want, ok := committed[l.key()]
				require.True(t, ok, "%s is not in the committed table: run with -update", l.key())
				l.same(t, want)
			}
		}
	}
	require.Equal(t, len(checkedCells), known, "a cell to be checked is no world of the table")
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
				t.Log(l.String())
			}
			fmt.Fprintf(os.Stderr, "recovery: %d of %d worlds, %d tasters: %s, %s\n", i+1, len(worlds), n, w.group, w.name)
		}
	}
	head := fmt.Sprintf(recoveryIntro, recoveryPanels, seed, commit()) + recoverySummary(lines)
	golden.Check(t, recoveryTable, []byte(head+b.String()+earlierTable(lines)))
}

// commit names the last change of the estimators, for the reader of the table; unknown where there is no git.
func commit() string {
	out, err := exec.Command("git", "log", "-1", "--format=%h", "--", "../survival", "../internal").Output()
	if err != nil {
		return "unknown"
	}
	return strings.TrimSpace(string(out))
}
