package answer

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the page says of curves that cannot follow stands in the table of simulated panels.
func TestWindowWarningsAreMeasured(t *testing.T) {
	b, err := os.ReadFile("../../testdata/answer/window_recovery.md")
	require.NoError(t, err)
	holds, begins := map[string]float64{}, []float64{}
	for _, line := range strings.Split(string(b), "\n") {
		c := strings.Split(line, "|")
		if len(c) < 12 || strings.TrimSpace(c[3]) != "mixed model" {
			continue
		}
		for i := range c {
			c[i] = strings.TrimSpace(c[i])
		}
		number := func(s string) float64 {
			x, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err, line)
			return x
		}
		if c[1] == "quick fall, four ages" {
			holds[c[2]] = number(c[11])
		}
		if strings.HasPrefix(c[1], "improves first, eight ages") && c[2] != "24" {
			begins = append(begins, number(c[4]))
		}
	}
	require.InDelta(t, 91, holds["5"], 0.5)
	require.InDelta(t, 72, holds["12"], 0.5)
	require.NotEmpty(t, begins)
	for _, x := range begins {
		require.GreaterOrEqual(t, x, 89.5)
		require.Less(t, x, 95.5)
	}
}
