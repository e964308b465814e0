package simulate_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/panel"
	"lastsip/analysis/simulate"
)

// CO2 goes first order and water comes zero order: closed form, with the rates that a highball has by default.
func TestHighballPhysics(t *testing.T) {
	h := run(t, simulate.Evening{Styles: []simulate.Style{{Name: "highball"}}}, 40).Spec().Styles[0]
	mathtest.Close(t, "half-life of CO2", h.GasLeft(math.Ln2/0.035), 0.5, 1e-12, "exp(-g a) at ln 2 / g")
	mathtest.Close(t, "water", h.Water(10), 0.08, 1e-12, "0.008 of the volume a minute")
	loss := 6.5*(1-math.Exp(-0.35)) + 14*0.08 + 0*h.WarmLoss
	mathtest.Close(t, "quality at 10", h.Quality(10, 21), 8.6-4*math.Pow(loss/4, 1.6), 1e-12, "fresh - 4 (D/4)^1.6, by hand")
	require.InDelta(t, 1, h.Temperature(20, 21), 0.5, "ice keeps it cold")
	require.Zero(t, simulate.Sour().GasGL, "a sour is still")
}

// quiet is a table without noise: 16 tasters, four ages in two flights, two groups.
func quiet() simulate.Evening {
	return simulate.Evening{Tasters: 16, ReplySD: -1, Slips: -1, Noise: -1, Jitter: -1, BatchSD: 0.2, Habits: []simulate.Habit{{Name: "plain"}},
		Tables: []simulate.Table{{Style: simulate.Highball(), Ages: []float64{3, 8, 14, 20}, Pairs: [][2]float64{{10, 1}}}}}
}

// Ages are on the table at once: each pour was made so long before its flight, and a taster's place in the flight adds to it.
func TestTable(t *testing.T) {
	s := run(t, quiet(), 41)
	require.Len(t, s.Tastes, 16*4)
	pace := map[string]float64{}
	for _, b := range s.Truth.Batches {
		pace[b.Batch] = b.Pace
	}
	require.Len(t, pace, 4*2+2*2, "every pour is its own making")
	start := map[[2]string]time.Duration{}
	orders := map[string]bool{}
	byTaster := map[string]string{}
	for i, x := range s.Tastes {
		p := s.Pours[x.Pour]
		require.Equal(t, panel.SideBySide, x.Mode)
		require.Empty(t, p.Taster, "a pour serves several")
		require.Regexp(t, `^\d{3}$`, p.ID, "a blind code")
		require.Equal(t, x.Planned+time.Duration(x.Position-1)*time.Minute, x.Age)
		begins := p.Made + x.Planned
		k := [2]string{x.Flight, x.Taster}
		if at, seen := start[k]; seen {
			require.Equal(t, at, begins, "all ages of a flight stand on the table at one time")
		}
		start[k] = begins
		byTaster[x.Taster+x.Flight] += p.ID
		l := s.Truth.Limits[i]
		require.Equal(t, x.Taster, l.Taster)
		require.Equal(t, p.ID, l.Pour)
		want := panel.Accept
		if panel.Minutes(x.Age) >= l.GlassMin {
			want = panel.Reject
		}
		require.Equal(t, want, x.Verdict)
		mathtest.Close(t, "limit of this pour", l.GlassMin, l.LimitMin/pace[p.Batch], 1e-12, "own limit over the batch's fault")
	}
	for _, o := range byTaster {
		orders[o] = true
	}
	require.Greater(t, len(orders), 4, "orders differ between tasters")
	flights := map[string]map[time.Duration]bool{}
	for _, x := range s.Tastes {
		if flights[x.Flight] == nil {
			flights[x.Flight] = map[time.Duration]bool{}
		}
		flights[x.Flight][x.Planned] = true
	}
	require.Len(t, flights, 2)
	require.True(t, flights["1"][panel.Age(3)] && flights["1"][panel.Age(14)] && flights["2"][panel.Age(8)] && flights["2"][panel.Age(20)], "ages are dealt in turn: %v", flights)
	for i, a := range s.Pours {
		require.GreaterOrEqual(t, a.Made, 22*time.Hour+30*time.Minute, "nothing is made before the evening begins")
		for _, b := range s.Pours[:i] {
			require.NotEqual(t, a.ID, b.ID, "codes are used once")
		}
	}
}

