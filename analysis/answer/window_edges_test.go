package answer

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// plotted is a band through points a minute apart, straight between them.
func plotted(points ...CurvePoint) band {
	for i := range points {
		points[i].AgeMin = float64(i)
	}
	return band{grid: points, at: func(age float64) (CurvePoint, error) {
		i := min(int(age), len(points)-2)
		w, a, b := age-float64(i), points[i], points[i+1]
		return CurvePoint{age, a.Mean + w*(b.Mean-a.Mean), a.Lower + w*(b.Lower-a.Lower), a.Upper + w*(b.Upper-a.Upper)}, nil
	}}
}

// around are points half a unit wide to either side.
func around(means ...float64) (out []CurvePoint) {
	for _, m := range means {
		out = append(out, CurvePoint{Mean: m, Lower: m - 0.5, Upper: m + 0.5})
	}
	return out
}

// Runs of a single point of the grid, and gaps of one.
func TestWindowOfOnePoint(t *testing.T) {
	w := found(t, plotted(around(6, 8, 6)...), 7)
	require.Equal(t, OK, w.Status)
	for _, x := range []struct {
		want float64
		got  Num
	}{{0.5, w.From}, {0.25, w.FromLower}, {0.75, w.FromUpper}, {1.5, w.To}, {1.25, w.ToLower}, {1.75, w.ToUpper}, {1.25, w.AtLeastUntil}} {
		requireAge(t, x.want, x.got)
	}
	w = found(t, plotted(around(7.5, 6, 8, 6)...), 7)
	requireAge(t, 1.5, w.From)
	require.Len(t, w.Others, 1)
	require.InDelta(t, 1./3, w.Others[0].To, 1e-6)
	w = found(t, plotted(around(6, 8, 8)...), 7) // from the second point to the last
	require.Equal(t, BeyondLastAge, w.Status)
	requireAge(t, 0.25, w.FromLower)
	requireAge(t, 0.75, w.FromUpper)
}

// Of runs and points of one height the first counts.
func TestWindowOfTies(t *testing.T) {
	w := found(t, plotted(around(8, 8, 6, 8, 6)...), 7)
	requireAge(t, 0, w.From)
	requireAge(t, 1.5, w.To)
	requireAge(t, 1.25, w.AtLeastUntil)
	require.Zero(t, w.HighestAt)
	require.Len(t, w.Others, 1)
}

// Another run tells nothing of when this one begins.
func TestBeginIsOfItsOwnRun(t *testing.T) {
	b := plotted(around(8, 6, 7.6)...)
	b.grid[0].Lower, b.grid[2].Lower = 6.5, 7.4
	w := found(t, b, 7)
	requireAge(t, 0.5, w.To)
	require.True(t, w.FromUpper.Open())
	require.Equal(t, Of(0), w.ToLower)
}

func TestEndsOfDrawnCurvesWithinAStep(t *testing.T) {
	c := &scoreCurve{ages: []float64{0, 1, 2, 3}, rows: [][]float64{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}}
	ends := c.endsOf([]float64{6.6, 8, 9, 4}, 7)
	require.InDelta(t, 2./7, ends[0], 1e-12)
	require.InDelta(t, 2.4, ends[1], 1e-12)
	require.Equal(t, [2]float64{math.Inf(-1), 0}, c.endsOf([]float64{7, 6, 5, 4}, 7), "met at the first age alone")
}

// likedPrime is a panel of scores with a prime limit.
func likedPrime(limit float64, ages []float64, rows ...[]float64) Input {
	in := liked(ages, rows...)
	in.Quick, in.Seed = true, 5
	in.Panel.Settings.HasLimits, in.Panel.Settings.PrimeLimit = true, limit
	return in
}

func windowOf(t *testing.T, in Input) *PrimeWindow {
	t.Helper()
	a, err := NewPrimeWindow(in, sour)
	require.NoError(t, err)
	return a
}

var fourFallers = [][]float64{{9, 8.4, 7, 6.2, 5}, {8, 7.6, 7.1, 5, 4.2}, {8.8, 8, 6, 5.5, 4.9}, {9.4, 8.3, 7.4, 6, 3.8}}

func firstAges(n int) (out [][]float64) {
	for _, r := range fourFallers {
		out = append(out, r[:n])
	}
	return out
}

// A spline from five age steps up; tasters' own curves from three of them who tasted at every step.
func TestWindowShapeAndOwnCurves(t *testing.T) {
	a := windowOf(t, likedPrime(7, []float64{0, 2, 4, 6, 8}, firstAges(5)...))
	require.Equal(t, shapeSpline, a.Shape)
	for missing, want := range []bool{true, true, false} {
		rows := firstAges(4)
		for i := range missing {
			rows[i] = []float64{rows[i][0], rows[i][1], math.NaN(), rows[i][3]}
		}
		a = windowOf(t, likedPrime(7, []float64{0, 2, 4, 6}, rows...))
		require.Equal(t, shapeJoined, a.Shape)
		k := slices.IndexFunc(a.Variants, func(v Variant) bool { return v.Method == ownCurves })
		require.Equal(t, want, k >= 0, "%d of four tasters missed an age", missing)
	}
}

