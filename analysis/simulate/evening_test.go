package simulate_test

import (
	"fmt"
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

func stream(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 7)) }

func run(t testing.TB, e simulate.Evening, n uint64) *simulate.Session {
	s, err := e.Run(stream(n))
	require.NoError(t, err)
	return s
}

// exact is an evening without any noise: replies turn exactly at the own limit.
func exact() simulate.Evening {
	return simulate.Evening{Tasters: 40, ReplySD: -1, Slips: -1, Noise: -1, ToEnd: true, Glasses: 2,
		Habits: []simulate.Habit{{Name: "plain"}}, Styles: []simulate.Style{simulate.Sour(), simulate.Stirred()}, BatchSD: 0.2}
}

// The limit in the truth must be where the perceived quality of that very glass crosses what the taster tolerates; it is
// found here by walking up the curve, not by the code's own bisection or by the law.
func TestLimitsFollowThePhysics(t *testing.T) {
	s := run(t, exact(), 1)
	e := s.Spec()
	pace := map[string]float64{}
	for _, b := range s.Truth.Batches {
		pace[b.Batch] = b.Pace
	}
	require.Len(t, s.Truth.Limits, 40*2*2)
	for i, l := range s.Truth.Limits {
		p := s.Pours[i]
		require.Equal(t, p.ID, l.Pour)
		perceived := func(age, fault float64) float64 { return e.Styles[p.Style].Quality(l.Sense*fault*age, e.RoomC) }
		const h = 1e-3
		for _, c := range []struct {
			what         string
			fault, limit float64
		}{{"typical drink", 1, l.LimitMin}, {"this glass", pace[l.Batch], l.GlassMin}} {
			age := 0.0
			for perceived(age+h, c.fault) > l.Tolerance {
				age += h
			}
			mathtest.Close(t, l.Taster+" "+c.what, c.limit, age+h/2, h, "crossing found by walking in steps of 0.001 min")
		}
	}
	for i := range e.Styles {
		st := e.Styles[i]
		mathtest.Close(t, st.Name+": quality at the median limit", st.Quality(s.Truth.Styles[i].MedianMin, e.RoomC), 4, 1e-9,
			"the median taster tolerates 4 points")
	}
}

func TestVerdictsTurnAtTheOwnLimit(t *testing.T) {
	s := run(t, exact(), 2)
	turned := 0
	for _, x := range s.Tastes {
		want := panel.Accept
		if panel.Minutes(x.Age) >= s.Truth.Limits[x.Pour].GlassMin {
			want = panel.Reject
			turned++
		}
		require.Equal(t, want, x.Verdict, "%+v against %+v", x, s.Truth.Limits[x.Pour])
	}
	require.Greater(t, turned, 200, "the evening must hold both replies")
	require.Less(t, turned, len(s.Tastes)-200)
}

// Scores of the overall attribute are the perceived quality; offset and stretch move them as stated and never the verdict.
func TestScoresFollowPerceivedQuality(t *testing.T) {
	e := exact()
	e.Step, e.Glasses = 0.001, 1
	e.People = []simulate.Taster{{Name: "plain", Patience: 0.4}, {Name: "shifted", Offset: -0.5, Stretch: 0.8, Patience: 0.4}}
	s := run(t, e, 3)
	spec := s.Spec()
	pace := map[string]float64{}
	for _, b := range s.Truth.Batches {
		pace[b.Batch] = b.Pace
	}
	for _, x := range s.Tastes {
		l := s.Truth.Limits[x.Pour]
		q := spec.Styles[s.Pours[x.Pour].Style].Quality(l.Sense*pace[l.Batch]*panel.Minutes(x.Age), spec.RoomC)
		if l.Taster == "shifted" {
			q = 5 + 0.8*(q-5) - 0.5
		}
		mathtest.Close(t, "liking", x.Scores[0].Value, min(max(q, 0), 10), 0.000501, "centre + stretch (Q - centre) + offset, rounded to 0.001")
	}
}

