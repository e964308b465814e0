package mixed_test

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

	"lastsip/analysis/golden"
)

const (
	recoveryTable  = dir + "recovery.md"
	recoverySeed   = 20261126
	recoveryPanels = 1000
	jointPanels    = 250 // with max-t limits, which take longer than all else
	checkPanels    = 40
	checkJoint     = 10
)

// TestRecovery simulates panels whose truth is known and compares what contrasts say with it. With -update (and -timeout 30m) it
// makes the committed table; otherwise small runs of other panels must agree with that table within Monte Carlo error.
func TestRecovery(t *testing.T) {
	if flag.Lookup("update").Value.String() == "true" {
		makeRecovery(t)
		return
	}
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	committed := readRecovery(t)
	for _, cell := range []struct{ model, tasters int }{{0, 5}, {1, 12}} {
		lines, err := usualWorld(cell.tasters).run(recoverySeed+1, checkPanels, checkJoint, recoveryModels[cell.model])
		require.NoError(t, err)
		for _, l := range lines {
			want, ok := committed[l.key()]
			require.True(t, ok, "%s is not in the committed table: run with -update", l.key())
			l.same(t, want)
		}
	}
}

// makeRecovery writes the table. How far it is goes to the terminal, as it takes some minutes.
func makeRecovery(t *testing.T) {
	var b bytes.Buffer
	fmt.Fprintf(&b, recoveryIntro, recoveryPanels, recoverySeed, jointPanels)
	for _, model := range recoveryModels {
		fmt.Fprintf(&b, "\n## %s\n\n%s", model.name, recoveryHead)
		for _, n := range model.tasters {
			lines, err := usualWorld(n).run(recoverySeed, recoveryPanels, jointPanels, model)
			require.NoError(t, err)
			for _, l := range lines {
				b.WriteString(l.String())
			}
			fmt.Fprintf(os.Stderr, "recovery: %s, %d tasters\n", model.name, n)
		}
	}
	golden.Check(t, recoveryTable, b.Bytes())
}

// readRecovery reads the lines of the committed table by their key.
func readRecovery(t *testing.T) map[string]recoveryLine {
	t.Helper()
	text, err := os.ReadFile(recoveryTable)
	require.NoError(t, err)
	number := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		x, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return x
	}
	out := map[string]recoveryLine{}
	for _, line := range strings.Split(string(text), "\n") {
		c := strings.Split(line, " | ")
		if len(c) != 12 || strings.HasPrefix(line, "| model") || strings.HasPrefix(line, "| ---") {
			continue
		}
		tasters, err := strconv.Atoi(c[1])
		require.NoError(t, err)
		l := recoveryLine{model: strings.TrimPrefix(c[0], "| "), tasters: tasters, family: c[2], method: c[3], bias: number(c[4]), error: number(c[5]),
			covers: number(c[6]) / 100, least: number(c[7]) / 100, joint: number(c[8]) / 100, width: number(c[9]), wider: number(c[10])}
		if strings.Contains(c[11], "failed") {
			l.failed = 1
		}
		require.NotContains(t, out, l.key(), "a line stands twice in the table")
		out[l.key()] = l
	}
	return out
}

// same holds a small run against the committed line, as far as the Monte Carlo error of shares allows.
func (l recoveryLine) same(t *testing.T, want recoveryLine) {
	t.Helper()
	hold := func(what string, got, want float64, panels, of int) {
		error := math.Sqrt(max(want*(1-want), 0.0025) * (1/float64(panels) + 1/float64(of)))
		require.InDelta(t, want, got, 4*error, "%s: %s differs from the committed table", l.key(), what)
	}
	hold("covers", l.covers, want.covers, checkPanels, recoveryPanels)
	require.Less(t, math.Abs(l.bias), 5*l.error, "%s: bias", l.key())
	require.InEpsilon(t, want.width, l.width, 0.25, "%s: width", l.key())
	require.Equal(t, math.IsNaN(want.joint), math.IsNaN(l.joint), "%s: max-t limits", l.key())
	if !math.IsNaN(want.joint) {
		hold("max-t covers", l.joint, want.joint, checkJoint, jointPanels)
		require.InEpsilon(t, want.wider, l.wider, 0.25, "%s: max-t width", l.key())
	}
	require.Zero(t, l.failed, l.key())
}

// TestRecoveryHolds asserts on the committed table what limits must do where the model is right: with Kenward and Roger's degrees
// of freedom every contrast covers at least 93 %, and each family at once, beyond the larger Monte Carlo error of that; estimates are
// unbiased; no fit fails.
func TestRecoveryHolds(t *testing.T) {
	committed, lines := readRecovery(t), 0
	for _, model := range recoveryModels {
		for _, n := range model.tasters {
			lines += len(familyNames) * len(recoveryMethods)
			for _, family := range familyNames {
				for _, method := range recoveryMethods {
					key := recoveryLine{model: model.name, tasters: n, family: family, method: recoveryMethodNames[method]}.key()
					l, ok := committed[key]
					require.True(t, ok, "%s is not in the committed table: run with -update", key)
					if l.failed > 0 || math.Abs(l.bias) > 4*l.error {
						t.Errorf("%s: failed fits, or a bias of %.4f with an error of %.4f", key, l.bias, l.error)
					}
					if model.own && method == recoveryMethods[0] && (l.least < 0.93 || l.joint < 0.93-beyond(0.93, jointPanels)) {
						t.Errorf("%s: a contrast covers %.3f, all at once %.3f: below 0.93", key, l.least, l.joint)
					}
				}
			}
		}
	}
	require.Len(t, committed, lines)
}

// beyond is two Monte Carlo standard errors of a share.
func beyond(share float64, panels int) float64 {
	return 2 * math.Sqrt(share*(1-share)/float64(panels))
}

const recoveryIntro = `# What contrasts of the mixed model recover

Made by ` + "`go test ./analysis/mixed -run TestRecovery -update -timeout 30m`" + `: %d simulated panels a cell, seed %d. Every taster tastes
three styles at eight ages (0, 2, 4, 6, 8, 10, 13, 16 min) on three evenings, each time from one of the two batches which that evening has of
the style; half of the tasters share a batch. Standard deviations in points: tasters' offset 0.8, slope 0.06 per minute, taster:style
0.3, evening 0.3, batch 0.2, residual 1. The true curves are natural cubic splines on the model's knots. Model: style * age as named, evenings
as fixed sum-coded terms (the target is "these evenings"), random taster intercept and slope, batch and taster:style (left out in the last part).

"Bias": mean of estimate less truth of the contrast of the family for which it is most of its Monte Carlo errors away from 0, with that error;
points, or points per minute. "Covers": panels, in %%, whose 95 %% limits hold the truth, mean over the family's contrasts; "least": of the worst
contrast; "max-t covers": of the first %d panels, those whose simultaneous limits hold all of the family's truths at once. Widths: means over panels and
contrasts. Notes: panels, in %%. Nothing is dropped. Monte Carlo error of a coverage: 0.7 points where it is 95, of max-t 1.4. Ages against fresh: 7 contrasts, styles 3, slopes (least squares through the eight
expected scores) 3.
`
