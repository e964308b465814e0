package answer

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// synthetic is a band on a grid of a tenth of a minute from 0 to 10 around a curve, half points wide to either side.
func synthetic(curve func(age float64) float64, half float64) band {
	at := func(age float64) (CurvePoint, error) {
		m := curve(age)
		return CurvePoint{AgeMin: age, Mean: m, Lower: m - half, Upper: m + half}, nil
	}
	b := band{at: at}
	for i := range 101 {
		p, _ := at(float64(i) / 10)
		b.grid = append(b.grid, p)
	}
	return b
}

func found(t *testing.T, b band, limit float64) Window {
	t.Helper()
	w, err := b.find(limit)
	require.NoError(t, err)
	return w
}

func requireAge(t *testing.T, want float64, got Num) {
	t.Helper()
	require.True(t, got.Finite(), "%v is not finite", got)
	require.InDelta(t, want, got.Float(), 1e-6)
}

// A line from 9 at 0 falling by 0.43 a minute with a band of 0.5: it meets 7 at 2/0.43, its limits at 1.5/0.43 and 2.5/0.43.
func TestWindowOfALine(t *testing.T) {
	fall := synthetic(func(a float64) float64 { return 9 - 0.43*a }, 0.5)
	w := found(t, fall, 7)
	require.Equal(t, OK, w.Status)
	requireAge(t, 0, w.From)
	requireAge(t, 2/0.43, w.To)
	requireAge(t, 1.5/0.43, w.ToLower)
	requireAge(t, 2.5/0.43, w.ToUpper)
	requireAge(t, 1.5/0.43, w.AtLeastUntil)
	requireAge(t, 0, w.FromUpper)
	require.Empty(t, w.Others)

	w = found(t, fall, 8.7) // the lower edge begins at 8.5
	requireAge(t, 0.3/0.43, w.To)
	require.Equal(t, Of(0), w.ToLower, "open")
	requireAge(t, 0.8/0.43, w.ToUpper)
	require.True(t, w.AtLeastUntil.Empty(), "not shown")
	require.True(t, w.FromUpper.Open())

	w = found(t, fall, 9.1)
	require.Equal(t, Never, w.Status)
	require.True(t, w.From.Empty() && w.To.Empty() && w.AtLeastUntil.Empty())
	require.InDelta(t, 9, w.Highest, 1e-12)
	require.Zero(t, w.HighestAt)

	w = found(t, fall, 4.5) // the curve ends at 4.7, its lower edge passes 4.5 at 4/0.43
	require.Equal(t, Always, w.Status)
	requireAge(t, 0, w.From)
	require.True(t, w.To.Empty() && w.ToUpper.Open())
	requireAge(t, 4/0.43, w.ToLower)
	requireAge(t, 4/0.43, w.AtLeastUntil)

	w = found(t, fall, 9) // met exactly at the first age alone
	require.Equal(t, OK, w.Status)
	requireAge(t, 0, w.To)
}

// A tent with its top 8 at 5 min, slopes of 0.5: 7 is met at 3 and 7, the band's edges at 4 and 2, 6 and 8.
func TestWindowThatStartsLate(t *testing.T) {
	tent := synthetic(func(a float64) float64 { return 8 - 0.5*math.Abs(a-5) }, 0.5)
	w := found(t, tent, 7)
	require.Equal(t, OK, w.Status)
	requireAge(t, 3, w.From)
	requireAge(t, 2, w.FromLower)
	requireAge(t, 4, w.FromUpper)
	requireAge(t, 7, w.To)
	requireAge(t, 6, w.ToLower)
	requireAge(t, 8, w.ToUpper)
	requireAge(t, 6, w.AtLeastUntil)
	require.InDelta(t, 8, w.Highest, 1e-12)
	require.InDelta(t, 5, w.HighestAt, 1e-12)

	rise := synthetic(func(a float64) float64 { return 5 + 0.5*a }, 0.5)
	w = found(t, rise, 7)
	require.Equal(t, BeyondLastAge, w.Status)
	requireAge(t, 4, w.From)
	require.True(t, w.To.Empty() && w.ToUpper.Open())
	requireAge(t, 10, w.ToLower)
	requireAge(t, 10, w.AtLeastUntil)
}

