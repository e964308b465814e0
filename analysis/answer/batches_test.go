package answer_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/golden"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

const batchTable = "../../testdata/answer/batches.md"

// batchSDs are the log-sds of batch faults: shakes differ by 10, 20, 30 %.
var batchSDs = []float64{0.1, 0.2, 0.3}

// batchCell is one cell of the table.
type batchCell struct{ batches, tasters int }

func batchCells() []batchCell {
	var out []batchCell
	for _, b := range []int{1, 2, 4, 8} {
		for _, n := range []int{8, 12, 24} {
			if n > b {
				out = append(out, batchCell{b, n})
			}
		}
	}
	return out
}

// TestBatchCoverage measures what a bad shake does to the median's limits, which know tasters only, and how Student's interval on
// the halves of the batches does. With -update it makes the committed table (2,000 panels a cell); otherwise 300 panels of four
// cells must agree with that table within Monte Carlo error, and the words of the page must be those of the table.
func TestBatchCoverage(t *testing.T) {
	update := flag.Lookup("update").Value.String() == "true"
	if update {
		golden.Check(t, batchTable, batchLines(t))
	}
	text, err := os.ReadFile(batchTable)
	require.NoError(t, err)
	committed := map[batchCell][]string{}
	for _, line := range strings.Split(string(text), "\n") {
		if c := cells(line); len(c) == 9 {
			b, errB := strconv.Atoi(c[1])
			n, errN := strconv.Atoi(c[2])
			if errB == nil && errN == nil {
				committed[batchCell{b, n}] = c
			}
		}
	}
	require.Len(t, committed, len(batchCells()))
	for _, c := range batchCells() {
		for i := range batchSDs {
			want := percentage(t, committed[c][3+i])
			require.InDelta(t, 100*want, float64(answer.BatchCoverage(c.batches, c.tasters)[i]), 0.5, "the page's figure for %+v", c)
		}
	}
	if testing.Short() || update {
		return
	}
	const panels = 300
	for _, c := range []batchCell{{1, 8}, {2, 12}, {4, 24}, {8, 24}} {
		for i, sd := range batchSDs {
			median, _ := c.measure(t, sd, panels)
			want := percentage(t, committed[c][3+i])
			require.InDelta(t, want, median, 4*math.Sqrt(max(want*(1-want), 0.02)*(1.0/panels+1.0/2000)), "%+v, %g", c, sd)
		}
	}
}

// batchLines makes the table.
func batchLines(t *testing.T) []byte {
	const panels = 2000
	var b bytes.Buffer
	fmt.Fprintf(&b, "# Coverage where shakes differ\n\nMade by `go test ./analysis/answer -run TestBatchCoverage -update`. %d simulated panels a cell; own limits log-normal, median 7 min, log-sd 0.35; clean replies every\n2 min to 16 min with two rounds after the first no; a batch makes all its glasses age faster or slower by a log-normal factor.\n"+
		"The first three columns are coverages, in %%, of the median's 95 %% limits (reply model, small-panel cut), which know tasters only, where shakes differ by\n10, 20, 30 %%; an evening's effect on all its drinks does the same. The last two: coverage of Student's limits on the logs of the batches' halves where\nshakes differ by 20 %%, and their mean width over that of the model's limits. Monte Carlo error: 0.5 to 1.1 points.\n\n", panels)
	fmt.Fprintln(&b, "| batches | tasters | 10 % | 20 % | 30 % | between batches, 20 % | times as wide |\n| ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
	for _, c := range batchCells() {
		line := fmt.Sprintf("| %d | %d |", c.batches, c.tasters)
		between := "  |  |"
		for _, sd := range batchSDs {
			median, s := c.measure(t, sd, panels)
			line += fmt.Sprintf(" %.1f |", 100*median)
			if sd == 0.2 && s.panels > 0 {
				between = fmt.Sprintf(" %.1f | %.1f |", 100*float64(s.covered)/float64(s.panels), s.ratio/float64(s.panels))
			}
		}
		fmt.Fprintln(&b, line+between)
	}
	return b.Bytes()
}

// betweenBatches sums up Student's limits on the halves of the batches, over the panels in which all halves are closed.
type betweenBatches struct {
	panels, covered int
	ratio           float64 // width over that of the model's limits
}

// measure gives the coverage of the median's limits over panels of one cell.
func (c batchCell) measure(t *testing.T, sd float64, panels int) (median float64, between betweenBatches) {
	t.Helper()
	s := simulate.Study{Tasters: c.tasters, Batches: c.batches, BatchSD: sd}
	held := make([]bool, panels)
	parts := make([]betweenBatches, panels)
	errs := make([]error, panels)
	resample.Each(panels, uint64(20261125+1000*c.batches+10*c.tasters)+uint64(10000000*sd), 0, func(i int, rng *rand.Rand) {
		held[i], parts[i], errs[i] = c.panel(s.Draw(rng))
	})
	n := 0
	for i := range panels {
		require.NoError(t, errs[i])
		if held[i] {
			n++
		}
		between.panels += parts[i].panels
		between.covered += parts[i].covered
		between.ratio += parts[i].ratio
	}
	return float64(n) / float64(panels), between
}

// panel tells whether the limits of one panel hold the true median.
func (c batchCell) panel(glasses []simulate.Glass) (held bool, between betweenBatches, err error) {
	model := survival.ReplyModel{Slips: answer.Slips}
	fit := func(of func(simulate.Glass) bool) (survival.ReplyEstimate, survival.ReplyKind, error) {
		var units []survival.ReplyUnit
		for _, g := range glasses {
			if !of(g) {
				continue
			}
			u := survival.ReplyUnit{Subject: g.Taster}
			for k, age := range g.Ages {
				u.Replies = append(u.Replies, survival.Reply{Age: age, Reject: g.Reject[k]})
			}
			units = append(units, u)
		}
		f, err := model.Fit(units)
		if err != nil {
			return survival.ReplyEstimate{}, 0, err
		}
		e, err := f.Quantile(nil, 0.5)
		return e, f.Kind, err
	}
	all, _, err := fit(func(simulate.Glass) bool { return true })
	if err != nil {
		return false, between, err
	}
	held = all.Lower <= trueMedian && trueMedian <= all.Upper
	if c.batches < 4 {
		return held, between, nil
	}
	var logs []float64
	for b := range c.batches {
		e, kind, err := fit(func(g simulate.Glass) bool { return g.Batch == b })
		if err != nil {
			return held, between, err
		}
		if kind != survival.ReplyInterior {
			return held, between, nil
		}
		logs = append(logs, math.Log(e.From))
	}
	mean, half := likelihood.MeanLimits(logs, 0.95)
	between.panels = 1
	if math.Abs(mean-math.Log(trueMedian)) <= half {
		between.covered = 1
	}
	between.ratio = (math.Exp(mean+half) - math.Exp(mean-half)) / (all.Upper - all.Lower)
	return held, between, nil
}
