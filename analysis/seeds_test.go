package analysis_test

import (
	crand "crypto/rand"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
	"lastsip/analysis/simulate"
)

// unseen invents an evening that nothing was tuned to: names, scale, ages and time of night from the stream.
func unseen(rng *rand.Rand) (simulate.Evening, simulate.Format) {
	word := func() string {
		syllables := []string{"ba", "lu", "ré", "ko", "mi", "Øs", "ta", "ñe", "vul", "sh", "or", "; ", "'", ","}
		s := string(rune('a' + rng.IntN(26)))
		for range 2 + rng.IntN(3) {
			s += syllables[rng.IntN(len(syllables))]
		}
		return s + string(rune('a'+rng.IntN(26)))
	}
	ages := []float64{0.5 + rng.Float64()}
	for ages[len(ages)-1] < 15 {
		ages = append(ages, ages[len(ages)-1]+0.8+1.7*rng.Float64())
	}
	style := simulate.Sour()
	style.Name, style.Serve = word(), word()
	style.Median = 5 + 4*rng.Float64()
	low := float64(rng.IntN(3) - 1)
	high := low + float64(5*(1+rng.IntN(20)))
	e := simulate.Evening{
		Name: "night " + strconv.Itoa(rng.IntN(1000)), Start: fmt.Sprintf("23:%02d", 40+rng.IntN(20)),
		Tasters: 8 + rng.IntN(5), Ages: ages, Low: low, High: high, Step: (high - low) / 50,
		Styles: []simulate.Style{style},
	}
	first := word()
	e.Attributes = []simulate.Attribute{{Name: first, AirLoss: 4, WarmLoss: 0.3}, {Name: word() + "2", Better: panel.BetterLow, AirLoss: 6}}
	e.Overall = first
	return e, simulate.Format{Separator: ';', DecimalComma: true, CRLF: rng.IntN(2) == 0, BOM: rng.IntN(2) == 0, ClockTimes: true, Columns: rng, Accept: "yes", Reject: "no"}
}

// TestUnseenSessions makes sessions from a random seed (LASTSIP_SEED repeats one), reads them, and asks how long the drink
// lasts. The reading must be exact; over 100 evenings the true median lies within the 95 % limits in 95 or more. The exact
// limits cover 99 to 100 % (testdata/answer/coverage.md), so a failure by chance is out of the question (below 1e-6). The headline's
// narrower ones hold it in about 94 of 100: 80, and 4 of 10, are missed by chance once in a million.
func TestUnseenSessions(t *testing.T) {
	seed := randomSeed(t)
	t.Logf("seed %d: LASTSIP_SEED=%d repeats this run", seed, seed)
	evenings := 100
	if testing.Short() {
		evenings = 10
	}
	inside, closed, width, headline := 0, 0, 0.0, 0
	for i := range evenings {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		spec, format := unseen(rng)
		session, err := spec.Run(rng)
		require.NoError(t, err)
		files, err := session.Files(format)
		require.NoError(t, err)
		readExactly(t, session, files, spec.Name)
		study, err := analysis.Open(write(t, files, spec.Name))
		require.NoError(t, err)
		require.Equal(t, []string{spec.Styles[0].Name}, study.Styles())
		life, err := study.Lifetime(study.Styles()[0])
		require.NoError(t, err)
		truth := session.Truth.Styles[0].MedianMin
		q := life.Parts[0].Quantiles[0]
		if q.Lower.Float() <= truth && truth <= q.Upper.Float() {
			inside++
		}
		if h := life.Parts[0].Headline.Quantiles[0]; h.Lower.Float() <= truth && truth <= h.Upper.Float() {
			headline++
		}
		if q.Upper.Finite() {
			closed++
			width += q.Upper.Float() - q.Lower.Float()
		}
	}
	t.Logf("true median inside the limits in %d of %d evenings; mean width %.1f min over %d with both ends closed", inside, evenings, width/float64(max(closed, 1)), closed)
	require.GreaterOrEqual(t, inside, evenings*95/100)
	t.Logf("and inside the headline's in %d", headline)
	require.GreaterOrEqual(t, headline, map[bool]int{true: 4, false: 80}[testing.Short()])
}

func randomSeed(t *testing.T) uint64 {
	t.Helper()
	if s := os.Getenv("LASTSIP_SEED"); s != "" {
		seed, err := strconv.ParseUint(s, 10, 64)
		require.NoError(t, err, "LASTSIP_SEED")
		return seed
	}
	var b [8]byte
	_, err := crand.Read(b[:])
	require.NoError(t, err)
	return binary.LittleEndian.Uint64(b[:])
}

// readExactly compares what was read with what was invented, row by row.
func readExactly(t *testing.T, s *simulate.Session, files map[string][]byte, name string) {
	t.Helper()
	fsys := fstest.MapFS{}
	for n, b := range files {
		fsys[n] = &fstest.MapFile{Data: b}
	}
	got, err := panelcsv.Read(fsys, name)
	require.NoError(t, err)
	want := s.Panel()
	require.Len(t, got.Panel.Tastes, len(want.Tastes))
	column := map[string]int{}
	for i, a := range got.Panel.Attributes {
		column[a.Name] = i
	}
	for i, w := range want.Tastes {
		g := got.Panel.Tastes[i]
		gp, wp := got.Panel.Pours[g.Pour], want.Pours[w.Pour]
		require.Equal(t, []any{w.Taster, w.Age, w.Planned, w.Verdict, w.Mode}, []any{g.Taster, g.Age, g.Planned, g.Verdict, g.Mode}, "row %d", i)
		require.Equal(t, []any{wp.ID, wp.Style, wp.Serve, wp.Batch, wp.VolumeML}, []any{gp.ID, gp.Style, gp.Serve, gp.Batch, gp.VolumeML}, "row %d", i)
		for k, a := range want.Attributes {
			require.Contains(t, column, a.Name)
			require.Equal(t, w.Scores[k], g.Scores[column[a.Name]], "row %d, %s", i, a.Name)
		}
	}
	for _, a := range want.Attributes {
		require.Equal(t, a, got.Panel.Attributes[column[a.Name]])
	}
	require.Equal(t, want.Settings.Overall, got.Panel.Settings.Overall)
	require.Equal(t, want.Settings.RejectLimit, got.Panel.Settings.RejectLimit)
}

func write(t *testing.T, files map[string][]byte, name string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.Mkdir(dir, 0o755))
	for n, b := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, n), b, 0o644))
	}
	return dir
}