// A drop is stated where the descriptor states it, not where it is asked because fresh is poor: the act then rests on the limit.
func TestDropAskedIsNotStated(t *testing.T) {
	in := likedPrime(8.7, []float64{0, 2, 4, 6}, firstAges(4)...)
	a := windowOf(t, in)
	require.Equal(t, Of(limitShift), a.Drop)
	require.False(t, a.DropStated)
	v, ok := a.variant("one_point")
	require.True(t, ok)
	require.True(t, v.Window.AtLeastUntil.Finite())
	require.Equal(t, a.Main.AtLeastUntil, a.actUntil())
	require.NotEqual(t, v.Window.AtLeastUntil, a.actUntil())
	in.Panel.Settings.PrimeDrop = 1
	a = windowOf(t, in)
	require.True(t, a.DropStated)
	require.Equal(t, v.Window.AtLeastUntil, a.actUntil())
}

// Of 39 drawn panels the 95 % limits are the smallest and the largest end.
func TestWindowBootstrapLevel(t *testing.T) {
	in := likedPrime(6.9, []float64{0, 2, 4, 6}, []float64{6, 8, 7, 5}, []float64{5, 7.4, 7.5, 6.2}, []float64{6.6, 8.2, 6.9, 6}, []float64{6.3, 8.1, 7.9, 5.1}, []float64{6.1, 7.2, 7, 6})
	s, why := in.scoreRowsOf(sour, nil)
	require.Empty(t, why)
	m, err := newWindowMaker(in, sour, s)
	require.NoError(t, err)
	w, _, err := m.bootstrap(39)
	require.NoError(t, err)
	drawn, err := m.curve.fit.Bootstrap(in.Seed, 39, m.endOf(0), m.endOf(1))
	require.NoError(t, err)
	from, to := drawn.Values(0), drawn.Values(1)
	require.Len(t, from, 39)
	require.Equal(t, []Num{orZero(slices.Min(from)), orZero(slices.Max(from)), orZero(slices.Min(to)), orZero(slices.Max(to))}, []Num{w.FromLower, w.FromUpper, w.ToLower, w.ToUpper})
	require.True(t, w.FromUpper.Finite() && w.ToLower.Finite() && w.FromUpper.Float() > 0, "%+v", w)
}

// Modes that evenings hold have no term of their own; batches cross ages from half of their cells up.
func TestModelLeavesOutWhatIsHeld(t *testing.T) {
	in := likedPrime(7, []float64{0, 2, 4, 6}, firstAges(4)...)
	in.Panel.Sessions = append(in.Panel.Sessions, panel.Session{Name: "two"})
	for i, p := range in.Panel.Pours {
		p.Session = "two"
		in.Panel.Pours = append(in.Panel.Pours, p)
		for _, x := range slices.Clone(in.Panel.Tastes) {
			if x.Pour == i {
				x.Session, x.Mode, x.Pour = "two", panel.SideBySide, len(in.Panel.Pours)-1
				x.Scores = []panel.Score{{Value: x.Scores[0].Value - 0.3*float64(i%2), Given: true}}
				in.Panel.Tastes = append(in.Panel.Tastes, x)
			}
		}
	}
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Batch = ""
	}
	a := windowOf(t, in)
	require.Equal(t, []string{"evening"}, a.Fixed)
	require.NotEqual(t, NotEnough, a.Status)

	s := &scoreRows{steps: make([]float64, 4)}
	for _, x := range []scoreRow{{batch: "a", step: 0}, {batch: "a", step: 1}, {batch: "b", step: 2}} {
		s.rows = append(s.rows, x)
	}
	crosses, perStep := s.batchSteps()
	require.False(t, crosses, "three of eight cells")
	require.Equal(t, 0.75, perStep)
	s.rows = append(s.rows, scoreRow{batch: "b", step: 3})
	crosses, _ = s.batchSteps()
	require.True(t, crosses, "half of them")
}

// Where every taster had an evening of their own, tasters and evenings are one thing, told once.
func TestModelOfOwnEvenings(t *testing.T) {
	in := likedPrime(7, []float64{0, 2, 4, 6}, firstAges(4)...)
	in.Panel.Sessions = nil
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Session = stepLevel(i)
		in.Panel.Sessions = append(in.Panel.Sessions, panel.Session{Name: stepLevel(i)})
	}
	for i := range in.Panel.Tastes {
		in.Panel.Tastes[i].Session = stepLevel(in.Panel.Tastes[i].Pour)
	}
	a := windowOf(t, in)
	require.Empty(t, a.Fixed)
	require.Equal(t, OK, a.Status)
	require.Equal(t, windowOf(t, likedPrime(7, []float64{0, 2, 4, 6}, firstAges(4)...)).Main, a.Main)
}

// Evenings that do not differ at all are named as evenings.
func TestEveningsWithoutSpread(t *testing.T) {
	in := likedPrime(7, []float64{0, 2, 4, 6}, firstAges(4)...)
	was, pours := in.Panel.Tastes, in.Panel.Pours
	in.Panel.Tastes, in.Panel.Pours, in.Panel.Sessions = nil, nil, nil
	for e := range 6 {
		name := string(rune('A' + e))
		in.Panel.Sessions = append(in.Panel.Sessions, panel.Session{Name: name})
		for _, p := range pours {
			p.Session, p.Batch = name, ""
			in.Panel.Pours = append(in.Panel.Pours, p)
		}
		for i, x := range was {
			x.Session, x.Pour = name, x.Pour+e*len(pours)
			sign := float64(1 - 2*((i+i/4)%2)) // as much up as down in every evening
			x.Scores = []panel.Score{{Value: x.Scores[0].Value + 0.1*float64(e)*sign, Given: true}}
			in.Panel.Tastes = append(in.Panel.Tastes, x)
		}
	}
	require.Contains(t, windowOf(t, in).Singular, "how far the levels of evenings lie apart")
}
