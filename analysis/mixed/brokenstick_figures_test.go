package mixed_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/golden"
)

const (
	onsetFile   = dir + "onset.md"
	onsetPanels = 1000
	curvePanels = 400 // of a decline that is not straight
	onsetDraws  = 99
)

// bendWorld is a truth from which panels are drawn.
type bendWorld struct {
	name    string
	tasters int
	psi     float64 // where the curve bends; 0 for nowhere
	curve   func(age float64) float64
}

// panels is how many make the row of a drawn test.
func (w bendWorld) panels() int {
	if w.name == "straight" {
		return onsetPanels
	}
	return curvePanels
}

func (w bendWorld) key() string { return fmt.Sprintf("%s | %d", w.name, w.tasters) }

func coverageWorlds() (out []bendWorld) {
	for _, n := range []int{3, 5, 8, 12} {
		out = append(out,
			bendWorld{"at 5 min by 0.2", n, 5, broken(5, 0.2)}, bendWorld{"at 5 min by 0.4", n, 5, broken(5, 0.4)},
			bendWorld{"at 6 min by 0.3", n, 6, broken(6, 0.3)}, bendWorld{"at 9 min by 0.3", n, 9, broken(9, 0.3)})
	}
	return out
}

// power falls by 4 points over the 14 minutes, ever faster where k > 1.
func power(k float64) func(age float64) float64 {
	return func(age float64) float64 { return 8 - 4*math.Pow(age/14, k) }
}

func testWorlds() (out []bendWorld) {
	for _, n := range []int{5, 12} {
		out = append(out,
			bendWorld{"straight", n, 0, straightFall}, bendWorld{"smooth, age to the 1.5", n, 0, power(1.5)}, bendWorld{"smooth, age squared", n, 0, power(2)},
			bendWorld{"smooth, age cubed", n, 0, power(3)}, bendWorld{"broken at 6 min by 0.2", n, 6, broken(6, 0.2)}, bendWorld{"broken at 6 min by 0.4", n, 6, broken(6, 0.4)})
	}
	return out
}

// coverage draws panels and gives, at the true place, twice the likelihood below its maximum, and how often the set at 4.9 is
// open and has several pieces.
func (w bendWorld) coverage(t testing.TB, seed uint64, panels int) (below []float64, open, pieces int) {
	for i := range panels {
		b := bend(t, onset(4.9), decline(rand.New(rand.NewPCG(seed, uint64(i))), w.tasters, w.curve).table(t))
		above, err := b.Profile(w.psi)
		require.NoError(t, err)
		require.False(t, math.IsNaN(above[0]), b.Warnings())
		below = append(below, above[0])
		set := b.Set()
		if set[0].OpenLower || set[len(set)-1].OpenUpper {
			open++
		}
		if len(set) > 1 {
			pieces++
		}
	}
	slices.Sort(below)
	return below, open, pieces
}

// called counts the panels whose drawn p is at most 0.05.
func (w bendWorld) called(t testing.TB, seed uint64, panels int) (count, failed int) {
	for i := range panels {
		b := bend(t, onset(4.9), decline(rand.New(rand.NewPCG(seed, uint64(i))), w.tasters, w.curve).table(t))
		draws, err := b.Bootstrap(uint64(i), onsetDraws)
		require.NoError(t, err)
		failed += draws.Failed
		if draws.P <= 0.05 {
			count++
		}
	}
	return count, failed
}

// share of sorted values up to cut, in %.
func share(values []float64, cut float64) float64 {
	k, _ := slices.BinarySearch(values, math.Nextafter(cut, math.Inf(1)))
	return 100 * float64(k) / float64(len(values))
}

func percent(count, of int) float64 { return 100 * float64(count) / float64(of) }