func TestScalesAndDirections(t *testing.T) {
	base := exact()
	base.Styles, base.Glasses, base.Tasters = nil, 1, 2
	base.Attributes = []simulate.Attribute{
		{Name: "liking", Low: 0, High: 10, Step: 0.01},
		{Name: "up", Low: 0, High: 10, Step: 0.01, AirLoss: 6},
		{Name: "down", Low: -100, High: 100, Step: 0.2, Better: panel.BetterLow, AirLoss: 6},
		{Name: "about", Low: 1, High: 9, Step: 0.01, Better: panel.BetterMiddle, Best: 4, AirLoss: 6},
		{Name: "boxes", Low: 1, High: 9, Step: 1, AirLoss: 6, Category: true},
	}
	s := run(t, base, 4)
	for _, x := range s.Tastes {
		u := x.Scores[1].Value / 10
		mathtest.Close(t, "down", x.Scores[2].Value, 100-200*u, 0.31, "mirrored; half a step of each scale")
		mathtest.Close(t, "about", x.Scores[3].Value, 4+5*(1-u), 0.0101, "away from the best towards the farther end")
		boxes := x.Scores[4].Value
		mathtest.Close(t, "boxes", boxes, 1+8*u, 0.505, "rounded to whole boxes")
		require.Equal(t, math.Trunc(boxes), boxes)
	}
	limits := s.Panel().Attributes
	for i, want := range []float64{4, 4, 20, 3, 4.2} {
		mathtest.Close(t, limits[i].Name, limits[i].Limit, want, 1e-12, "40 % of the scale, mirrored for low; 60 % of the larger side")
	}
}

func TestProtocol(t *testing.T) {
	for _, after := range []int{-1, 1, 2, 4} {
		s := run(t, simulate.Evening{Tasters: 60, RoundsAfter: after, ReplySD: 0.4}, 5)
		first, n := map[int]int{}, map[int]int{}
		for _, x := range s.Tastes {
			n[x.Pour]++
			if x.Verdict == panel.Reject && first[x.Pour] == 0 {
				first[x.Pour] = n[x.Pour]
			}
		}
		rounds := len(s.Spec().Ages)
		stopped := 0
		for p := range s.Pours {
			want := rounds
			if first[p] > 0 {
				want = min(rounds, first[p]+max(after, 0))
			}
			require.Equal(t, want, n[p], "glass %d, %d rounds after the first rejection", p, after)
			if want < rounds {
				stopped++
			}
		}
		require.Greater(t, stopped, 20)
	}
}

func TestRepeatedNo(t *testing.T) {
	e := simulate.Evening{Tasters: 60, ReplySD: 0.5, ToEnd: true, Habits: []simulate.Habit{{Name: "stubborn", RepeatNo: 1}}}
	back := func(s *simulate.Session) (n int) {
		no := map[int]bool{}
		for _, x := range s.Tastes {
			if x.Verdict == panel.Accept && no[x.Pour] {
				n++
			}
			no[x.Pour] = no[x.Pour] || x.Verdict == panel.Reject
		}
		return n
	}
	require.Zero(t, back(run(t, e, 6)))
	e.Habits[0].RepeatNo = 0
	require.Greater(t, back(run(t, e, 6)), 30)
}

func TestClocksAndBatches(t *testing.T) {
	s := run(t, simulate.Evening{Start: "23:56", Tasters: 5, Ages: []float64{0, 1, 4.5, 9}, Styles: []simulate.Style{{}, {Name: "stirred"}}}, 7)
	require.Len(t, s.Truth.Batches, 6, "three shakes of each style for five tasters")
	for i, p := range s.Pours {
		wave := time.Duration(i%5/2) * 2 * time.Minute
		start := 23*time.Hour + 56*time.Minute
		if p.Style == 1 {
			start += 21 * time.Minute // three waves of two minutes, nine minutes of tasting, six to clear the table
		}
		require.Equal(t, start+wave, p.Made, "glass %d", i)
		require.Equal(t, s.Pours[i/5*5+i%5/2*2].Batch, p.Batch, "two glasses a shake")
	}
	last := map[int]time.Duration{}
	for _, x := range s.Tastes {
		require.Zero(t, x.Age%simulate.Tick)
		require.LessOrEqual(t, (x.Age - x.Planned).Abs(), 20*time.Second+simulate.Tick/2, "cut at a third of the closest spacing")
		if x.Round > 1 {
			require.Greater(t, x.Age, last[x.Pour], "ages rise within a glass")
		} else {
			require.Zero(t, x.Age, "the first sip is at once")
		}
		last[x.Pour] = x.Age
	}
	require.Equal(t, "00:00:00", s.Truth.Batches[2].MadeAt, "past midnight the clock begins again")
}

// One more taster, or batch, changes no other's evening.
func TestChildStreams(t *testing.T) {
	small, large := run(t, simulate.Evening{Tasters: 6}, 8), run(t, simulate.Evening{Tasters: 30}, 8)
	require.Equal(t, small.Tastes, large.Tastes[:len(small.Tastes)])
	require.Equal(t, small.Pours, large.Pours[:6])
	require.Equal(t, small.Truth.Tasters, large.Truth.Tasters[:6])
	require.NotEqual(t, small.Tastes, run(t, simulate.Evening{Tasters: 6}, 9).Tastes)
}