// Two humps, 8 at 2 min and 7.6 at 8 min, slopes of 1, a floor of 6: the higher one is the window, the other is listed; the
// lower edge of a band of 0.5 reaches 7 on both, and the run of its maximum counts.
func TestWindowOfTheHigherHump(t *testing.T) {
	humps := func(first, second float64) band {
		return synthetic(func(a float64) float64 {
			return max(6, first-math.Abs(a-2), second-math.Abs(a-8))
		}, 0.5)
	}
	w := found(t, humps(8, 7.6), 7)
	requireAge(t, 1, w.From)
	requireAge(t, 3, w.To)
	requireAge(t, 2.5, w.AtLeastUntil)
	require.Len(t, w.Others, 1)
	require.InDelta(t, 7.4, w.Others[0].From, 1e-6)
	require.InDelta(t, 8.6, w.Others[0].To, 1e-6)

	w = found(t, humps(7.6, 8), 7)
	requireAge(t, 7, w.From)
	requireAge(t, 9, w.To)
	requireAge(t, 8.5, w.AtLeastUntil)
	require.InDelta(t, 1.4, w.Others[0].From, 1e-6)
}

// Where the lower limit is highest past the window's end, that does not prolong the window: between them the curve was below.
// Higher on the first hump but far less sure there (band of 1.5 before 5 min, 0.1 after): nothing is shown of the window.
func TestShownAtLeastIsNotPastTheEnd(t *testing.T) {
	at := func(first, second, half float64) band {
		b := synthetic(func(a float64) float64 { return max(6, first-math.Abs(a-2), second-math.Abs(a-8)) }, 0.1)
		sure := b.at
		b.at = func(age float64) (CurvePoint, error) {
			p, err := sure(age)
			if age < 5 {
				p.Lower, p.Upper = p.Mean-half, p.Mean+half
			}
			return p, err
		}
		for i := range b.grid {
			b.grid[i], _ = b.at(b.grid[i].AgeMin)
		}
		return b
	}
	w := found(t, at(8, 7.6, 1.5), 7)
	requireAge(t, 3, w.To)
	require.True(t, w.AtLeastUntil.Empty())
	require.Equal(t, Of(0), w.ToLower)
	w = found(t, at(8, 7.6, 0.7), 7) // a little is shown of it, less than of the other
	requireAge(t, 2.3, w.AtLeastUntil)
	w = found(t, at(7.6, 8, 0.1), 7)
	requireAge(t, 8.9, w.AtLeastUntil)
	b := at(7.6, 8, 0.1) // surer before: that it is told for an earlier time
	for i, p := range b.grid {
		if p.AgeMin > 5 {
			b.grid[i].Lower, b.grid[i].Upper = p.Mean-1.5, p.Mean+1.5
		}
	}
	w = found(t, b, 7)
	requireAge(t, 7, w.From)
	requireAge(t, 2.5, w.AtLeastUntil)
}

// The ends that drawn panels are counted by.
func TestEndsOfDrawnCurves(t *testing.T) {
	c := &scoreCurve{ages: []float64{0, 1, 2, 3, 4}}
	for i := range c.ages {
		row := make([]float64, 5)
		row[i] = 1
		c.rows = append(c.rows, row)
	}
	inf := math.Inf(1)
	require.Equal(t, [2]float64{-inf, 2.5}, c.endsOf([]float64{9, 8, 7.5, 6.5, 5}, 7))
	require.Equal(t, [2]float64{0.5, 3.5}, c.endsOf([]float64{6, 8, 9, 8, 6}, 7))
	require.Equal(t, [2]float64{-inf, inf}, c.endsOf([]float64{9, 9, 9, 9, 9}, 7), "no crossing: open")
	require.Equal(t, [2]float64{inf, -inf}, c.endsOf([]float64{5, 5, 5, 5, 5}, 7), "never: its end lies before the first age")
}