// TestOnsetFigures makes testdata/mixed/onset.md with -update (and -timeout 60m); otherwise a few of its cells, drawn from
// other seeds with 200 panels, must agree with it within four Monte Carlo errors.
func TestOnsetFigures(t *testing.T) {
	if flag.Lookup("update").Value.String() == "true" {
		makeOnset(t)
		return
	}
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	const panels = 200
	table := readOnset(t)
	agrees := func(t *testing.T, got, want float64, of int) {
		t.Helper()
		p := min(max(want/100, 0.02), 0.98)
		require.InDelta(t, want, got, 400*math.Sqrt(p*(1-p)*(1.0/panels+1/float64(of))))
	}
	for _, w := range coverageWorlds() {
		if w.psi == 5 && (w.tasters == 5 || w.tasters == 12) {
			t.Run(w.key(), func(t *testing.T) {
				below, open, _ := w.coverage(t, 20320311, panels)
				row := table[w.key()]
				require.Len(t, row, 6)
				cut, column := 4.9, 2
				if w.tasters >= 12 {
					cut, column = 4.7, 1
				}
				agrees(t, share(below, cut), row[column], onsetPanels)
				agrees(t, percent(open, panels), row[4], onsetPanels)
				require.InDelta(t, 95, share(below, cut), 400*math.Sqrt(0.95*0.05/panels), "what the cuts are for")
			})
		}
	}
	for _, w := range testWorlds() {
		if w.tasters == 5 && (w.name == "straight" || w.name == "smooth, age squared") {
			t.Run(w.key(), func(t *testing.T) {
				count, failed := w.called(t, 20320312, panels)
				require.Zero(t, failed)
				row := table[w.key()]
				require.Len(t, row, 1)
				agrees(t, percent(count, panels), row[0], w.panels())
			})
		}
	}
}

// readOnset gives the numbers of each row of the committed tables under its first two cells.
func readOnset(t testing.TB) map[string][]float64 {
	text, err := os.ReadFile(onsetFile)
	require.NoError(t, err)
	out := map[string][]float64{}
	for _, line := range strings.Split(string(text), "\n") {
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if len(cells) < 3 || !strings.HasPrefix(line, "|") {
			continue
		}
		var values []float64
		for _, c := range cells[2:] {
			var v float64
			if _, err := fmt.Sscanf(c, "%g", &v); err == nil {
				values = append(values, v)
			}
		}
		out[cells[0]+" | "+cells[1]] = values
	}
	return out
}

func makeOnset(t *testing.T) {
	var b bytes.Buffer
	fmt.Fprintf(&b, `# Where the decline bends: coverage of the set, and how often a bend is found

Made by %s. %d simulated panels a row (%d for the curves below): every taster scores at
0, 2, ... 14 min, own level (sd 0.8) and slope (sd 0.05 a minute), reading error 0.7 points; fitted with random intercept and slope.

## The profile set

The mean falls by 0.05 points a minute, from the bend on faster by the figure given. Coverage of {psi: 2 (l_max - l) <= cut}, in %%, at three cuts; the cut
that would cover 95 %%; share of sets at 4.9 that are open at the edge of the range searched, and that have several pieces, in %%. Monte Carlo error: 0.7 points.

| bend | tasters | 3.84 | 4.7 | 4.9 | cut for 95 %% | open | several |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
`, "`go test ./analysis/mixed -run TestOnsetFigures -update -timeout 60m`", onsetPanels, curvePanels)
	for _, w := range coverageWorlds() {
		below, open, pieces := w.coverage(t, 20320310, onsetPanels)
		fmt.Fprintf(&b, "| %s | %.1f | %.1f | %.1f | %.2f | %.1f | %.1f |\n", w.key(), share(below, 3.841), share(below, 4.7), share(below, 4.9),
			below[len(below)*95/100-1], percent(open, onsetPanels), percent(pieces, onsetPanels))
		t.Log(w.key())
	}
	fmt.Fprintf(&b, `
## The drawn test

Share of panels with p of at most 0.05 in %d draws, in %%. Under "straight" it should be 5 (Monte Carlo error 0.7; of the others up to 2.5). The smooth curves fall by 4 points in 14 min, ever
faster: two lines fit them better than one, so that they are called a bend. A bend is no proof of a break.

| decline | tasters | p <= 0.05 |
| --- | ---: | ---: |
`, onsetDraws)
	for _, w := range testWorlds() {
		count, failed := w.called(t, 20320310, w.panels())
		require.Zero(t, failed, w.key())
		fmt.Fprintf(&b, "| %s | %.1f |\n", w.key(), percent(count, w.panels()))
		t.Log(w.key())
	}
	golden.Check(t, onsetFile, b.Bytes())
}