// The limits of the tasters who come follow the law that the truth states, and child streams are no worse than one stream.
func TestLimitsFollowTheLaw(t *testing.T) {
	const panels, n = 200, 30
	var logs []float64
	within, below := 0.0, 0
	for i := range panels {
		s := run(t, simulate.Evening{Tasters: n, Ages: []float64{1}, Wave: simulate.Tick}, uint64(100+i))
		own := make([]float64, 0, n)
		for _, l := range s.Truth.Limits {
			own = append(own, math.Log(l.LimitMin/s.Truth.Styles[0].MedianMin))
			if l.LimitMin < s.Truth.Styles[0].TenthMin {
				below++
			}
		}
		_, sd := moments(own)
		within += sd * sd / panels
		logs = append(logs, own...)
	}
	N := float64(len(logs))
	mean, sd := moments(logs)
	const source = "Monte Carlo: four standard errors about the law log-normal (median, 0.35)"
	mathtest.Close(t, "mean log ratio", mean, 0, 4*0.35/math.Sqrt(N), source)
	mathtest.Close(t, "log-sd", sd, 0.35, 4*0.35/math.Sqrt(2*N), source)
	mathtest.Close(t, "variance within panels", within, 0.35*0.35, 4*0.35*0.35*math.Sqrt(2/N), source)
	mathtest.Close(t, "share below the tenth", float64(below)/N, 0.1, 4*math.Sqrt(0.09/N), source)
}

func TestSharedLimits(t *testing.T) {
	styles := []simulate.Style{simulate.Sour(), simulate.Stirred()}
	for _, shared := range []float64{-1, 0.2, 0.8, 1} {
		e := simulate.Evening{Tasters: 600, Ages: []float64{1}, Wave: simulate.Tick, Styles: styles, Shared: shared}
		s := run(t, e, 10)
		var a, b, product []float64
		for i := range 600 {
			a = append(a, math.Log(s.Truth.Limits[i].LimitMin/s.Truth.Styles[0].MedianMin)/0.35)
			b = append(b, math.Log(s.Truth.Limits[600+i].LimitMin/s.Truth.Styles[1].MedianMin)/0.35)
			product = append(product, a[i]*b[i])
		}
		_, sa := moments(a)
		_, sb := moments(b)
		r, _ := moments(product)
		what := fmt.Sprintf("shared %v", shared)
		mathtest.Close(t, what+": sd of the first style", sa, 1, 4/math.Sqrt(1200), "Monte Carlo: four standard errors")
		mathtest.Close(t, what+": sd of the second style", sb, 1, 4/math.Sqrt(1200), "Monte Carlo: four standard errors")
		mathtest.Close(t, what+": correlation", r, max(shared, 0), 4*math.Sqrt(2.0/600),
			"Monte Carlo: four standard errors (at most sqrt(2/n)) about the share that is common")
	}
}

// A late limit is in part a dull sense: log sense = -d log(limit/median); the rest is tolerance.
func TestSenseAndTolerance(t *testing.T) {
	for _, dulled := range []float64{-1, 0.6, 1} {
		s := run(t, simulate.Evening{Dulled: dulled}, 13)
		m := s.Truth.Styles[0].MedianMin
		for _, l := range s.Truth.Limits {
			mathtest.Close(t, "log sense", math.Log(l.Sense), -max(dulled, 0)*math.Log(l.LimitMin/m), 1e-12, closedForm)
			if dulled == 1 {
				mathtest.Close(t, "tolerance", l.Tolerance, 4, 1e-9, "all of it is sense: everyone tolerates the same")
			}
		}
	}
}

func TestMedianAndSpread(t *testing.T) {
	given := simulate.Sour()
	given.Name, given.Median, given.LogSD = "slow", 9.5, -1
	s := run(t, simulate.Evening{Styles: []simulate.Style{given, {Name: "quick", Tolerance: 6}}, BatchSD: -1}, 14)
	mathtest.Close(t, "median as given", s.Truth.Styles[0].MedianMin, 9.5, 0, "given")
	mathtest.Close(t, "tolerance follows", s.Truth.Styles[0].Tolerance, s.Spec().Styles[0].Quality(9.5, 21), 0, "q = Q(m)")
	require.NotEqual(t, 4.0, s.Truth.Styles[0].Tolerance)
	mathtest.Close(t, "quality at the median", s.Spec().Styles[1].Quality(s.Truth.Styles[1].MedianMin, 21), 6, 1e-9, "tolerance as given")
	below := 0
	for _, l := range s.Truth.Limits {
		if l.Style == "slow" {
			mathtest.Close(t, "limit without spread", l.GlassMin, 9.5, 1e-12, "no spread, no batch fault")
		} else if l.LimitMin < s.Truth.Styles[1].PanelMedian {
			below++
		}
	}
	require.Equal(t, 6, below, "half of the twelve who came lie below their median")
	require.Equal(t, 9.5, s.Truth.Styles[0].TenthMin)
}

