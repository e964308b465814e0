package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
	"lastsip/analysis/simulate"
	"lastsip/datasets"
)

var evenings = []func() (*simulate.Session, simulate.Format, error){sourEvening, stirredEvening}

// The committed files are what this program makes, byte for byte, and nothing else lies beside them.
func TestDemoIsWhatIsCommitted(t *testing.T) {
	files, err := demo()
	require.NoError(t, err)
	require.Len(t, files, 8)
	seen := 0
	for _, name := range datasets.Names() {
		entries, err := os.ReadDir(filepath.Join("..", name))
		require.NoError(t, err)
		for _, e := range entries {
			seen++
			got, err := os.ReadFile(filepath.Join("..", name, e.Name()))
			require.NoError(t, err)
			want, ok := files[name+"/"+e.Name()]
			require.True(t, ok, "%s/%s is not made by this program", name, e.Name())
			require.Equal(t, string(want), string(got), "%s/%s: run go run ./datasets/make", name, e.Name())
		}
	}
	require.Equal(t, len(files), seen)
}

func TestWriteRefusesAnotherFolder(t *testing.T) {
	dir := t.TempDir()
	require.ErrorContains(t, write(dir), "top of the repository")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, entries, "nothing half-written")
}

// Twelve tasters; sips under half a glass; ethanol under 15 g (a planning default of ours); few who waver; a small flaw of each kind.
func TestDemoIsAPlausibleEvening(t *testing.T) {
	for _, make := range evenings {
		s, _, err := make()
		require.NoError(t, err)
		e := s.Spec()
		require.Len(t, e.People, 12)
		require.Len(t, s.Truth.Batches, 6)
		style := e.Styles[0]
		require.Empty(t, e.Styles[1:])
		sips := map[int]int{}
		for _, x := range s.Tastes {
			sips[x.Pour]++
		}
		for i, p := range s.Pours {
			require.Less(t, float64(sips[i])*e.SipML, style.VolumeML/2, "%s, %s: sips of a shrinking glass", e.Name, p.Taster)
			require.GreaterOrEqual(t, sips[i], 4)
		}
		for _, who := range e.People {
			require.Less(t, s.EthanolG(who.Name), 15.0, "%s, %s", e.Name, who.Name)
			require.Positive(t, s.EthanolG(who.Name))
		}
		wavering, off, empty, gaps := flaws(s)
		require.Equal(t, []int{1, 1, 1}, []int{off, empty, gaps}, "%s: one score off the scale, one empty, one round missed", e.Name)
		require.True(t, wavering >= 1 && wavering <= 2, "%s: %d waver", e.Name, wavering)
	}
	sour, _, _ := sourEvening()
	stirred, _, _ := stirredEvening()
	require.InDelta(t, 7.5, sour.Truth.Styles[0].MedianMin, 0.6, "a sour is clearly past it by ten minutes (common practice)")
	require.InDelta(t, 11, stirred.Truth.Styles[0].MedianMin, 1)
	require.Equal(t, sour.Truth.Tasters, stirred.Truth.Tasters, "the same people came twice")
}

// flaws counts wavering glasses, scores off the scale, empty scores and missed rounds.
func flaws(s *simulate.Session) (wavering, off, empty, gaps int) {
	no, back, round := map[int]bool{}, map[int]bool{}, map[int]int{}
	for _, x := range s.Tastes {
		if x.Verdict == panel.Accept && no[x.Pour] {
			back[x.Pour] = true
		}
		no[x.Pour] = no[x.Pour] || x.Verdict == panel.Reject
		if x.Round != round[x.Pour]+1 {
			gaps++
		}
		round[x.Pour] = x.Round
		for _, sc := range x.Scores {
			switch {
			case !sc.Given:
				empty++
			case sc.Value > 10:
				off++
			}
		}
	}
	return len(back), off, empty, gaps
}

// The reader makes of the built-in folders exactly the panel that was recorded.
func TestDemoReadsBack(t *testing.T) {
	for i, name := range datasets.Names() {
		fsys, err := datasets.Open(name)
		require.NoError(t, err)
		folder, err := panelcsv.Read(fsys, name)
		require.NoError(t, err)
		s, _, err := evenings[i]()
		require.NoError(t, err)
		got, want := folder.Panel, s.Panel()
		got.Sessions[0].Dir = ""
		require.Equal(t, want.Attributes, got.Attributes)
		require.Equal(t, want.Sessions, got.Sessions)
		require.Equal(t, want.LeftOut, got.LeftOut)
		got.Settings.Taken = nil
		require.Equal(t, want.Settings, got.Settings)
		require.Len(t, got.Tastes, len(want.Tastes))
		for k, g := range got.Tastes {
			w := want.Tastes[k]
			gp, wp := got.Pours[g.Pour], want.Pours[w.Pour]
			require.True(t, g.AgeFrom == panel.AgeStated || g.AgeFrom == panel.AgeClock)
			g.Origin, g.Pour, g.AgeFrom, gp.Origin = panel.Origin{}, w.Pour, w.AgeFrom, panel.Origin{}
			require.Equal(t, w, g, "%s, taste %d", name, k+1)
			require.Equal(t, wp, gp, "%s, glass of taste %d", name, k+1)
		}
		require.Len(t, folder.Findings, 1, "%s: the score off the scale, and nothing else: %v", name, folder.Findings)
		require.NoError(t, got.Validate())
		require.False(t, slices.ContainsFunc(got.Tastes, func(x panel.Taste) bool { return x.Mode != panel.SipThrough }))
	}
}