// The same taster has the same limit whichever way a style is tasted, and sip-through evenings are as they were before.
func TestTableSharesLimitsAndStreams(t *testing.T) {
	both := quiet()
	both.Styles = []simulate.Style{simulate.Sour()}
	alone := both
	alone.Tables = nil
	a, b := run(t, both, 42), run(t, alone, 42)
	require.Equal(t, b.Tastes, a.Tastes[:len(b.Tastes)], "a table changes nothing of what is sipped through")
	require.Equal(t, b.Pours, a.Pours[:len(b.Pours)])
	own := map[string]float64{}
	for _, l := range a.Truth.Limits {
		if l.Style == "highball" {
			if before, seen := own[l.Taster]; seen {
				require.Equal(t, before, l.LimitMin, "one limit for all pours of a style")
			}
			own[l.Taster] = l.LimitMin
		}
	}
	require.Len(t, own, 16)
}

// Expected shares by R 4.2.2, integrate (stats): cases pc_triangle and pc_afc2 of our reference runs.
func TestChanceRight(t *testing.T) {
	const source = "R 4.2.2, stats::integrate and pnorm (reference run of this project)"
	for _, c := range []struct {
		test    string
		d, want float64
	}{
		{"triangle", 0, 0.333333333333}, {"triangle", 0.5, 0.355834649629}, {"triangle", 1, 0.418046674715}, {"triangle", 2, 0.604806932772}, {"triangle", 3, 0.781427598596}, {"paired", 0, 0.5}, {"paired", 0.5, 0.638163195084}, {"paired", 1, 0.760249938907}, {"paired", 2, 0.921350396475}, {"paired", 3, 0.983052573238},
	} {
		mathtest.Close(t, c.test, simulate.ChanceRight(c.test, c.d), c.want, 1e-9, source)
	}
	require.True(t, math.IsNaN(simulate.ChanceRight("guess", 1)))
}

// The share of right answers follows the truth, for both tests: two thousand tasters alike, no batch faults.
func TestChoicesFollowTheTruth(t *testing.T) {
	for _, test := range []string{"paired", "triangle"} {
		e := quiet()
		e.Tasters, e.BatchSD, e.Dulled, e.Slips = 1000, -1, -1, 0.05
		e.Tables[0].Groups = 1
		e.Tables[0].Test, e.Tables[0].Pairs = test, [][2]float64{{9, 1}, {18, 1}, {6, 5}}
		s := run(t, e, 43)
		require.Len(t, s.Truth.Choices, 3)
		for k, truth := range s.Truth.Choices {
			st := s.Spec().Styles[0]
			mathtest.Close(t, "d'", truth.DPrime, st.Quality(truth.YoungerMin, 21)-st.Quality(truth.OlderMin, 21), 1e-12, "difference of quality over 1 point")
			right, n := 0, 0
			for _, c := range s.Choices {
				if c.Trial == k+1 {
					n++
					if c.Right {
						right++
					}
					mathtest.Close(t, "older age", panel.Minutes(c.AgeO), truth.OlderMin, 0.025, "made that long before")
					mathtest.Close(t, "younger age", panel.Minutes(c.AgeY), truth.YoungerMin, 0.025, "made that long before")
				}
			}
			require.Equal(t, 1000, n)
			p := truth.ChanceRight
			mathtest.Close(t, test+" share right", float64(right)/1000, p, 4*math.Sqrt(p*(1-p)/1000), "Monte Carlo: four standard errors")
		}
		require.Greater(t, s.Truth.Choices[1].ChanceRight-s.Truth.Choices[2].ChanceRight, 0.3, "the pairs differ in what there is to notice")
	}
}

// Readings scatter about the physics of the very glass by the instrument's noise, and stay on its steps.
func TestReadingsFollowThePhysics(t *testing.T) {
	var left []float64
	for n := range uint64(60) {
		e := quiet()
		e.Styles = []simulate.Style{simulate.Sour()}
		e.Ages, e.Wave, e.ProbeAges = []float64{1}, simulate.Tick, []float64{0.5, 4, 9, 15}
		s := run(t, e, 100+n)
		pace := map[string]float64{}
		for _, b := range s.Truth.Batches {
			pace[b.Batch] = b.Pace
		}
		require.Len(t, s.Readings, 4*(2+2), "sour: temperature and foam; highball: temperature and CO2")
		for _, r := range s.Readings {
			p := s.Pours[r.Pour]
			require.Empty(t, p.Taster, "nobody drinks from it")
			st, a := s.Spec().Styles[p.Style], panel.Minutes(r.Age)*pace[p.Batch]
			switch r.Quantity {
			case "temperature":
				require.Equal(t, "C", r.Unit)
				left = append(left, r.Value-st.Temperature(a, 21))
			case "foam":
				require.Equal(t, "sour", st.Name)
				mathtest.Close(t, "foam", r.Value, 9*math.Exp(-0.14*a), 4.5*0.3+0.25, "mm, 4.5 sd of the ruler and half a step")
			case "co2":
				require.Equal(t, "highball", st.Name)
				mathtest.Close(t, "CO2", r.Value, 6*math.Exp(-0.035*a), 4.5*0.08+0.025, "g/L, 4.5 sd of the meter and half a step")
			}
			require.GreaterOrEqual(t, r.Age, time.Duration(0))
		}
	}
	mean, sd := moments(left)
	n := float64(len(left))
	mathtest.Close(t, "thermometer bias", mean, 0, 4*0.153/math.Sqrt(n), "Monte Carlo: four standard errors")
	mathtest.Close(t, "thermometer sd", sd, math.Sqrt(0.15*0.15+0.01/12), 4*0.153/math.Sqrt(2*n), "0.15 and rounding to 0.1 (variance 0.01/12)")
}

