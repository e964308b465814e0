package survival_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

func incidence(t *testing.T, rows []survival.Caused) *survival.IncidenceFit {
	t.Helper()
	f, err := survival.CumulativeIncidence{}.Fit(rows)
	require.NoError(t, err)
	return f
}

// Four rows by hand: 1 cause 1, 2 cause 2, 3 censored, 4 cause 1. F_1: 1/4, 1/4, 1/4, 1/4 + 1/2; F_2: 0, 1/4. In the weight of
// the first row F_1(1) = w_1/(w_1 + 3) has derivative 3/16, in each other -1/16: variance 12/256.
func TestIncidenceByHand(t *testing.T) {
	const source = "worked by hand: four rows"
	f := incidence(t, []survival.Caused{{Time: 4, Cause: 1}, {Time: 2, Cause: 2}, {Time: 1, Cause: 1}, {Time: 3}})
	require.Equal(t, [2]int{4, 3}, [2]int{f.Rows, f.Events})
	one, err := f.Cause(1)
	require.NoError(t, err)
	require.Equal(t, [2]int{1, 2}, [2]int{one.Cause, one.Events})
	for k, want := range []float64{0.25, 0.25, 0.25, 0.75} {
		mathtest.Close(t, "F", one.Steps()[k].Value, want, 1e-15, source)
	}
	mathtest.Close(t, "jackknife error", one.Steps()[0].SE, math.Sqrt(12.0/256), 1e-15, source)
	mathtest.Close(t, "Aalen's error", one.Steps()[0].AalenSE, 0.25, 1e-15, source)
	two, err := f.Cause(2)
	require.NoError(t, err)
	s, known := two.At(1.5)
	require.True(t, known)
	require.Equal(t, survival.Share{Value: 0, Upper: 1}, s.Share, "nothing yet by cause 2: no limits")
	s, known = two.At(0.5)
	require.True(t, known)
	require.Equal(t, survival.Share{Value: 0, Upper: 1}, s.Share)
	s, known = two.At(99)
	require.True(t, known, "nobody is left")
	require.Equal(t, 0.25, s.Value)
}

// byWeights is F of a cause at t by the definition, with a weight for each row.
func byWeights(rows []survival.Caused, weights []float64, cause int, t float64) float64 {
	times := []float64{}
	for _, r := range rows {
		times = append(times, r.Time)
	}
	slices.Sort(times)
	s, f := 1.0, 0.0
	for _, at := range slices.Compact(times) {
		risk, own, all := 0.0, 0.0, 0.0
		for i, r := range rows {
			if r.Time >= at {
				risk += weights[i]
			}
			if r.Time == at && r.Cause > 0 {
				all += weights[i]
				if r.Cause == cause {
					own += weights[i]
				}
			}
		}
		if at > t || risk == 0 {
			break
		}
		f += s * own / risk
		s *= 1 - all/risk
	}
	return f
}

// The jackknife error by brute force: weights moved one by one, F written out from its definition.
func TestJackknifeByBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310308, 1))
	for round := range 40 {
		_, rows, _ := inventedTimes(rng, 3+rng.IntN(25), 1, round%2 == 0)
		rows[0].Cause = 1
		f := incidence(t, rows)
		weights := slices.Repeat([]float64{1}, len(rows))
		for _, cause := range f.Causes() {
			c, err := f.Cause(cause)
			require.NoError(t, err)
			for _, s := range c.Steps() {
				require.InDelta(t, byWeights(rows, weights, cause, s.Time), s.Value, 1e-12)
				sum := 0.0
				for i := range rows {
					const h = 1e-5
					weights[i] = 1 + h
					up := byWeights(rows, weights, cause, s.Time)
					weights[i] = 1 - h
					slope := (up - byWeights(rows, weights, cause, s.Time)) / (2 * h)
					weights[i] = 1
					sum += slope * slope
				}
				require.InDelta(t, math.Sqrt(sum), s.SE, 1e-7, "%v at %v", rows, s.Time)
			}
		}
	}
}

func TestIncidenceLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310308, 2))
	for round := range rounds {
		n := 2 + rng.IntN(40)
		if round%30 == 0 {
			n = 1500
		}
		timed, rows, _ := inventedTimes(rng, n, 1, round%2 == 0)
		rows[0].Cause, timed[0].Event = 1, true
		kept := slices.Clone(rows)
		f := incidence(t, rows)
		require.Equal(t, kept, rows, "input untouched")
		whole := kaplanMeier(t, timed, nil).Steps()
		for k, s := range whole {
			sum := s.Value
			for _, cause := range f.Causes() {
				c, err := f.Cause(cause)
				require.NoError(t, err)
				step, known := c.At(s.Time)
				require.True(t, known)
				sum += step.Value
				require.Equal(t, s.Time, c.Steps()[k].Time)
				require.True(t, step.SE >= 0 && step.AalenSE >= 0 && step.Lower <= step.Value && step.Value <= step.Upper, "%+v", step)
			}
			require.InDelta(t, 1, sum, 1e-12, "the shares sum to 1")
		}
		for i := range rows {
			rows[i].Cause = min(rows[i].Cause, 1)
		}
		c, err := incidence(t, rows).Cause(1)
		require.NoError(t, err)
		for k, s := range c.Steps() {
			require.InDelta(t, 1-whole[k].Value, s.Value, 1e-12, "one cause: 1 less the curve")
			if whole[k].Value > 0 {
				require.InDelta(t, whole[k].SE, s.SE, 1e-9, "one cause: Greenwood's error")
			}
		}
		rng.Shuffle(n, func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		again, err := incidence(t, rows).Cause(1)
		require.NoError(t, err)
		require.Equal(t, c.Steps(), again.Steps(), "row order")
	}
}

func TestIncidenceFaults(t *testing.T) {
	for _, tt := range []struct {
		reason string
		rows   []survival.Caused
		faults int
		is     error
	}{
		{"no rows", nil, 1, dataerr.ErrTooFew},
		{"no event", []survival.Caused{{Time: 1}, {Time: 2}}, 1, dataerr.ErrTooFew},
		{"cause below 0, time", []survival.Caused{{Time: 1, Cause: -1}, {Time: math.NaN(), Cause: 1}}, 2, dataerr.ErrNumber},
	} {
		f, err := survival.CumulativeIncidence{}.Fit(tt.rows)
		require.Nil(t, f, tt.reason)
		require.Len(t, dataerr.All(err), tt.faults, tt.reason)
		require.ErrorIs(t, err, tt.is, tt.reason)
	}
	_, err := survival.CumulativeIncidence{Level: 2}.Fit([]survival.Caused{{Time: 1, Cause: 1}})
	require.ErrorIs(t, err, dataerr.ErrRange)
	f := incidence(t, []survival.Caused{{Time: 1, Cause: 7}, {Time: 2}})
	require.Equal(t, []int{7}, f.Causes())
	_, err = f.Cause(1)
	require.ErrorIs(t, err, dataerr.ErrUnknown)
	c, err := f.Cause(7)
	require.NoError(t, err)
	for _, at := range []float64{2.5, -1, math.NaN()} {
		s, known := c.At(at)
		require.False(t, known)
		require.True(t, math.IsNaN(s.Value) && math.IsNaN(s.SE) && math.IsNaN(s.AalenSE) && s.Upper == 1)
	}
}

// With one cause the rows at risk are as in the log-rank test, and so are the events seen less those expected.
func TestGrayOfOneCauseIsALogRank(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310308, 3))
	compared := 0
	for round := range rounds {
		timed, rows, group := inventedTimes(rng, 30, 3, round%2 == 0)
		for i := range rows {
			rows[i].Cause = min(rows[i].Cause, 1)
		}
		gray, err := survival.GrayTest{}.Test(rows, 1, group)
		if err != nil {
			require.ErrorIs(t, err, dataerr.ErrConflict, "the pooled incidence passes 1")
			continue
		}
		r := logRank(t, timed, group, nil)
		for g := range 3 {
			require.InDelta(t, r.Observed()[g]-r.Expected()[g], gray.Observed()[g]-gray.Expected()[g], 1e-9)
		}
		compared++
		require.Equal(t, r.N(), gray.N())
	}
	require.Greater(t, compared, rounds/2)
}

