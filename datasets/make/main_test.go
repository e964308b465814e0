package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

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
	require.Len(t, files, 13)
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

// Twelve tasters; sips under half a glass; few who waver; a small flaw of each kind.
func TestDemoIsAPlausibleEvening(t *testing.T) {
	for _, make := range evenings {
		s, _, err := make()
		require.NoError(t, err)
		e := s.Spec()
		require.Len(t, e.People, 12)
		style := e.Styles[0]
		sips := map[int]int{}
		for _, x := range s.Tastes {
			if x.Mode == panel.SipThrough {
				sips[x.Pour]++
			}
		}
		require.Len(t, sips, 12)
		for i, p := range s.Pours {
			if p.Taster != "" {
				require.Less(t, float64(sips[i])*e.SipML, style.VolumeML/2, "%s, %s: sips of a shrinking glass", e.Name, p.Taster)
				require.GreaterOrEqual(t, sips[i], 4)
			}
		}
		wavering, off, empty, gaps := flaws(s)
		require.Equal(t, []int{1, 1, 1}, []int{off, empty, gaps}, "%s: one score off the scale, one empty, one round missed", e.Name)
		require.True(t, wavering >= 1 && wavering <= 2, "%s: %d waver", e.Name, wavering)
	}
	sour, _, _ := sourEvening()
	stirred, _, _ := stirredEvening()
	require.InDelta(t, 7.5, sour.Truth.Styles[0].MedianMin, 0.6, "a sour is clearly past it by ten minutes (common practice)")
	require.InDelta(t, 11, stirred.Truth.Styles[0].MedianMin, 1)
	require.InDelta(t, 15, stirred.Truth.Styles[1].MedianMin, 1)
	require.Equal(t, sour.Truth.Tasters, stirred.Truth.Tasters, "the same people came twice")
}

// At most 15 g of ethanol in any hour and 30 g in all, for every taster and evening: planning defaults of ours, no medical
// advice. Every sip, cup and choice counts, and what is spat counts as swallowed.
func TestDemoKeepsTheLimitsOfAlcohol(t *testing.T) {
	for _, make := range evenings {
		s, _, err := make()
		require.NoError(t, err)
		for _, who := range s.Spec().People {
			in := s.Intakes(who.Name)
			require.NotEmpty(t, in)
			require.Less(t, s.EthanolG(who.Name), 30.0, "%s, %s: the evening", s.Spec().Name, who.Name)
			for i, from := range in {
				hour := 0.0
				for _, x := range in[i:] {
					if x.At < from.At+time.Hour {
						hour += x.EthanolG
					}
				}
				require.Less(t, hour, 15.0, "%s, %s: the hour from %v", s.Spec().Name, who.Name, from.At)
			}
		}
	}
}

// Three drinks over two evenings, both ways of tasting, and everything that may stand beside.
func TestDemoHoldsEveryKindOfRecord(t *testing.T) {
	found := map[string]int{}
	for _, make := range evenings {
		s, _, err := make()
		require.NoError(t, err)
		p := s.Panel()
		for _, x := range p.Tastes {
			found[p.Pours[x.Pour].Style+" "+x.Mode.String()]++
		}
		for _, r := range p.Readings {
			found[p.Pours[r.Pour].Style+" "+r.Quantity]++
		}
		for _, c := range p.Choices {
			found[p.Pours[c.PourA].Style+" "+c.Test+" "+c.Answer]++
		}
		for _, x := range p.Paces {
			found[x.Style+" pace"]++
			if !x.Finished {
				require.NotEqual(t, panel.WhyNotSaid, x.Why)
				found[x.Why.String()]++
			}
		}
	}
	for _, kind := range []string{"sour sip_through", "stirred sip_through", "highball side_by_side", "sour temperature", "sour foam", "stirred temperature",
		"highball temperature", "highball co2", "highball paired right", "highball paired wrong", "sour pace", "stirred pace", "highball pace", "drink", "left"} {
		require.Positive(t, found[kind], "%s among %v", kind, found)
	}
	require.Equal(t, 72, found["highball side_by_side"], "six ages for each taster")
	require.Zero(t, found["stirred foam"])
}

// flaws counts wavering glasses, scores off the scale, empty scores and missed rounds.
func flaws(s *simulate.Session) (wavering, off, empty, gaps int) {
	no, back, round := map[int]bool{}, map[int]bool{}, map[int]int{}
	for _, x := range s.Tastes {
		if x.Mode == panel.SideBySide { // each reply is about another glass
			continue
		}
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
		pour := func(p *panel.Panel, i int) panel.Pour {
			x := p.Pours[i]
			x.Origin = panel.Origin{}
			return x
		}
		require.Len(t, got.Readings, len(want.Readings))
		for k, g := range got.Readings {
			w := want.Readings[k]
			require.Equal(t, pour(want, w.Pour), pour(got, g.Pour), "%s, glass of reading %d", name, k+1)
			g.Origin, g.Pour = panel.Origin{}, w.Pour
			require.Equal(t, w, g, "%s, reading %d", name, k+1)
		}
		require.Len(t, got.Choices, len(want.Choices))
		for k, g := range got.Choices {
			w := want.Choices[k]
			require.Equal(t, pour(want, w.PourA), pour(got, g.PourA), "%s, older of choice %d", name, k+1)
			require.Equal(t, pour(want, w.PourB), pour(got, g.PourB), "%s, younger of choice %d", name, k+1)
			g.Origin, g.PourA, g.PourB = panel.Origin{}, w.PourA, w.PourB
			require.Equal(t, w, g, "%s, choice %d", name, k+1)
		}
		require.Len(t, got.Paces, len(want.Paces))
		for k, g := range got.Paces {
			g.Origin = panel.Origin{}
			require.Equal(t, want.Paces[k], g, "%s, pace %d", name, k+1)
		}
	}
}
