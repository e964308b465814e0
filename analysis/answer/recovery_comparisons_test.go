package answer_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/golden"
)

const comparisonsTable = "../../testdata/answer/recovery_comparisons.md"

// TestRecoveryComparisons does for two styles what TestRecovery does for one, with a table of its own.
func TestRecoveryComparisons(t *testing.T) {
	seed := recoverySeed(t)
	if flag.Lookup("update").Value.String() == "true" {
		makeComparisons(t, seed)
		return
	}
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	committed := readRecovery(t, comparisonsTable)
	known := 0
	for _, w := range comparisonWorlds() {
		if _, ok := checkedComparisons[w.name]; ok {
			known++
		}
		for _, n := range checkedComparisons[w.name] {
			for _, l := range w.of(n).run(seed+1, checkPanels) {
				want, ok := committed[l.key()]
				require.True(t, ok, "%s is not in the committed table: run with -update", l.key())
				l.same(t, want)
			}
		}
	}
	require.Equal(t, len(checkedComparisons), known, "a cell to be checked is no world of the table")
}

var checkedComparisons = map[string][]int{
	"sip-through, same tasters, correlation 0.6, ratio 1":           {5},
	"side by side 4, 7, 11, same tasters, correlation 0, ratio 1.3": {8},
	"sip-through, different tasters, ratio 1.3":                     {12},
}

// makeComparisons writes the table. How far it is goes to the terminal, as it takes long.
func makeComparisons(t *testing.T, seed uint64) {
	var b bytes.Buffer
	fmt.Fprintf(&b, comparisonIntro, comparisonPanels, seed, commit())
	b.WriteString("\n## " + groupCompare + "\n\n" + comparisonRow)
	worlds := comparisonWorlds()
	for i, w := range worlds {
		for _, n := range comparisonTasters {
			for _, l := range w.of(n).run(seed, comparisonPanels) {
				b.WriteString(l.String())
				t.Log(l.String())
			}
			fmt.Fprintf(os.Stderr, "recovery: comparison %d of %d, %d tasters: %s\n", i+1, len(worlds), n, w.name)
		}
	}
	golden.Check(t, comparisonsTable, b.Bytes())
}

func (l comparisonLine) same(t *testing.T, want printed) {
	t.Helper()
	l.ratio.same(t, l.key(), want.half, checkPanels, comparisonPanels)
	sameShare(t, l.key()+": rejects", l.rejects, want.rejects, checkPanels, comparisonPanels)
}

// TestRecoveryComparisonsHold asserts on the committed table that tests at 5 % reject no more where two styles are alike: permutations 5 %,
// the paired model 7.5 %, beyond Monte Carlo error.
func TestRecoveryComparisonsHold(t *testing.T) {
	committed := readRecovery(t, comparisonsTable)
	for _, w := range comparisonWorlds() {
		for _, n := range comparisonTasters {
			for method, bar := range map[string]float64{byModel: 0.075, byPermutation: alpha} {
				key := comparisonLine{name: w.name, tasters: n, method: method}.key()
				p, ok := committed[key]
				require.True(t, ok, "%s is not in the committed table: run with -update", key)
				if strings.Contains(p.notes, "failed") {
					t.Errorf("%s: %s", key, p.notes)
				}
				if w.pair.Ratio == 1 && p.rejects > bar+beyond(bar, comparisonPanels) {
					t.Errorf("%s: rejects %.3f, above %.3f", key, p.rejects, bar)
				}
			}
		}
	}
}

func (l comparisonLine) key() string {
	return fmt.Sprint(groupCompare, "|", l.name, "|", l.tasters, "|", l.method)
}