// Under no difference p is even: at most 5 % below 0.05 but for Monte Carlo error. Relabelled at random the scores have the
// variance of the formula in the mean.
func TestGraySize(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310308, 4))
	const runs = 2000
	below := 0
	squares, variance := 0.0, 0.0
	for range runs {
		_, rows, group := inventedTimes(rng, 90, 3, false)
		r, err := survival.GrayTest{}.Test(rows, 1, group)
		require.NoError(t, err)
		if r.P <= 0.05 {
			below++
		}
		score := r.Observed()[0] - r.Expected()[0]
		squares += score * score
		variance += r.Variance()[0][0]
	}
	require.InDelta(t, 0.05, float64(below)/runs, 0.01+3*math.Sqrt(0.05*0.95/runs))
	require.InEpsilon(t, squares, variance, 0.1)
}

func TestGrayLeavesOutWhatCannotBeCompared(t *testing.T) {
	rows := []survival.Caused{{Time: 1, Cause: 1}, {Time: 2, Cause: 2}, {Time: 3, Cause: 1}, {Time: 4, Cause: 1}, {Time: 5}, {Time: 6}, {Time: 0.5}}
	r, err := survival.GrayTest{}.Test(rows, 1, []int{0, 1, 0, 1, 0, 1, 2})
	require.NoError(t, err)
	two, err := survival.GrayTest{}.Test(rows[:6], 1, []int{0, 1, 0, 1, 0, 1})
	require.NoError(t, err)
	require.Equal(t, 1, r.DF, "group 2 was censored before the first event")
	require.InDelta(t, two.ChiSquare, r.ChiSquare, 1e-12)
	require.Len(t, r.Warnings(), 1)
}

func TestGrayFaults(t *testing.T) {
	rows := []survival.Caused{{Time: 1, Cause: 1}, {Time: 2, Cause: 2}, {Time: 3}}
	early := []survival.Caused{}
	var group []int
	for i := range 5 {
		early = append(early, survival.Caused{Time: 1, Cause: 1}, survival.Caused{Time: 2 + float64(i), Cause: 1}, survival.Caused{Time: 2.5 + float64(i), Cause: 1})
		group = append(group, 0, 1, 2)
	}
	for _, tt := range []struct {
		reason string
		rows   []survival.Caused
		cause  int
		group  []int
		is     error
	}{
		{"no rows", nil, 1, nil, dataerr.ErrTooFew},
		{"cause 0", rows, 0, []int{0, 1, 1}, dataerr.ErrUnknown},
		{"cause not there", rows, 3, []int{0, 1, 1}, dataerr.ErrUnknown},
		{"one group", rows, 1, []int{0, 0, 0}, dataerr.ErrTooFew},
		{"time", []survival.Caused{{Time: -1, Cause: 1}, {Time: 2}}, 1, []int{0, 1}, dataerr.ErrRange},
		{"never together", []survival.Caused{{Time: 1}, {Time: 2, Cause: 1}}, 1, []int{0, 1}, dataerr.ErrTooFew},
		{"passes 1", early, 1, group, dataerr.ErrConflict},
	} {
		r, err := survival.GrayTest{}.Test(tt.rows, tt.cause, tt.group)
		require.Nil(t, r, tt.reason)
		require.ErrorIs(t, err, tt.is, tt.reason)
	}
	_, err := survival.GrayTest{Rho: math.NaN()}.Test(rows, 1, []int{0, 1, 1})
	require.ErrorIs(t, err, dataerr.ErrNumber)
}

// One group all at once, then the other: after the first time one group is alone, and what it does adds nothing.
func TestGrayStopsWhereOneGroupIsAlone(t *testing.T) {
	var rows []survival.Caused
	var group []int
	for i := range 5 {
		rows = append(rows, survival.Caused{Time: 1, Cause: 1}, survival.Caused{Time: 2 + float64(i), Cause: 1})
		group = append(group, 0, 1)
	}
	r, err := survival.GrayTest{}.Test(rows, 1, group)
	require.NoError(t, err)
	mathtest.CloseRel(t, "Gray's statistic", r.ChiSquare, 9, 0, 1e-12, "cmprsk 2.2.11, cuminc(c(1,1,1,1,1,2,3,4,5,6), rep(1,10), c(0,0,0,0,0,1,1,1,1,1))")
	require.Equal(t, []float64{5, 0}, r.Observed(), "events while both groups were at risk")
}