// Guests: finished ones took their pace; one whose drink died left at the own limit, before most of it was had.
func TestPaces(t *testing.T) {
	given := simulate.Sour()
	given.Median, given.LogSD = 600, -1 // it never dies
	s := run(t, simulate.Evening{Styles: []simulate.Style{given}, Guests: 3000, Ages: []float64{1}}, 44)
	var logs []float64
	unfinished := 0
	for _, p := range s.Paces {
		require.NotEqual(t, panel.WhyDrink, p.Why)
		if p.Finished {
			logs = append(logs, math.Log(p.Minutes/9))
		} else {
			unfinished++
		}
	}
	mean, sd := moments(logs)
	mathtest.Close(t, "log pace", mean, 0, 4*0.35/math.Sqrt(float64(len(logs)))+0.003, "median 0.075 min a mL; half minutes add up to 0.003")
	mathtest.Close(t, "log-sd", sd, 0.35, 4*0.35/math.Sqrt(2*float64(len(logs)))+0.003, "law of the paces")
	mathtest.Close(t, "share called off", float64(unfinished)/3000, 0.06, 4*math.Sqrt(0.06*0.94/3000), "Monte Carlo: four standard errors")

	given.Median = 5
	s = run(t, simulate.Evening{Styles: []simulate.Style{given}, Guests: 300, Ages: []float64{1}}, 44)
	died := 0
	for _, p := range s.Paces {
		if p.Why == panel.WhyDrink {
			died++
			require.False(t, p.Finished)
			mathtest.Close(t, "left at the limit", p.AgeAtFirstSip+p.Minutes, 5, 0.31, "half minutes and tenths")
		}
	}
	require.Greater(t, died, 200)
}

func TestIntakes(t *testing.T) {
	e := quiet()
	e.Tables[0].Test = "triangle"
	s := run(t, e, 45)
	in := s.Intakes("Ada")
	require.Len(t, in, 5)
	mathtest.Close(t, "grams", s.EthanolG("Ada"), (4*12+3*12)*0.08*0.789, 1e-12, "four cups of 12 mL and one triangle of three")
	require.True(t, slices.IsSortedFunc(in, func(a, b simulate.Intake) int { return int(a.At - b.At) }))
}

func TestTablesRefuse(t *testing.T) {
	table := func(change func(*simulate.Table)) simulate.Evening {
		e := quiet()
		change(&e.Tables[0])
		return e
	}
	for name, c := range map[string]struct {
		column string
		is     error
		e      simulate.Evening
	}{
		"ages fall":        {"Tables Ages", dataerr.ErrOrder, table(func(x *simulate.Table) { x.Ages = []float64{5, 2} })},
		"age no number":    {"Tables Ages", dataerr.ErrOrder, table(func(x *simulate.Table) { x.Ages = []float64{math.NaN()}; x.Flight = 1 })},
		"too many flights": {"Tables Flight", dataerr.ErrRange, table(func(x *simulate.Table) { x.Flight = 9 })},
		"groups":           {"Tables Groups", dataerr.ErrRange, table(func(x *simulate.Table) { x.Groups = -1 })},
		"pair":             {"Tables Pairs", dataerr.ErrOrder, table(func(x *simulate.Table) { x.Pairs = [][2]float64{{1, 4}} })},
		"test":             {"Tables Test", dataerr.ErrUnknown, table(func(x *simulate.Table) { x.Test = "taste" })},
		"noise":            {"Tables ChoiceSD", dataerr.ErrRange, table(func(x *simulate.Table) { x.ChoiceSD = -1 })},
		"two sizes": {"CupML", dataerr.ErrConflict, func() simulate.Evening {
			e := quiet()
			e.CupML = 20
			return e
		}()},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.e.Run(rand.New(rand.NewPCG(1, 1)))
			require.ErrorIs(t, err, c.is)
			require.True(t, slices.ContainsFunc(dataerr.All(err), func(x *dataerr.Cell) bool { return x.Column == c.column }), "%v", err)
		})
	}
}