func TestEthanol(t *testing.T) {
	s := run(t, simulate.Evening{Tasters: 1, Ages: []float64{1, 2, 3}, ToEnd: true, Styles: []simulate.Style{{ABV: 0.2}}}, 11)
	mathtest.Close(t, "grams", s.EthanolG("Ada"), 3*6*0.2*0.789, 1e-12, closedForm)
	require.Zero(t, s.EthanolG("nobody"))
}

func TestRunRefuses(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		name, column string
		is           error
		e            simulate.Evening
	}{
		{"too many slips", "Slips", dataerr.ErrRange, simulate.Evening{Slips: 0.6}},
		{"noise not a number", "Noise", dataerr.ErrRange, simulate.Evening{Noise: nan}},
		{"ages fall", "Ages", dataerr.ErrOrder, simulate.Evening{Ages: []float64{2, 1}}},
		{"age not a number", "Ages", dataerr.ErrRange, simulate.Evening{Ages: []float64{nan}}},
		{"no ages", "Ages", dataerr.ErrTooFew, simulate.Evening{Ages: []float64{}}},
		{"start", "Start", dataerr.ErrTime, simulate.Evening{Start: "25:00"}},
		{"date", "Date", dataerr.ErrTime, simulate.Evening{Date: "tomorrow"}},
		{"scale upside down", "Attributes liking", dataerr.ErrOrder, simulate.Evening{Low: 10, High: 1}},
		{"step does not divide", "Attributes liking", dataerr.ErrRange, simulate.Evening{Low: 0, High: 10, Step: 3}},
		{"attribute named as a column", "Attributes Verdict", dataerr.ErrConflict, simulate.Evening{Attributes: []simulate.Attribute{{Name: "Verdict"}}}},
		{"two attributes of one name", "Attributes a", dataerr.ErrDuplicate, simulate.Evening{Attributes: []simulate.Attribute{{Name: "a"}, {Name: "a"}}}},
		{"overall unknown", "Overall", dataerr.ErrUnknown, simulate.Evening{Overall: "joy"}},
		{"name with a line end", "Styles", dataerr.ErrFormat, simulate.Evening{Styles: []simulate.Style{{Name: "a\nb"}}}},
		{"style twice", "Styles", dataerr.ErrDuplicate, simulate.Evening{Styles: []simulate.Style{{Name: "a"}, {Name: "a"}}}},
		{"nothing is ever lost", "style flat air loss", dataerr.ErrRange, simulate.Evening{Styles: []simulate.Style{{Name: "flat", WarmPerMin: 0.1}}}},
		{"limit never reached", "style a tolerance", dataerr.ErrRange, simulate.Evening{Styles: []simulate.Style{{Name: "a", Tolerance: 9}}}},
		{"warmer than the room", "style a start temperature", dataerr.ErrRange, simulate.Evening{Styles: []simulate.Style{{Name: "a", WarmPerMin: 0.1, StartC: 30}}}},
		{"two tasters of one name", "People", dataerr.ErrDuplicate, simulate.Evening{People: []simulate.Taster{{Name: "a"}, {Name: "a"}}}},
		{"trait not a number", "People offset", dataerr.ErrRange, simulate.Evening{People: []simulate.Taster{{Name: "a", Offset: nan}}}},
		{"longer than a night", "Styles", dataerr.ErrRange, simulate.Evening{Tasters: 1000}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := tt.e.Run(stream(1))
			require.Nil(t, s)
			require.ErrorIs(t, err, tt.is)
			cells := dataerr.All(err)
			require.True(t, slices.ContainsFunc(cells, func(c *dataerr.Cell) bool { return c.Column == tt.column && c.Want != "" }), "%v", err)
		})
	}
	_, err := simulate.Evening{Slips: 0.7, Ages: []float64{3, 1}}.Run(stream(1))
	require.Len(t, dataerr.All(err), 2, "all faults at once")
}

func TestInputUntouched(t *testing.T) {
	e := simulate.Evening{Styles: []simulate.Style{{}}, Attributes: []simulate.Attribute{{Name: "liking"}}, Ages: []float64{1, 2}, Allergens: []string{"egg"}}
	s := run(t, e, 12)
	require.Equal(t, simulate.Style{}, e.Styles[0])
	require.Equal(t, simulate.Attribute{Name: "liking"}, e.Attributes[0])
	before := s.Panel()
	p := s.Panel()
	p.Tastes[0].Scores[0].Value = 99
	p.Settings.Allergens[0] = "none"
	s.Spec().Styles[0].Name = "changed"
	s.Spec().Allergens[0] = "changed"
	require.Equal(t, before.Tastes, s.Panel().Tastes, "what is handed out is a copy")
	require.Equal(t, []string{"egg"}, s.Panel().Settings.Allergens)
}

func moments(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}
