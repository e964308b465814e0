package simulate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/simulate"
)

const (
	closedForm = "closed form, worked by hand"
	trade      = "our estimate from a heat balance, no source: 120 mL from -4 C in a room of 21 C is at about 0 to +2.5 C after ten minutes"
)

func TestTemperatureFollowsNewton(t *testing.T) {
	s := simulate.Style{StartC: -4, WarmPerMin: math.Ln2 / 10}
	for _, tt := range []struct {
		name      string
		age, want float64
	}{
		{"at the start", 0, -4},
		{"half way to the room after one half-life", 10, 8.5},
		{"three quarters after two", 20, 14.75},
		{"seven eighths after three", 30, 17.875},
	} {
		mathtest.Close(t, tt.name, s.Temperature(tt.age, 21), tt.want, 1e-12, closedForm)
	}
	for _, tt := range []struct{ rate, want float64 }{{0.017, 0}, {0.03, 2.5}} {
		s.WarmPerMin = tt.rate
		mathtest.Close(t, "C after ten minutes", s.Temperature(10, 21), tt.want, 0.1, trade)
	}
	got := simulate.Sour().Temperature(10, 21)
	require.True(t, got > 0 && got < 2.5, "a sour is at %.2f C after ten minutes; %s", got, trade)
}

func TestAirIsLostAtFirstOrder(t *testing.T) {
	s := simulate.Style{AirPerMin: math.Ln2 / 5}
	for _, tt := range []struct{ age, want float64 }{{0, 1}, {5, 0.5}, {10, 0.25}, {15, 0.125}} {
		mathtest.Close(t, "air left", s.AirLeft(tt.age), tt.want, 1e-12, closedForm)
	}
	require.Less(t, simulate.Sour().AirLeft(10), 0.3, "a strained sour turns clear within about ten minutes (common practice)")
}

// With air alone the crossing has a closed form: Q = f - 4 (u(1-A)/4)^p gives A = 1 - (4/u)((f-q)/4)^(1/p), a = -ln A / l.
func TestAgeAtMeetsTheClosedForms(t *testing.T) {
	air := simulate.Style{AirPerMin: 0.1, AirLoss: 6, Fresh: 9, Bend: 2}
	for _, q := range []float64{8.5, 7, 4, 1} {
		want := -math.Log(1-4.0/6*math.Sqrt((9-q)/4)) / 0.1
		got, ok := air.AgeAt(q, 21)
		require.True(t, ok)
		mathtest.Close(t, "crossing by air", got, want, 1e-9, closedForm)
	}
	// With warming alone and p = 1: Q = f - w (room - T0)(1 - exp(-k a)).
	warm := simulate.Style{StartC: -4, WarmPerMin: 0.02, WarmLoss: 0.5, Fresh: 9, Bend: 1}
	got, ok := warm.AgeAt(4, 21)
	require.True(t, ok)
	mathtest.Close(t, "crossing by warming", got, -math.Log(1-5/(0.5*25))/0.02, 1e-9, closedForm)

	for _, q := range []float64{9, 9.5, 9 - 6*6.0/4 - 0.01} { // at fresh, above, below the floor 9 - 4 (6/4)^2 = 0
		_, ok = air.AgeAt(q, 21)
		require.False(t, ok, "quality %v is never crossed", q)
	}
}

func TestQualityFallsStrictly(t *testing.T) {
	for _, s := range []simulate.Style{simulate.Sour(), simulate.Stirred()} {
		s.Bend = 1.6
		mathtest.Close(t, "fresh", s.Quality(0, 21), s.Fresh, 0, closedForm)
		for a := 0.0; a < 60; a += 0.25 {
			require.Greater(t, s.Quality(a, 21), s.Quality(a+0.25, 21), "%s at %v min", s.Name, a)
		}
	}
}

// What goes first differs by style: in a sour most of the lost points are air's, in a stirred drink warming's.
func TestWhatLeads(t *testing.T) {
	air := func(s simulate.Style, age float64) float64 { return s.AirLoss * (1 - s.AirLeft(age)) }
	warm := func(s simulate.Style, age float64) float64 { return s.WarmLoss * (s.Temperature(age, 21) - s.StartC) }
	for _, age := range []float64{2, 5, 8, 10} {
		require.Greater(t, air(simulate.Sour(), age), 2*warm(simulate.Sour(), age))
		require.Greater(t, warm(simulate.Stirred(), age), 2*air(simulate.Stirred(), age))
	}
}
