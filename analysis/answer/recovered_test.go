package answer

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestRecoveredIsTheTable holds the page's figures against the committed table: each is the least coverage of its worlds.
func TestRecoveredIsTheTable(t *testing.T) {
	text, err := os.ReadFile("../../testdata/answer/recovery.md")
	require.NoError(t, err)
	least := func(mode string, tasters, column int, worlds ...string) float64 {
		out, found := 100.0, 0
		for _, line := range strings.Split(string(text), "\n") {
			c := strings.Split(line, "|")
			if len(c) < 12 || strings.TrimSpace(c[2]) != strconv.Itoa(tasters) || strings.TrimSpace(c[3]) != "headline" {
				continue
			}
			for _, w := range worlds {
				if strings.HasPrefix(strings.TrimSpace(c[1]), mode+", ") && strings.HasSuffix(strings.TrimSpace(c[1]), w) {
					x, err := strconv.ParseFloat(strings.TrimSpace(c[column]), 64)
					require.NoError(t, err)
					out, found = min(out, x), found+1
				}
			}
		}
		require.Positive(t, found, "%s, %d tasters: %v", mode, tasters, worlds)
		return out
	}
	const half, tenth = 5, 9
	law := []string{"noise 0, Weibull limits", "noise 0.2, Weibull limits", "noise 0, two kinds of tasters", "noise 0.2, two kinds of tasters"}
	for mode, rows := range recovered {
		name := strings.ReplaceAll(mode, "_", " ")
		if mode == "sip_through" {
			name = "sip-through"
		}
		require.Equal(t, 24, rows[len(rows)-1].tasters)
		for _, r := range rows {
			require.InDelta(t, least(name, r.tasters, half, law...), r.law, 0.51, "%s, %d tasters: another law", mode, r.tasters)
			if r.tenth > 0 {
				require.InDelta(t, least(name, r.tasters, tenth, law...), r.tenth, 0.51, "%s, %d tasters: one in ten", mode, r.tasters)
			}
			if mode == "sip_through" {
				require.InDelta(t, least(name, r.tasters, half, "noise 0.3, every minute, tasters repeat their own no (70 %)"), r.repeatedNo, 0.51, "%d tasters: repeated no", r.tasters)
				require.InDelta(t, least(name, r.tasters, half, "noise 0.4, every minute, stopped at the first no"), r.stopped, 0.51, "%d tasters: stopped at the first no", r.tasters)
			}
		}
	}
}

func TestRecoveredWords(t *testing.T) {
	part := func(n int, early bool) *LifetimePart {
		q := Quantile{P: 0.5, From: Of(7), To: Of(7), Lower: Of(5), Upper: Of(9), Level: 0.95, Status: OK}
		ten := q
		ten.P = 0.1
		return &LifetimePart{Mode: "sip_through", Unit: "taster", Units: n, Headline: &Headline{Early: early, Quantiles: []Quantile{q, ten}}}
	}
	require.Contains(t, part(24, false).lawWords(), strconv.Itoa(recoveredAt("sip_through", 24).law))
	require.Contains(t, part(100, false).lawWords(), strconv.Itoa(recoveredAt("sip_through", 24).law), "beyond the table the last")
	require.Empty(t, part(24, true).lawWords())
	require.Contains(t, part(24, false).memoryWords(), strconv.Itoa(recoveredAt("sip_through", 24).repeatedNo))
	require.Contains(t, part(24, true).stoppedWords(), strconv.Itoa(recoveredAt("sip_through", 24).stopped))
	side := part(24, false)
	side.Mode = "side_by_side"
	require.Empty(t, side.memoryWords())
}
